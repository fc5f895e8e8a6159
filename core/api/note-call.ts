import { basename } from 'node:path'
import { ORPCError } from '@orpc/server'
import type { Context } from '#core/api/context.ts'

/**
 * Groups of procedures that open, read or write whole files: their calls have a line in the log though all went well.
 */
const noted: ReadonlySet<string> = new Set(['file', 'folder', 'foreign', 'copies', 'about'])
/** Asked all the time, and only looking. */
const onlyLooking: ReadonlySet<string> = new Set([
  'file.state',
  'copies.list',
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
