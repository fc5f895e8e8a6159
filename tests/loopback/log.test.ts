import Database from 'better-sqlite3'
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { open } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it, vi } from 'vitest'
import type { LogEvent } from '#core/api/note-call.ts'
import { TarelineError } from '#core/words/problem.ts'
import { faultFacts, openLog } from '#electron/log/log.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-log-'))
})
afterEach(() => {
  vi.restoreAllMocks()
  vi.useRealTimers()
  rmSync(folder, { recursive: true, force: true })
})

const lines = (text: string) =>
  text
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as LogEvent & { at: string; again?: number })
const call = (at: number): LogEvent => ({
  what: 'call',
  procedure: `file.open${at}`,
  outcome: 'done',
  file: 'fleet.tareline',
  ms: at,
})

it('writes one object a line, at once, and reads it back', () => {
  const log = openLog(join(folder, 'log'))
  log.write(call(1))
  log.write({ what: 'turned-away', why: 'host', status: 403 })
  const [file] = log.read()
  expect(file?.name).toBe('tareline.log')
  expect(lines(String(file?.bytes))).toEqual([
    { at: expect.stringMatching(/^\d{4}-.*Z$/), ...call(1) },
    { at: expect.any(String), what: 'turned-away', why: 'host', status: 403 },
  ])
})

it('keeps three files, none larger than its size, the newest events in the first', () => {
  const log = openLog(folder, 2000)
  for (let at = 0; at < 200; at += 1) log.write(call(at))
  expect(readdirSync(folder).toSorted()).toEqual(['tareline.1.log', 'tareline.2.log', 'tareline.log'])
  for (const name of readdirSync(folder)) expect(statSync(join(folder, name)).size).toBeLessThanOrEqual(2000)
  expect(lines(readFileSync(join(folder, 'tareline.log'), 'utf8')).at(-1)).toMatchObject({ procedure: 'file.open199' })
  const all = log
    .read()
    .toReversed()
    .flatMap(({ bytes }) => lines(String(bytes)))
    .map((event) => ('ms' in event ? event.ms : -1))
  expect(all).toEqual(all.toSorted((a, b) => a - b))
})

it('cannot be washed out by the same thing over and over: it is counted', () => {
  vi.useFakeTimers()
  const log = openLog(folder)
  const refused: LogEvent = { what: 'turned-away', why: 'cookie', status: 401 }
  for (let at = 0; at < 1000; at += 1) log.write(refused)
  vi.advanceTimersByTime(61_000)
  log.write(refused)
  const written = lines(readFileSync(join(folder, 'tareline.log'), 'utf8'))
  expect(written).toHaveLength(6)
  expect(written.at(-1)?.again).toBe(995)
})

it('never stops the app where it cannot be written, and tells standard error instead', () => {
  const said = vi.spyOn(console, 'error').mockImplementation(() => undefined)
  writeFileSync(join(folder, 'taken'), '')
  const log = openLog(join(folder, 'taken'))
  log.write(call(1))
  expect(said).toHaveBeenCalledOnce()
  expect(log.read()).toEqual([])
})

it('keeps of an error its kind and place, and no word that a person typed', async () => {
  const secret = 'T-104 of Kim Doe, plate 7ABC123'
  const inner = await open(join(folder, secret, 'x.csv')).catch((error: Error) => error)
  const error = new TarelineError(
    'no-such-unit',
    `There is no unit ${secret}.\n    at ${secret} (/srv/kim/${secret}.ts:1:2)`,
    { cause: inner },
  )
  const facts = faultFacts(error)
  expect(facts).toMatchObject({
    name: 'TarelineError',
    code: 'no-such-unit',
    cause: { code: 'ENOENT', syscall: 'open', file: 'x.csv' },
  })
  expect(facts.at.some((frame) => /log\.test\.ts:\d+:\d+$/.test(frame))).toBe(true)
  const text = JSON.stringify(facts)
  expect(text).not.toContain('Kim')
  expect(text).not.toContain(folder)
  expect(faultFacts(secret)).toEqual({ name: 'string', at: [] })
  expect(JSON.stringify(faultFacts(new SyntaxError(`Unexpected token in ${secret}`)))).not.toContain('104')
  expect(faultFacts(Object.assign(new Error('x'), { code: secret })).code).toBeUndefined()
})

it('keeps SQLite’s words, which name tables and columns and never values', () => {
  mkdirSync(join(folder, 'a'))
  const raw = new Database(join(folder, 'a/b.tareline'))
  raw.exec("create table unit (number text unique) strict; insert into unit values ('T-104')")
  let facts: unknown
  try {
    raw.exec("insert into unit values ('T-104')")
  } catch (error) {
    facts = faultFacts(error)
  }
  raw.close()
  expect(facts).toMatchObject({
    name: 'SqliteError',
    code: 'SQLITE_CONSTRAINT_UNIQUE',
    message: 'UNIQUE constraint failed: unit.number',
  })
})
