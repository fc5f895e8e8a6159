import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/fetch'
import { getEventIteratorSchemaDetails } from '@orpc/contract'
import { mkdirSync, writeFileSync } from 'node:fs'
import { request as httpRequest } from 'node:http'
import { join } from 'node:path'
import { setImmediate, setTimeout } from 'node:timers/promises'
import { afterAll, beforeAll, beforeEach, expect, it, vi } from 'vitest'
import { z } from 'zod'
import { drawsFrom, fitting } from '#tests/api/hostile-values.ts'
import { type ListedProcedure, procedureList, shapeOf } from '#tests/api/procedure-list.ts'
import { type Client, clientOver, ways } from '#tests/api/windows.ts'
import { guessed, longTickets } from '#tests/exchange/foreign-files.ts'
import { smallFleet, writeFiles } from '#tests/exchange/small-fleet.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { enter, type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { samples } from '#tests/store/attachment-samples.ts'

/** Tabs are closed and reloaded at any moment; none of it may reach the program as a fault that ends it. */
vi.setConfig({ testTimeout: 120_000 })

let app: RunningApp
let mine: Admission
let client: Client
let close: () => void
/** What would have ended the program. */
const deadly: unknown[] = []
const note = (error: unknown) => deadly.push(error)
const usualListeners = process.listeners('unhandledRejection')

beforeAll(async () => {
  app = await runApp()
  mine = await enter(app)
  ;({ client, close } = await clientOver('a message port', app))
  const folder = join(app.folder, 'small')
  mkdirSync(folder)
  writeFiles(folder, smallFleet())
  await readWhole(client, 'folder.bringIn', { folder })
  writeFileSync(join(app.folder, 'tickets.csv'), longTickets)
  process.removeAllListeners('unhandledRejection').on('unhandledRejection', note)
  process.on('uncaughtExceptionMonitor', note)
})
afterAll(async () => {
  close()
  await app[Symbol.asyncDispose]()
  await setImmediate()
  process.off('uncaughtExceptionMonitor', note).removeAllListeners('unhandledRejection')
  for (const listener of usualListeners) process.on('unhandledRejection', listener)
  expect(deadly).toEqual([])
})

beforeEach(() => {
  deadly.length = 0
})

const isStream = (answer: unknown): answer is AsyncIterator<unknown> =>
  typeof answer === 'object' && answer !== null && Symbol.asyncIterator in answer

/** Calls a procedure by its name; a stream is seen through to its end. */
async function readWhole(over: Client, name: string, input: unknown): Promise<unknown> {
  let call: unknown = over
  for (const step of name.split('.')) call = Reflect.get(call as object, step)
  const answer: unknown = await (call as (input: unknown) => Promise<unknown>)(input)
  if (!isStream(answer)) return answer
  let step = await answer.next()
  while (!step.done) step = await answer.next()
  return step.value
}

/** When the client goes, in the order of an exchange. */
const moments = [
  'half asked',
  'asked',
  'asked 3 ms ago',
  'asked 30 ms ago',
  'answer begun',
  'answer half read',
] as const
type Moment = (typeof moments)[number]

/** A client over HTTP that cuts its connection at the moment, as a closed tab does. */
const cutting = (moment: Moment): Client =>
  createORPCClient(
    new RPCLink({
      url: `${app.origin}/rpc`,
      headers: mine,
      fetch: async (request) => {
        const body = Buffer.from(await request.arrayBuffer())
        const sent = httpRequest(request.url, {
          method: request.method,
          headers: { ...Object.fromEntries(request.headers), 'content-length': body.byteLength },
          agent: false,
        })
        const gone = new Promise((resolve) => {
          sent.once('error', resolve).once('close', resolve)
        })
        const cut = () => sent.destroy()
        if (moment === 'half asked') sent.write(body.subarray(0, body.byteLength / 2), () => setTimeout(3).then(cut))
        else {
          const wait = { asked: 0, 'asked 3 ms ago': 3, 'asked 30 ms ago': 30 }[moment as string]
          sent.end(body, () => wait !== undefined && setTimeout(wait).then(cut))
          sent.once('response', (response) => {
            if (moment === 'answer begun') cut()
            else response.once('data', cut)
          })
        }
        await gone
        throw new Error('The tab was closed.')
      },
    }),
  )

/** A window over a message port that is closed at the moment. */
async function callAndClosePort(moment: Moment, name: string, input: unknown): Promise<void> {
  const window = await clientOver('a message port', app)
  const answered = readWhole(window.client, name, input).catch(() => undefined)
  const wait = { asked: 0, 'asked 3 ms ago': 3, 'asked 30 ms ago': 30 }[moment as string] ?? 1
  if (wait > 0) await setTimeout(wait)
  window.close()
  // A closed port answers nothing: the call may stay open for ever.
  await Promise.race([answered, setTimeout(wait)])
}

const [, , photo] = samples[0] ?? []
/** Input with which each procedure that streams or gives a file does its work. */
const working: Readonly<Record<string, () => Promise<unknown>>> = {
  'folder.bringIn': async () => ({ folder: join(app.folder, 'small') }),
  'foreign.bringIn': async () => ({
    source: { path: join(app.folder, 'tickets.csv') },
    mapping: await app.context.fleet.use((store) => guessed(store, longTickets)),
    goodRows: true,
  }),
  'fleet.baySheet': async () => ({ unit: 'T-101' }),
  'cabCard.make': async () => ({ units: ['T-101', 'V-201'] }),
  'bench.workListPdf': async () => ({}),
  'bench.orderFile': async () => ({ format: 'spreadsheet' }),
  'heavy.mondayPdf': async () => ({}),
  'roster.export': async () => ({ format: 'pdf' }),
  'scales.export': async () => undefined,
  'today.calendar': async () => ({}),
  'today.findings': async () => ({}),
  'today.pdf': async () => ({}),
  'attachment.read': async () => {
    const file = new File([photo ?? ''], 'ticket')
    return { ticketId: 1, sha256: (await client.attachment.add({ ticketId: 1, file, by: 'Ada' })).sha256 }
  },
  'heavy.export': async () => ({ format: 'csv' }),
  'log.export': async () => ({}),
  'about.supportBundle': async () => ({ withFleet: true }),
  'file.follow': async () => ({ seen: null, seconds: 1 }),
}

const givesMuch = ({ output }: ListedProcedure) =>
  output !== undefined &&
  (getEventIteratorSchemaDetails(output) !== undefined ||
    (output instanceof z.ZodType && JSON.stringify(shapeOf(output)).includes('"binary"')))

it('every procedure that streams or gives a file is tried below', () => {
  const names = procedureList.filter(givesMuch).map(({ name }) => name)
  expect(names.toSorted()).toEqual(Object.keys(working).toSorted())
})

async function expectAlive(what: string): Promise<void> {
  expect([what, (await client.file.state()).units]).toEqual([what, 2])
  await setImmediate()
  expect([what, deadly, app.reported]).toEqual([what, [], []])
}

it.each(Object.keys(working))('%s outlives every client that goes away', async (name) => {
  const input = await working[name]?.()
  for (const moment of moments) {
    await expect(readWhole(cutting(moment), name, input)).rejects.toThrow('The tab was closed.')
    // The same in whole takes at least as long as what the other one has left behind.
    await readWhole(client, name, input)
    await expectAlive(`${name}, HTTP, ${moment}`)
    await callAndClosePort(moment, name, input)
    await readWhole(client, name, input)
    await expectAlive(`${name}, port, ${moment}`)
  }
})

it('a stream that is followed ends with its window, however that goes, and leaves nothing behind', async () => {
  const { news } = app.context.fleet
  const input = { seen: null, seconds: 3600 }
  for (const moment of moments) {
    await expect(readWhole(cutting(moment), 'file.follow', input)).rejects.toThrow('The tab was closed.')
    await callAndClosePort(moment, 'file.follow', input)
  }
  for (const way of ways) {
    const window = await clientOver(way, app, mine)
    const leave = new AbortController()
    const followed = await window.client.file.follow({ seen: null, seconds: 3600 }, { signal: leave.signal })
    expect((await followed.next()).done).toBe(false)
    expect(news.followers).toBeGreaterThan(0)
    leave.abort()
    await followed.next().catch(() => undefined)
    window.close()
  }
  await expect.poll(() => news.followers).toBe(0)
  await expectAlive('file.follow')
})

it('no other procedure ends the program either when its client goes away', async () => {
  const others = procedureList.filter((procedure) => !givesMuch(procedure))
  expect(others.length).toBeGreaterThan(40)
  const place = {
    inside: app.folder,
    outside: app.folder,
    known: ['T-101', 'V-201', 'drive', 'tandem', 'main', '30417'],
  }
  for (const [at, { name, input }] of others.entries()) {
    const asked = input && fitting(shapeOf(input), drawsFrom(20_261_129 + at), place)
    for (const moment of ['half asked', 'asked', 'answer begun'] as const) {
      await expect(readWhole(cutting(moment), name, asked)).rejects.toThrow('The tab was closed.')
      await callAndClosePort(moment, name, asked)
      await client.file.open({ path: join(app.folder, 'fleet.tareline') })
    }
    await setTimeout(5)
    expect([name, deadly, app.reported]).toEqual([name, [], []])
  }
})
