import { ORPCError } from '@orpc/server'
import { basename } from 'node:path'
import type { Context } from '#core/api/context.ts'

/** Why a request over HTTP was turned away before any procedure saw it. */
export type TurnedAway =
  | 'host'
  | 'origin'
  | 'site'
  | 'token'
  | 'cookie'
  | 'pass'
  /** Not signed in, no longer, or not as somebody who may ask this. */
  | 'session'
  | 'address'
  | 'method'
  | 'unknown-procedure'
  | 'unknown-page'
  | 'not-a-call'
  | 'too-large'
  | 'too-slow'
  | 'malformed'
  | 'headers-too-large'
  | 'too-many-connections'

/**
 * Where an error came up, without what a person typed: names of its kind, codes, and places in the program by base
 * name.
 */
export interface FaultFacts {
  readonly name: string
  readonly code?: string
  readonly syscall?: string
  /** Base name of the file that a system call was about. */
  readonly file?: string
  /** Only of errors whose words are the program's own: SQLite names tables and columns, never values. */
  readonly message?: string
  readonly at: readonly string[]
  readonly cause?: FaultFacts
}

/**
 * What the log may hold. Nothing here has room for a name, a unit, a plate or a path beyond a file's base name: every
 * text is a code of the program's own or a base name, so that the log can be handed to a stranger.
 */
export type LogEvent =
  | {
      readonly what: 'start'
      readonly window: 'desktop' | 'service' | 'loopback' | 'house'
      readonly version: string
      readonly node: string
      readonly electron?: string
      readonly system: string
    }
  | { readonly what: 'end'; readonly window: 'desktop' | 'service' | 'loopback' | 'house' }
  | { readonly what: 'opened'; readonly file: string; readonly demo: boolean }
  | { readonly what: 'copied'; readonly file: string }
  | { readonly what: 'not-opened'; readonly file: string; readonly code: string }
  | {
      readonly what: 'call'
      readonly procedure: string
      readonly outcome: 'done' | 'refused' | 'failed' | 'cancelled'
      readonly code?: string
      readonly file?: string
      readonly rows?: number
      readonly ms: number
    }
  | { readonly what: 'turned-away'; readonly why: TurnedAway; readonly status?: number }
  | ({ readonly what: 'fault' } & FaultFacts)

/** The app's log: events go in, and its folder is shown to whoever needs help. */
export interface Log {
  readonly folder: string
  write(event: LogEvent): void
  /** Takes down a fault of the program with its causes. */
  fault(error: unknown): void
  /** All that it holds, the newest file first. */
  read(): { readonly name: string; readonly bytes: Uint8Array }[]
}

/**
 * Groups of procedures that open, read or write whole files: their calls have a line in the log though all went well.
 */
const noted: ReadonlySet<string> = new Set(['file', 'folder', 'foreign', 'copies', 'safekeeping', 'places', 'about'])
/** Asked all the time, and only looking. */
const onlyLooking: ReadonlySet<string> = new Set([
  'file.state',
  'file.follow',
  'copies.list',
  'places.list',
  'safekeeping.page',
  'about.facts',
  'foreign.preview',
  'foreign.mappings',
  'foreign.saveMapping',
  'foreign.removeMapping',
])

/** Takes a call down when it has ended: how, how long it took and on which file, never what was asked or answered. */
export interface CallNote {
  done(output: unknown): void
  /** The error as it goes out to the screen. */
  failed(error: unknown): void
}

function codeOf(error: unknown): string | undefined {
  if (!(error instanceof ORPCError)) return undefined
  const inner: unknown =
    typeof error.data === 'object' && error.data !== null ? Reflect.get(error.data, 'code') : undefined
  const code = typeof inner === 'string' ? inner : error.code
  return /^[\w-]{1,60}$/.test(code) ? code : undefined
}

/** An import ends well with the outcome `refused`. */
const isRefused = (output: unknown) =>
  typeof output === 'object' && output !== null && Reflect.get(output, 'outcome') === 'refused'

function rowsOf(output: unknown): { rows?: number } {
  const files: unknown = typeof output === 'object' && output !== null ? Reflect.get(output, 'files') : undefined
  if (!Array.isArray(files)) return {}
  return {
    rows: files.reduce((sum: number, each: { read?: number; rows?: number }) => sum + (each.read ?? each.rows ?? 0), 0),
  }
}

export function noteCall(
  path: readonly string[],
  { log, fleet }: Pick<Context, 'log' | 'fleet'>,
  signal: AbortSignal | undefined,
): CallNote {
  const procedure = path.join('.')
  const startedAt = performance.now()
  const write = (
    outcome: 'done' | 'refused' | 'failed' | 'cancelled',
    more: { code?: string; rows?: number; file?: string } = {},
  ) => log.write({ what: 'call', procedure, outcome, ...more, ms: Math.round(performance.now() - startedAt) })
  return {
    done: (output) => {
      if (!noted.has(path[0] ?? '') || onlyLooking.has(procedure)) return
      write(isRefused(output) ? 'refused' : 'done', { ...rowsOf(output), file: basename(fleet.file()) })
    },
    failed: (error) => {
      const code = codeOf(error)
      if (signal?.aborted === true) write('cancelled')
      else
        write(
          error instanceof ORPCError && error.code !== 'INTERNAL_SERVER_ERROR' ? 'refused' : 'failed',
          code === undefined ? {} : { code },
        )
    },
  }
}
