import { appendFileSync, existsSync, mkdirSync, readFileSync, renameSync, rmSync, statSync } from 'node:fs'
import { release } from 'node:os'
import { basename, join } from 'node:path'
import type { FaultFacts, Log, LogEvent } from '#core/api/note-call.ts'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'

const mostFrames = 12
const mostCauses = 4

/**
 * `    at take (file:///app/core/x.ts:3:7)` as `take x.ts:3:7`: which line of the program, and not on whose machine.
 */
function frame(line: string): string | undefined {
  const found = /^\s+at (?:async )?(?:(\S.*?) \()?(.+):(\d+):(\d+)\)?$/.exec(line)
  if (!found) return undefined
  const [, calledAs = '', place = '', row, column] = found
  const called = /^[\w$.<>[\] #]{1,80}$/.test(calledAs) ? `${calledAs} ` : ''
  const base = place.split(/[\\/]/).at(-1) ?? ''
  return /^[\w.:@-]{1,80}$/.test(base) ? `${called}${base}:${row}:${column}` : undefined
}

const textOf = (error: object, key: string): string | undefined => {
  const value = Reflect.get(error, key)
  return typeof value === 'string' ? value : undefined
}

/** A code of the program, SQLite or the system; anything else could be a sentence with somebody's name in it. */
const codeOf = (error: object): string | undefined => {
  const code = textOf(error, 'code')
  return code !== undefined && /^[\w-]{1,60}$/.test(code) ? code : undefined
}

/** What the log keeps of an error. */
export function faultFacts(error: unknown, depth = 0): FaultFacts {
  if (!(error instanceof Error)) return { name: typeof error, at: [] }
  const code = codeOf(error)
  const syscall = textOf(error, 'syscall')
  const path = textOf(error, 'path')
  const name = /^\w{1,60}$/.test(error.name) ? error.name : 'Error'
  const stack = error.stack ?? ''
  // The message, which may say anything and look like anything, stands before the first frame.
  const told = stack.indexOf(error.message)
  const frames = stack
    .slice(told < 0 ? 0 : told + error.message.length)
    .split('\n')
    .flatMap((line) => frame(line) ?? [])
    .slice(0, mostFrames)
  return {
    name,
    ...(code === undefined ? {} : { code }),
    ...(syscall === undefined || !/^\w{1,40}$/.test(syscall) ? {} : { syscall }),
    ...(path === undefined ? {} : { file: basename(path) }),
    ...(code?.startsWith('SQLITE_') === true && error.name === 'SqliteError'
      ? { message: error.message.slice(0, 300) }
      : {}),
    at: frames,
    ...(error.cause === undefined || depth >= mostCauses ? {} : { cause: faultFacts(error.cause, depth + 1) }),
  }
}

/** The newest file first; the oldest is dropped when a new one is begun. */
const files = ['tareline.log', 'tareline.1.log', 'tareline.2.log'] as const
const usualBytes = 512 * 1024

function turnOver(folder: string): void {
  rmSync(join(folder, files[2]), { force: true })
  for (let at = files.length - 2; at >= 0; at -= 1) {
    const from = join(folder, files[at] ?? '')
    if (existsSync(from)) renameSync(from, join(folder, files[at + 1] ?? ''))
  }
}

/**
 * The same event may come this often in a minute; what comes beyond that is counted and told with the next line of it.
 */
const mostInMinute = 5
const minuteMs = 60_000
const mostKinds = 500

/**
 * How many the same were left out before this one; undefined: leave this one out too. Nobody can wash the log out by
 * asking for nonsense.
 */
function hush(): (event: LogEvent) => number | undefined {
  const seen = new Map<string, { since: number; count: number }>()
  return (event) => {
    const kind = JSON.stringify({ ...event, ms: 0, rows: 0 })
    const now = performance.now()
    const entry = seen.get(kind)
    if (entry && now - entry.since < minuteMs) {
      entry.count += 1
      return entry.count > mostInMinute ? undefined : 0
    }
    if (seen.size >= mostKinds) seen.clear()
    seen.set(kind, { since: now, count: 1 })
    return Math.max(0, (entry?.count ?? 0) - mostInMinute)
  }
}

const lineOf = (event: LogEvent, again: number): string =>
  `${JSON.stringify({ at: toStoredInstant(timeNow()), ...event, ...(again > 0 ? { again } : {}) })}\n`

/** Everything the log holds, its files by name; one that is not there is left out. */
function readLog(folder: string): { name: string; bytes: Buffer }[] {
  return files.flatMap((name) => {
    const path = join(folder, name)
    return existsSync(path) ? [{ name, bytes: readFileSync(path) }] : []
  })
}

/**
 * A log of three files of at most `bytes` each, one JSON object a line. Each line is appended by itself and at once, so
 * that a crash keeps all that came before it and the main process and the service can write to the same file. A log
 * that cannot be written, as on a full disk, never stops the app: what it should have held goes to standard error.
 */
export function openLog(folder: string, bytes = usualBytes): Log {
  const newest = join(folder, files[0])
  const leftOut = hush()
  const write = (event: LogEvent) => {
    const again = leftOut(event)
    if (again === undefined) return
    const line = lineOf(event, again)
    try {
      mkdirSync(folder, { recursive: true, mode: 0o700 })
      const size = statSync(newest, { throwIfNoEntry: false })?.size ?? 0
      if (size > 0 && size + line.length > bytes) turnOver(folder)
      appendFileSync(newest, line, { mode: 0o600 })
    } catch (error) {
      console.error('the log cannot be written:', error instanceof Error ? error.message : error, line.trimEnd())
    }
  }
  return {
    folder,
    write,
    fault: (error) => write({ what: 'fault', ...faultFacts(error) }),
    read: () => readLog(folder),
  }
}

/** What runs where, as the first line of a run; of the machine only its kind of system. */
export function startOf(window: Extract<LogEvent, { what: 'start' }>['window'], version: string): LogEvent {
  const { node, electron } = process.versions
  return {
    what: 'start',
    window,
    version,
    node,
    ...(electron === undefined ? {} : { electron }),
    system: `${process.platform} ${process.arch} ${release()}`,
  }
}
