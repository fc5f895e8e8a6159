import { resolve } from 'node:path'
import { keepCopyInThread } from '#core/jobs/in-thread.ts'
import { TarelineError } from '#core/words/problem.ts'

/** Sees to it that a day on which the app runs leaves a copy of its file. */
export interface DayCopies {
  /** A file is open and whole: from now on it is copied once a day. */
  readonly opened: (file: string) => void
  /** Why the last copy of a file could not be kept; null when it was. */
  failure(file: string): string | null
  /** One more copy, now. Errors: those of `keepCopy`. */
  keepNow(file: string): Promise<string>
  /** No more copies are looked for. */
  end(): void
}

/** After the start, which has enough to do; then often enough to notice a new day. */
const usualWaits = { firstMs: 3000, againMs: 15 * 60_000 }

/**
 * Keeps the day's copies of whichever file is open, in a thread; a copy that fails is told, and tried again; `onKept`
 * is told of each that is kept.
 */
export function keepDayCopies(
  report: (error: unknown) => void,
  onKept: (copy: string) => void = () => {},
  { firstMs, againMs } = usualWaits,
): DayCopies {
  let file: string | undefined
  let timer: NodeJS.Timeout | undefined
  const failures = new Map<string, string>()

  const note = (of: string, error: unknown) => {
    report(error)
    failures.set(
      of,
      error instanceof TarelineError ? error.message : 'The day’s copy could not be kept. The details are in the log.',
    )
  }
  const look = () => {
    const of = file
    if (of === undefined) return
    keepCopyInThread(of, 'day')
      .then(
        (copy) => {
          failures.delete(of)
          if (copy !== null) onKept(copy)
        },
        (error: unknown) => note(of, error),
      )
      .finally(() => wait(againMs))
  }
  const wait = (ms: number) => {
    clearTimeout(timer)
    if (file !== undefined) timer = setTimeout(look, ms).unref()
  }

  return {
    opened: (next) => {
      file = resolve(next)
      wait(firstMs)
    },
    failure: (of) => failures.get(resolve(of)) ?? null,
    keepNow: async (of) => {
      const copy = await keepCopyInThread(of, 'by-hand')
      failures.delete(resolve(of))
      return copy as string
    },
    end: () => {
      file = undefined
      clearTimeout(timer)
    },
  }
}
