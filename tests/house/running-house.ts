import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/fetch'
import { type ClientHttp2Session, type IncomingHttpHeaders, type IncomingHttpStatusHeader, connect } from 'node:http2'
import { join } from 'node:path'
import { Readable } from 'node:stream'
import type { ReadableStream } from 'node:stream/web'
import { type Door, openDoor } from '#core/door/door.ts'
import type { Role } from '#core/words/roles.ts'
import { type Certificates, ownCertificates } from '#electron/house/certificates.ts'
import { type OwnNames, ownNames } from '#electron/house/own-names.ts'
import { type RunningHouse, houseLimits, serveHouse } from '#electron/house/serve-house.ts'
import type { RequestLimits } from '#electron/web/limits.ts'
import type { Client } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'

/** What a desk of a fleet trusts, and where it finds the house. */
export interface Desk {
  readonly origin: string
  readonly authority: string
}

export interface DeskAnswer {
  readonly status: number
  readonly headers: IncomingHttpHeaders
  readonly text: string
}

/** A real HTTP/2 connection that trusts the house's authority and nothing else. */
export const connectTo = ({ origin, authority }: Desk): ClientHttp2Session => connect(origin, { ca: authority })

interface Ask {
  readonly method?: string
  readonly headers?: Readonly<Record<string, string>>
  readonly body?: string | Buffer
}

/** One exchange over an open connection. */
export function askOver(
  session: ClientHttp2Session,
  path: string,
  { method = 'GET', headers = {}, body }: Ask = {},
): Promise<DeskAnswer> {
  return new Promise((resolve, reject) => {
    const stream = session.request({ ':path': path, ':method': method, ...headers })
    let head: IncomingHttpHeaders & IncomingHttpStatusHeader = {}
    let text = ''
    stream.setEncoding('utf8')
    stream.on('response', (answer) => {
      head = answer
    })
    stream.on('data', (part: string) => {
      text += part
    })
    stream.on('close', () => resolve({ status: head[':status'] ?? 0, headers: head, text }))
    // One that was answered before all of it was sent is let go with a code.
    stream.on('error', (error) => {
      if (head[':status'] === undefined) reject(error)
    })
    stream.end(body)
  })
}

/** `fetch` over an open connection, as far as the procedures' client uses it. */
const fetchOver =
  (session: ClientHttp2Session, cookie: string | undefined) =>
  async (request: Request): Promise<Response> => {
    const body = request.body === null ? undefined : Buffer.from(await request.arrayBuffer())
    const { signal } = request
    return await new Promise((resolve, reject) => {
      const { pathname, search } = new URL(request.url)
      const stream = session.request({
        ...Object.fromEntries(request.headers),
        ...(cookie === undefined ? {} : { cookie }),
        ':path': pathname + search,
        ':method': request.method,
      })
      const stop = () => stream.close()
      signal.addEventListener('abort', stop)
      stream.once('close', () => {
        signal.removeEventListener('abort', stop)
        reject(new Error('the house closed the request'))
      })
      stream.on('error', reject)
      stream.once('response', (answer) => {
        const headers = new Headers()
        for (const [name, value] of Object.entries(answer))
          if (!name.startsWith(':') && value !== undefined) headers.set(name, String(value))
        const web: ReadableStream<Uint8Array> = Readable.toWeb(stream)
        resolve(new Response(web as globalThis.ReadableStream<Uint8Array>, { status: answer[':status'] ?? 0, headers }))
      })
      stream.end(body)
    })
  }

/** The typed procedures over an open connection; cookie: of whoever has signed in. */
export const clientOverHttp2 = (session: ClientHttp2Session, { origin }: Desk, cookie?: string): Client =>
  createORPCClient(new RPCLink({ url: `${origin}/rpc`, fetch: fetchOver(session, cookie) }))

/** Signs somebody in; answers the cookie that the browser would keep. */
export async function signIn(session: ClientHttp2Session, name: string, password: string): Promise<string> {
  const { status, headers, text } = await askOver(session, '/rpc/people/signIn', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ json: { name, password } }),
  })
  if (status !== 200) throw new Error(`${name} was not let in: ${status} ${text}`)
  return headers['set-cookie']?.[0]?.split(';')[0] ?? ''
}

export const passwordOf = (name: string): string => `${name} opens the yard gate`

export interface HouseUnderTest extends AsyncDisposable {
  readonly app: RunningApp
  readonly house: RunningHouse
  readonly people: Door
  readonly desk: Desk
}

interface Wanted {
  /** Who may sign in: one person of each of these roles, whose name is that role. */
  readonly people?: readonly Role[]
  readonly limits?: RequestLimits
  readonly certificates?: Certificates
  readonly warn?: (sentence: string) => void
  readonly look?: () => OwnNames
}

/** The real house on a real file in a folder of its own, asked under this machine's own address. */
export async function runHouse({
  people: wanted = ['manager'],
  limits = houseLimits,
  certificates,
  warn = () => {},
  look = () => ownNames('yard-office', {}),
}: Wanted = {}): Promise<HouseUnderTest> {
  const app = await runApp()
  const file = app.context.fleet.file()
  const people = await openDoor(file)
  for (const role of wanted) await people.add(role, { role, units: [] }, passwordOf(role))
  const house = await serveHouse({
    context: app.context,
    folders: { renderer: join(app.folder, 'renderer'), inboxRoot: app.inboxRoot },
    people,
    certificates: certificates ?? ownCertificates(join(app.folder, 'keys')),
    name: 'yard-office',
    port: 0,
    limits,
    warn,
    look,
  })
  return {
    app,
    house,
    people,
    desk: {
      origin: `https://127.0.0.1:${house.port}`,
      authority: house.facts().authority?.certificate ?? '',
    },
    [Symbol.asyncDispose]: async () => {
      await house.close()
      await people.close()
      await app[Symbol.asyncDispose]()
    },
  }
}
