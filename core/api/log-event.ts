/** Why the loopback window turned a request away before any procedure saw it. */
export type TurnedAway =
  | 'host'
  | 'origin'
  | 'site'
  | 'token'
  | 'cookie'
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
      readonly window: 'desktop' | 'service' | 'loopback'
      readonly version: string
      readonly node: string
      readonly electron?: string
      readonly system: string
    }
  | { readonly what: 'end'; readonly window: 'desktop' | 'service' | 'loopback' }
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
