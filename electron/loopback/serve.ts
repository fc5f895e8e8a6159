import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http'
import type { AddressInfo } from 'node:net'
import { BodyLimitPlugin, RPCHandler } from '@orpc/server/node'
import type { Context } from '#core/api/context.ts'
import { router } from '#core/api/router.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { makeGate } from '#electron/loopback/gate.ts'
import { sendWebResponse, toWebRequest } from '#electron/loopback/web-bridge.ts'
import { commonHeaders, sentenceAnswer } from '#electron/web/content-policy.ts'
import { type WebFolders, webHandler } from '#electron/web/web.ts'

const callBytes = 4 * 1024 ** 2
const minute = 60_000
const graceMs = 2000

export interface Loopback {
  /** The one-time address that opens the app. */
  readonly address: string
  readonly port: number
  /** Stops taking calls, lets running ones finish for two seconds, then closes. */
  close(): Promise<void>
}

function listen(server: Server, port: number): Promise<number> {
  return new Promise((resolve, reject) => {
    server.once('error', (error: NodeJS.ErrnoException) => {
      const taken = error.code === 'EADDRINUSE' || error.code === 'EACCES'
      reject(taken ? new TarelineError('port', `Port ${port} is taken or not allowed. Choose another one with --port, or none for any free one.`, { cause: error }) : error)
    })
    server.listen({ port, host: '127.0.0.1', exclusive: true }, () => resolve((server.address() as AddressInfo).port))
  })
}

function close(server: Server): Promise<void> {
  return new Promise((resolve) => {
    const hurry = setTimeout(() => server.closeAllConnections(), graceMs)
    server.close(() => {
      clearTimeout(hurry)
      resolve()
    })
    server.closeIdleConnections()
  })
}

/** Serves the procedures and the screens to one browser on this machine. Errors: TarelineError `port`. */
export async function serveLoopback(context: Context, folders: WebFolders, wantedPort = 0): Promise<Loopback> {
  const procedures = new RPCHandler(router, { plugins: [new BodyLimitPlugin({ maxBodySize: callBytes })] })
  const web = webHandler(folders, context.report)
  let answer: (request: IncomingMessage, response: ServerResponse) => Promise<void> = async (_, response) => { response.destroy() }

  const server = createServer({ maxHeaderSize: 16 * 1024, headersTimeout: 10_000, requestTimeout: 10 * minute, keepAliveTimeout: 5000, connectionsCheckingInterval: 5000 })
  server.maxConnections = 64
  server.on('request', (request, response) => {
    answer(request, response).catch((error: unknown) => {
      if (!request.destroyed && !response.destroyed) context.report(error)
      response.destroy()
    })
  })
  const port = await listen(server, wantedPort)
  const host = `127.0.0.1:${port}`
  const gate = makeGate(host)

  answer = async (request, response) => {
    const passage = gate.check(request)
    if (passage.to === 'refused') {
      // What a refused caller still sends is not worth reading.
      response.setHeader('connection', 'close')
      return await sendWebResponse(sentenceAnswer(passage.status, passage.sentence), response)
    }
    if (passage.to === 'enter') {
      response.writeHead(303, { ...commonHeaders, location: '/', 'set-cookie': passage.cookie, 'cache-control': 'no-store' }).end()
      return
    }
    if (request.url?.startsWith('/rpc/')) {
      for (const [name, value] of Object.entries(commonHeaders)) response.setHeader(name, value)
      response.setHeader('cache-control', 'no-store')
      const { matched } = await procedures.handle(request, response, { prefix: '/rpc', context })
      if (!matched) await sendWebResponse(sentenceAnswer(404, 'There is no such procedure.'), response)
      return
    }
    await sendWebResponse(await web(toWebRequest(request, host)), response)
  }

  return { address: gate.address, port, close: () => close(server) }
}
