import type { FieldConflict, Hand } from '#core/words/change.ts'
import { phrase } from '#core/words/phrase.ts'

/** Something a person can put right: which field, which value, what is accepted, in one sentence. */
export interface Problem {
  readonly code: string
  readonly field: string
  readonly value: string
  readonly accepted: string
  readonly message: string
}

/** Either an answer or the problem that stands in its way; what a person can cause is a value, never a throw. */
export type Result<T, P = Problem> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problem: P }

export const ok = <T>(value: T): Result<T, never> => ({ ok: true, value })
export const refuse = <P>(problem: P): Result<never, P> => ({ ok: false, problem })

/** An error whose message is a sentence for the person at the screen, with a code for the program. */
export class TarelineError extends Error {
  readonly code: string

  constructor(code: string, message: string, options?: ErrorOptions) {
    super(message, options)
    this.name = 'TarelineError'
    this.code = code
  }
}

/**
 * The code that an error carries, as Node's (`ENOENT`), SQLite's (`SQLITE_FULL`), a database's and our own do;
 * undefined where it has none that is a text.
 */
export const codeOf = (error: unknown): string | undefined =>
  error instanceof Error && 'code' in error && typeof error.code === 'string' ? error.code : undefined

/** What a person typed into a field of a form and has to put right. */
export class FieldError extends TarelineError {
  readonly field: string

  constructor(code: string, field: string, message: string, options?: ErrorOptions) {
    super(code, message, options)
    this.name = 'FieldError'
    this.field = field
  }
}

/** An edit of what another window has changed meanwhile; nothing of it was stored. */
export class ConflictError extends TarelineError {
  readonly conflicts: readonly FieldConflict[]

  /** record: how people name it; other: who changed it last and when, where the log tells. */
  constructor(record: string, conflicts: readonly FieldConflict[], other: Hand | undefined) {
    super(
      'conflict',
      phrase(
        '{record} was changed meanwhile{other}, so nothing of this was saved. Both values are shown: keep one of them, then save again.',
        { record, other: other ? phrase(' by {by}', { by: other.by }) : '' },
      ),
    )
    this.name = 'ConflictError'
    this.conflicts = conflicts
  }
}
