import {
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { homedir, tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { ORPCError } from '@orpc/client'
import Database from 'better-sqlite3'
import { afterAll, beforeAll, expect, it, vi } from 'vitest'
import { type Client, clientOver, ways } from '#tests/api/windows.ts'
import { drawsFrom, fitting, type Place, spoilt } from '#tests/api/hostile-values.ts'
import { type ListedProcedure, procedureList, shapeOf } from '#tests/api/procedure-list.ts'
import { smallFleet, writeFiles } from '#tests/exchange/small-fleet.ts'
import { keepTally } from '#tests/faults/tally.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { ask, enter, type RunningApp, runApp } from '#tests/loopback/running-app.ts'

/** TARELINE_FUZZ asks for more cases; TARELINE_SEED for others, as for the properties. */
const wanted = Number(process.env['TARELINE_FUZZ'] ?? (process.env['TARELINE_NIGHTLY'] === '1' ? 6000 : 320))
const seed = Number(process.env['TARELINE_SEED'] ?? 20_261_125)
const perWay = Math.max(4, Math.ceil(wanted / (procedureList.length * ways.length)))
vi.setConfig({ testTimeout: 60_000 + wanted * 200 })

const repository = resolve(import.meta.dirname, '../..')
let sandbox: string
let app: RunningApp
let place: Place
let outsideBefore: string
let hereBefore: string
let mine: Admission
let ticketsBefore: number
const temporary = process.env['TMPDIR']
let cases = 0
let failed = 0

/** Every file below a folder with its bytes' length and text, as one text. */
const treeOf = (folder: string): string =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .toSorted()
    .map((name) => {
      const facts = statSync(join(folder, name))
      return `${name} ${facts.isFile() ? readFileSync(join(folder, name), 'utf8') : 'folder'}`
    })
    .join('\n')

const hereNow = () => readdirSync(process.cwd()).toSorted().join(' ')

beforeAll(async () => {
  sandbox = mkdtempSync(join(tmpdir(), 'tareline-fuzz-'))
  for (const name of ['temporary', 'outside', 'outside/kept']) mkdirSync(join(sandbox, name))
  writeFileSync(join(sandbox, 'outside/kept/letter.txt'), 'nobody may touch this')
  process.env['TMPDIR'] = join(sandbox, 'temporary')
  app = await runApp()
  mine = await enter(app)
  place = {
    inside: app.folder,
    outside: join(sandbox, 'outside'),
    known: ['T-101', 'V-201', 'drive', 'tandem', 'main', 'left', 'Cinder Gap', '30417', 'kim', 'R-1'],
  }
  writeFileSync(join(app.folder, 'letter.tareline'), 'Dear shop, this is a letter and not a database.')
  symlinkSync(join(app.folder, 'nowhere'), join(app.folder, 'link'))
  const { client, close } = await clientOver('a message port', app)
  const fleet = join(app.folder, 'small')
  mkdirSync(fleet)
  writeFiles(fleet, smallFleet())
  const steps = await client.folder.bringIn({ folder: fleet })
  for (let step = await steps.next(); !step.done; ) step = await steps.next()
  close()
  ticketsBefore = await app.context.fleet.use(
    async ({ raw }) => raw.prepare('select count(*) from ticket').pluck().get() as number,
  )
  outsideBefore = treeOf(place.outside)
  hereBefore = hereNow()
})
afterAll(async () => {
  keepTally('fuzz-procedures', { title: 'Procedures', counts: { 'calls with hostile input': cases }, failed })
  await app[Symbol.asyncDispose]()
  if (temporary === undefined) delete process.env['TMPDIR']
  else process.env['TMPDIR'] = temporary
  rmSync(sandbox, { recursive: true, force: true })
})

const withoutDigits = (text: string): string => text.replaceAll(/\d+/g, '#')

/** What an answer may never show: where in the program or on the machine something went wrong. */
function leaksOf(text: string, said: string): string[] {
  const leaks = [
    /\n\s+at .+:\d+/,
    /node_modules/,
    /\.ts:\d+/,
    /\bSqliteError\b|SQLITE_[A-Z]+/,
    /Cannot read propert|is not a function|is not iterable/,
  ].flatMap((pattern) => pattern.exec(text)?.[0] ?? [])
  for (const [path] of text.matchAll(/(?<![\w.:/\\])\/(?:[^\s"'\\,;:()]+\/)+[^\s"'\\,;:()]*/g)) {
    const bare = path.replace(/[.…]+$/, '')
    const own = bare.startsWith(app.folder)
    // A procedure may count on from a name that it was given.
    if (
      !own &&
      !withoutDigits(said).includes(withoutDigits(bare)) &&
      (bare.startsWith(repository) ||
        bare.startsWith(homedir()) ||
        bare.startsWith(sandbox) ||
        bare.startsWith('/tmp/'))
    )
      leaks.push(path)
  }
  return leaks
}

const saidText = (input: unknown): string => {
  try {
    return JSON.stringify(input, (_key, value: unknown) => (typeof value === 'bigint' ? String(value) : value)) ?? ''
  } catch {
    return ''
  }
}

/** Calls a procedure and sees its answer through to the end; an error's words are the answer too. */
async function answerOf(
  client: Client,
  { path }: ListedProcedure,
  input: unknown,
): Promise<{ text: string; isFault: boolean; isUntyped: boolean }> {
  let call: unknown = client
  for (const name of path) call = Reflect.get(call as object, name)
  try {
    let output: unknown = await (call as (input: unknown, options: { signal: AbortSignal }) => Promise<unknown>)(
      input,
      { signal: AbortSignal.timeout(60_000) },
    )
    if (typeof output === 'object' && output !== null && Symbol.asyncIterator in output) {
      const stream = output as unknown as AsyncIterator<unknown>
      let step = await stream.next()
      // What is followed has no end of its own to wait for.
      if (path.at(-1) === 'follow') await stream.return?.()
      else while (!step.done) step = await stream.next()
      output = step.value
    }
    return { text: saidText(output), isFault: false, isUntyped: false }
  } catch (error) {
    const told =
      error instanceof ORPCError
        ? saidText({ ...error.toJSON(), message: error.message })
        : `${error instanceof Error ? error.message : String(error)}`
    return {
      text: told,
      isFault: error instanceof ORPCError && error.code === 'INTERNAL_SERVER_ERROR',
      isUntyped: !(error instanceof ORPCError),
    }
  }
}

/** Anything the client itself cannot put on its way never reaches the app. */
const isOfTheClient = (text: string) => /circular|call stack|could not be cloned|Cannot convert|BigInt/i.test(text)

async function expectWhole(what: string): Promise<void> {
  expect([what, treeOf(place.outside)]).toEqual([what, outsideBefore])
  expect([what, hereNow()]).toEqual([what, hereBefore])
  expect(Object.keys(Object.getPrototypeOf({}) as object)).toEqual([])
  expect(Reflect.get({}, 'polluted')).toBeUndefined()
}

it.each(ways)('no input over %s crashes a procedure, leaks where it runs, or writes elsewhere', async (way) => {
  const { client, close } = await clientOver(way, app, mine)
  for (const [at, procedure] of procedureList.entries()) {
    const shape = procedure.input && shapeOf(procedure.input)
    for (let turn = 0; turn < perWay; turn += 1) {
      const draws = drawsFrom(seed + at * 100_003 + turn * 17 + (way === 'HTTP' ? 0 : 7))
      const input = spoilt(shape ? fitting(shape, draws, place) : undefined, draws, place)
      const name = `${procedure.name}, turn ${turn}, seed ${seed}: ${saidText(input).slice(0, 300)}`
      cases += 1
      try {
        const { text, isFault, isUntyped } = await answerOf(client, procedure, input)
        expect([name, isFault, app.reported]).toEqual([name, false, []])
        expect([name, text, !isUntyped || isOfTheClient(text)]).toEqual([name, text, true])
        expect([name, leaksOf(text, saidText(input))]).toEqual([name, []])
      } catch (error) {
        failed += 1
        throw error
      }
    }
    await expectWhole(procedure.name)
    await client.file.open({ path: join(app.folder, 'fleet.tareline') })
  }
  close()
})

it('bodies that lie about themselves are refused: types at places that are not there, or that are everybody’s', async () => {
  const kinds = [0, 1, 2, 3, 4, 5, 6, 7, 8, 'x', -1, null, '__proto__']
  const routes = [
    [],
    ['__proto__', 'polluted'],
    ['constructor', 'prototype', 'polluted'],
    ['path'],
    ['path', 0],
    ['toString'],
    ['path', '__proto__'],
    [-1],
    [1e9],
  ]
  for (const kind of kinds) {
    for (const route of routes) {
      const body = JSON.stringify({ json: { path: '..', list: [1] }, meta: [[kind, ...route]] })
      cases += 1
      const answer = await ask(app.origin, '/rpc/file/open', {
        method: 'POST',
        headers: { ...mine, 'content-type': 'application/json' },
        body,
      })
      expect([body, [400, 422].includes(answer.status)]).toEqual([body, true])
      expect([body, leaksOf(answer.text, body)]).toEqual([body, []])
    }
  }
  const form =
    '--x\r\nContent-Disposition: form-data; name="data"\r\n\r\n{"json":{"path":null},"meta":[],"maps":[["__proto__","polluted"],["path"]]}\r\n--x\r\nContent-Disposition: form-data; name="0"; filename="../../x"\r\n\r\nabc\r\n--x--\r\n'
  const answer = await ask(app.origin, '/rpc/file/open', {
    method: 'POST',
    headers: { ...mine, 'content-type': 'multipart/form-data; boundary=x' },
    body: form,
  })
  expect([400, 422]).toContain(answer.status)
  await expectWhole('raw bodies')
})

it('messages on a port that are no calls, or lie about themselves, leave the next call answered', async () => {
  const { client, close, port } = await clientOver('a message port', app, mine)
  const faults: unknown[] = []
  const note = (reason: unknown) => faults.push(reason)
  // The service takes such down and goes on; here the test stands in for it.
  const others = process.listeners('unhandledRejection')
  process.removeAllListeners('unhandledRejection').on('unhandledRejection', note)
  const messages = [
    null,
    undefined,
    7,
    '',
    '{',
    'x'.repeat(1_000_000),
    [],
    {},
    new Uint8Array(10),
    { i: '1', t: 1, p: { u: '/file/state' } },
    { __proto__: null, i: 1 },
    JSON.stringify({ i: '__proto__', t: 1, p: { u: 'orpc:/__proto__/constructor', b: {} } }),
    JSON.stringify({
      i: '9',
      p: { u: '/file/open', b: { json: { path: '..' }, meta: [[1, '__proto__', 'polluted']] } },
    }),
    JSON.stringify({ i: '9', t: 4, p: {} }),
    JSON.stringify({ i: '9', t: 3 }),
  ]
  for (const message of messages) port?.postMessage(message)
  await client.file.open({ path: join(app.folder, 'fleet.tareline') })
  expect((await client.file.state()).units).toBeGreaterThanOrEqual(2)
  await new Promise((later) => {
    setTimeout(later, 50)
  })
  process.removeAllListeners('unhandledRejection')
  for (const other of others) process.on('unhandledRejection', other)
  cases += messages.length
  close()
  await expectWhole('raw messages')
})

it('after all of it the fleet file is whole and holds what it held', async () => {
  await app.context.fleet.open(join(app.folder, 'fleet.tareline'))
  expect(await app.context.fleet.use(async ({ raw }) => raw.pragma('integrity_check'))).toEqual([
    { integrity_check: 'ok' },
  ])
  const raw = new Database(join(app.folder, 'fleet.tareline'), { readonly: true })
  expect(raw.pragma('foreign_key_check')).toEqual([])
  // Input that was only a little off may have added to the record; what was there has to be there still.
  expect(raw.prepare('select count(*) from unit').pluck().get()).toBeGreaterThanOrEqual(2)
  expect(raw.prepare('select count(*) from ticket').pluck().get()).toBeGreaterThanOrEqual(ticketsBefore)
  raw.close()
  expect(app.reported).toEqual([])
})
