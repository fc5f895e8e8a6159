import { resolve } from 'node:path'
import { z } from 'zod'
import type { CareWarning } from '#core/contracts/file.ts'
import type { RehearsalNote } from '#core/contracts/safekeeping.ts'
import { keepCopyInThread, rehearseInThread, secondCopyInThread } from '#core/jobs/in-thread.ts'
import { isRehearsalDue, overdueDays } from '#core/store/care-due.ts'
import { readRehearsalNote } from '#core/store/care-notes.ts'
import { timeNow } from '#core/store/clock.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { readNote, writeNote } from '#core/store/note-file.ts'
import { type Arrived, prepareSecondPlace } from '#core/store/second-place.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

/** The second place of a file's copies, as it was chosen, and what arrived there last. */
export interface SecondPlace {
  readonly folder: string
  /** Stored instant. */
  readonly chosenAt: string
  readonly newest: Arrived | null
}

const secondPlaces = z.record(
  z.string(),
  z.object({
    folder: z.string(),
    chosenAt: z.string(),
    newest: z.object({ name: z.string(), madeAt: z.string() }).nullable(),
  }),
)

/**
 * Cares for the open file while the app runs: a copy each day, which is the day's check too, the newest copy at a
 * second place where one is chosen, and a restore rehearsed each week.
 */
export interface FileCare {
  /** A file is open and whole: from now on it is cared for. Null: one that is only looked at, so that none is. */
  readonly opened: (file: string | null) => void
  /** Why the last copy of a file could not be kept; null when it was. */
  failure(file: string): string | null
  /** One more copy, now. Errors: those of `keepCopy`. */
  keepNow(file: string): Promise<string>
  /** Rehearses a restore now, or joins the rehearsal under way. */
  rehearseNow(file: string): Promise<RehearsalNote | null>
  second(file: string): SecondPlace | null
  /** Why the newest copy could not be brought to the second place; null when it was. */
  secondFailure(file: string): string | null
  /** From now on the newest copy goes there too; null: no longer. Errors: those of `prepareSecondPlace`. */
  chooseSecond(file: string, folder: string | null): void
  /** Brings the newest copy to the second place, or joins who is at it; what fails is told by `secondFailure`. */
  bringToSecond(file: string): Promise<void>
  /** What went wrong so that it is to be told on every screen. */
  warnings(file: string): readonly CareWarning[]
  /** Nothing more is done. */
  end(): void
}

export interface CareOptions {
  readonly report: (error: unknown) => void
  /**
   * The file of the person's own in which the second places are noted: whoever hands a fleet file over chooses none.
   */
  readonly placesFile: string
  /** Told of each day's copy that is kept. */
  readonly onKept?: (copy: string) => void
  readonly waits?: { readonly firstMs: number; readonly thenMs: number; readonly againMs: number }
}

/** After the start, which has enough to do; the rehearsal a while later; then often enough to notice a new day. */
const usualWaits = { firstMs: 3000, thenMs: 60_000, againMs: 15 * 60_000 }

/** Has everybody who asks for the same at the same time wait for one and the same work. */
function once<T>(work: (file: string) => Promise<T>): (file: string) => Promise<T> {
  const underWay = new Map<string, Promise<T>>()
  return (file) => {
    const running = underWay.get(file) ?? work(file).finally(() => underWay.delete(file))
    underWay.set(file, running)
    return running
  }
}

export function careForFile({
  report,
  placesFile,
  onKept = () => {},
  waits: { firstMs, thenMs, againMs } = usualWaits,
}: CareOptions): FileCare {
  let file: string | undefined
  let timer: NodeJS.Timeout | undefined
  const failures = new Map<string, string>()
  const secondFailures = new Map<string, string>()
  const warned = new Map<string, readonly CareWarning[]>()

  const note = (failed: Map<string, string>, of: string, error: unknown, otherwise: string) => {
    failed.set(
      of,
      error instanceof TarelineError ? error.message : phrase('{otherwise} The details are in the log.', { otherwise }),
    )
  }

  const places = () => readNote(placesFile, secondPlaces) ?? {}
  const second = (of: string): SecondPlace | null => places()[of] ?? null
  const setSecond = (of: string, place: SecondPlace | null) => {
    const { [of]: _, ...others } = places()
    writeNote(placesFile, place === null ? others : { ...others, [of]: place })
  }

  const lookForWarnings = (of: string) => {
    const place = second(of)
    const isLate =
      place !== null &&
      overdueDays(
        'second',
        place.newest && fromStoredInstant(place.newest.madeAt),
        fromStoredInstant(place.chosenAt),
        timeNow(),
      ) !== null
    warned.set(of, [
      ...(readRehearsalNote(of)?.outcome === 'failed' ? (['rehearsal-failed'] as const) : []),
      ...(isLate ? (['second-copy-overdue'] as const) : []),
    ])
  }

  const bringToSecond = once(async (of: string) => {
    const place = second(of)
    if (place === null) return
    try {
      const newest = await secondCopyInThread(of, place.folder)
      // Another place may have been chosen meanwhile.
      if (second(of)?.folder === place.folder) setSecond(of, { ...place, newest: newest ?? place.newest })
      secondFailures.delete(of)
    } catch (error) {
      if (second(of)?.folder !== place.folder) return
      // A drive that is not plugged in is no fault.
      if (!(error instanceof TarelineError)) report(error)
      note(secondFailures, of, error, phrase('The copy could not be brought to the second place.'))
    } finally {
      lookForWarnings(of)
    }
  })

  const rehearse = once(async (of: string) => {
    try {
      return await rehearseInThread(of)
    } finally {
      lookForWarnings(of)
    }
  })

  const keepDayCopy = async (of: string): Promise<void> => {
    try {
      const copy = await keepCopyInThread(of, 'day')
      failures.delete(of)
      if (copy !== null) onKept(copy)
    } catch (error) {
      report(error)
      note(failures, of, error, phrase('The day’s copy could not be kept.'))
    }
  }

  const look = async (of: string, isFirst: boolean): Promise<void> => {
    await keepDayCopy(of)
    // Nobody waits for a drive.
    bringToSecond(of).catch(report)
    if (!isFirst && isRehearsalDue(readRehearsalNote(of), listCopyNames(of)[0], timeNow())) await rehearse(of)
    lookForWarnings(of)
  }
  const wait = (ms: number, isFirst: boolean) => {
    clearTimeout(timer)
    if (file === undefined) return
    const of = file
    timer = setTimeout(() => {
      look(of, isFirst)
        .catch(report)
        .finally(() => {
          if (file === of) wait(isFirst ? thenMs : againMs, false)
        })
    }, ms).unref()
  }

  return {
    opened: (next) => {
      file = next === null ? undefined : resolve(next)
      wait(firstMs, true)
    },
    failure: (of) => failures.get(resolve(of)) ?? null,
    keepNow: async (of) => {
      const copy = await keepCopyInThread(of, 'by-hand')
      failures.delete(resolve(of))
      bringToSecond(resolve(of)).catch(report)
      return copy as string
    },
    rehearseNow: (of) => rehearse(resolve(of)),
    second: (of) => second(resolve(of)),
    secondFailure: (of) => secondFailures.get(resolve(of)) ?? null,
    chooseSecond: (of, folder) => {
      const path = resolve(of)
      if (folder !== null) prepareSecondPlace(path, folder)
      setSecond(path, folder === null ? null : { folder, chosenAt: toStoredInstant(timeNow()), newest: null })
      secondFailures.delete(path)
      lookForWarnings(path)
    },
    bringToSecond: (of) => bringToSecond(resolve(of)),
    warnings: (of) => warned.get(resolve(of)) ?? [],
    end: () => {
      file = undefined
      clearTimeout(timer)
    },
  }
}
