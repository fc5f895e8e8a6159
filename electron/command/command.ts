/** An option as parseArgs takes it, and what the help says about it. */
export interface OptionShape {
  readonly type: 'string' | 'boolean'
  /** What stands for the value in the help: FILE, DATE, N. */
  readonly value?: string
  readonly about: string
  readonly required?: boolean
}

/** What the person gave, read by name; a value that is needed and missing, or not a number, is a UsageError. */
export interface CommandInput {
  argument(index: number): string
  text(option: string): string
  textOr(option: string): string | undefined
  numberOr(option: string): number | undefined
  flag(option: string): boolean
}

/**
 * Text in parts, as strings or in UTF-8, ending with a line break, for what is too large to hold; only what is asked
 * for is made.
 */
export class Parts {
  readonly make: () => AsyncIterable<string | Uint8Array>

  constructor(make: () => AsyncIterable<string | Uint8Array>) {
    this.make = make
  }
}

/**
 * What a command came to: the document for `--json` (or its JSON in parts), the same as text, and what else there is to
 * say.
 */
export interface Answer {
  readonly document: unknown
  readonly text: string | Parts
  /** Sentences for standard error. */
  readonly messages?: readonly string[]
  /** 0 done, 1 what `--fail-on` waits for was found, 2 bad input. */
  readonly exit?: 0 | 1 | 2
}

/** The terminal as a command may use it while it runs. */
export interface Terminal {
  /** Shows passing progress in place of the last; undefined clears it. Nothing where nobody looks on. */
  progress(text: string | undefined): void
  readonly signal: AbortSignal
}

export interface Command {
  readonly name: string
  readonly summary: string
  /** Names of the arguments, each needed. */
  readonly arguments: readonly string[]
  readonly options: Readonly<Record<string, OptionShape>>
  readonly run: (input: CommandInput, terminal: Terminal) => Promise<Answer>
}

/** The option that nearly every command has. */
export const dbOption = {
  type: 'string',
  value: 'FILE',
  about: 'the fleet file',
  required: true,
} as const satisfies OptionShape

/** The command line itself was wrong: which part, and what is accepted. */
export class UsageError extends Error {}

/** `1,234 rows`, `1 row`. */
export const amount = (count: number, one: string, many = `${one}s`): string =>
  `${count.toLocaleString('en-US')} ${count === 1 ? one : many}`
