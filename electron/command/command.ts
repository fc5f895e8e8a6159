import { type Interface, createInterface } from 'node:readline'
import { Writable } from 'node:stream'
import { setFlagsFromString } from 'node:v8'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { timeNow } from '#core/store/clock.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { readAsOf } from '#core/words/day.ts'
import type { Streams } from '#electron/command/run-command.ts'

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
  /** Asks for something that is not to be seen; left out where nobody sits at a terminal. */
  readonly askSecretly?: (question: string) => Promise<string>
  readonly signal: AbortSignal
}

export interface Command {
  readonly name: string
  readonly summary: string
  /** Names of the arguments, each needed but those in brackets at the end. */
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

/**
 * How to ask at the terminal without showing what is typed. One reader serves all questions, so that a line that comes
 * early is the next one's answer. Errors of asking: UsageError where there is no answer, as after Ctrl-C or Ctrl-D.
 */
function secretAsker(signal: AbortSignal): (question: string) => Promise<string> {
  const early: string[] = []
  let reader: Interface | undefined
  let take: ((line: string | undefined) => void) | undefined
  const open = () => {
    const nowhere = new Writable({ write: (_chunk, _encoding, done) => done() })
    const made = createInterface({ input: process.stdin, output: nowhere, terminal: true })
    const give = (line: string | undefined) => {
      const asked = take
      take = undefined
      if (asked) asked(line)
      else if (line !== undefined) early.push(line)
    }
    made.on('line', give)
    made.once('close', () => give(undefined))
    signal.addEventListener('abort', () => made.close(), { once: true })
    return made
  }
  return async (question) => {
    process.stderr.write(question)
    reader ??= open()
    reader.resume()
    const answer =
      early.shift() ??
      (await new Promise<string | undefined>((done) => {
        take = done
      }))
    // A reader that waits for more would keep the program from ending.
    reader.pause()
    process.stderr.write('\n')
    if (answer === undefined) throw new UsageError('Nothing was typed; nothing was changed.')
    return answer
  }
}

/** The process's own standard streams; progress is shown only to a terminal, and Ctrl-C asks the command to stop. */
export function processStreams(): Streams {
  const stop = new AbortController()
  // Once only: who presses twice means it.
  process.once('SIGINT', () => stop.abort())
  // A reader that has seen enough, such as `head`, is no fault.
  let left = false
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error
    left = true
  })
  let shown = false
  return {
    out: (text) => {
      if (left) return undefined
      return new Promise<void>((done) => {
        process.stdout.write(text, () => done())
      })
    },
    isLeft: () => left,
    error: (text) => process.stderr.write(text),
    terminal: {
      signal: stop.signal,
      ...(process.stdin.isTTY && process.stderr.isTTY ? { askSecretly: secretAsker(stop.signal) } : {}),
      progress: (text) => {
        if (!process.stderr.isTTY || (text === undefined && !shown)) return
        process.stderr.write(`\r\u001b[K${text ?? ''}`)
        shown = text !== undefined
      },
    },
  }
}

/**
 * Has V8 look for garbage long before there is several times as much of it as of what lives: a command works beside
 * other programs, and may be asked of a large fleet on a small machine. Halves the memory for a sixth more work.
 */
function keepHeapSmall(): void {
  setFlagsFromString('--semi-space-growth-factor=1')
  setFlagsFromString('--heap-growing-percent=40')
}

/** Opens a fleet file that must be there, to be asked about by a command. */
export async function openToAsk(file: string): Promise<Store> {
  keepHeapSmall()
  const store = await openStore(file, { mustExist: true })
  // KiB of its pages, a quarter of what a window keeps: what is asked of a whole record meets most of them once.
  store.raw.pragma('cache_size = -16384')
  return store
}

/** Opens a fleet file that must be there, asks, and closes it whatever comes of it. */
export async function withStore<T>(file: string, ask: (store: Store) => Promise<T>): Promise<T> {
  const store = await openToAsk(file)
  try {
    return await ask(store)
  } finally {
    await store.close()
  }
}

export const asOfOption = {
  type: 'string',
  value: 'DATE',
  about: 'the day that is asked about; today where it is left out',
} as const satisfies OptionShape

/**
 * The moment that an option names, ms UTC: the end of a day of the fleet in a zone, or a time with its offset;
 * undefined where it was left out.
 */
export function readMoment(input: CommandInput, option: string, zone: string): number | undefined {
  const text = input.textOr(option)
  if (text === undefined) return undefined
  const at = readAsOf(text, zone)
  if (at === undefined)
    throw new UsageError(`--${option} is "${text}"; a day such as 2026-03-01, or a time with its offset, is needed.`)
  return at
}

/** The moment that is asked about, ms UTC: what `--as-of` names, otherwise that of all judgements of today. */
export const askedMoment = (input: CommandInput, zone: string): number =>
  readMoment(input, 'as-of', zone) ?? judgedAt(timeNow(), zone)
