import { basename } from 'node:path'
import type { FaultFacts } from '#core/api/log-event.ts'

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
