import type { CheckNote, RehearsalNote } from '#core/contracts/safekeeping.ts'
import type { CopyName } from '#core/store/copy-names.ts'
import { dayMs, fromStoredInstant, laterBy, liesAhead } from '#core/words/instant.ts'

/**
 * A restore is rehearsed so often, days. One that did not go well is tried again the next day, or with the next copy.
 */
const rehearsalEvery = 7
/** What has not been done for so many days is told as overdue: the check comes with each day's copy. */
const longest = { check: 3, rehearsal: 14, second: 7 } as const

/**
 * Whether the newest copy of a file is to be restored out of the way; a clock that was set back makes it wait for
 * nothing.
 */
export function isRehearsalDue(last: RehearsalNote | null, newest: CopyName | undefined, now: number): boolean {
  if (newest === undefined) return false
  if (last === null) return true
  const at = fromStoredInstant(last.at)
  if (liesAhead(at, now) || (last.outcome !== 'restored' && last.copy !== newest.name)) return true
  return now >= laterBy(at, last.outcome === 'restored' ? rehearsalEvery : 1)
}

/**
 * For how many whole days something has not been done, where that is too long; else null. firstDue: since when there
 * was something to do it with, where it was never done. All ms UTC.
 */
export function overdueDays(
  what: keyof typeof longest,
  done: number | null,
  firstDue: number | null,
  now: number,
): number | null {
  const since = done ?? firstDue
  if (since === null) return null
  const days = Math.floor((now - since) / dayMs)
  return days >= longest[what] ? days : null
}

export const doneAt = (note: CheckNote | RehearsalNote | null): number | null =>
  note === null ? null : fromStoredInstant(note.at)
