import { basename, dirname, join } from 'node:path'
import { type LocalDay, dayOf } from '#core/words/day.ts'

/** Why a copy was kept. `other`: a file that somebody else put into the folder. */
export const copyReasons = [
  'day',
  'before-import',
  'before-update',
  'before-restore',
  'by-hand',
  'rescued',
  'other',
] as const
export type CopyReason = (typeof copyReasons)[number]

/** A copy as its name tells of it. */
export interface CopyName {
  readonly name: string
  /** Counts the copies of a file whatever its clock says; 0 for a file that somebody else put there. */
  readonly sequence: number
  readonly reason: CopyReason
  /** When it was made by the clock of then, ms UTC; null where the name does not say. */
  readonly at: number | null
}

/** The folder beside a fleet file that holds its copies. */
export const copiesFolder = (file: string): string => join(dirname(file), `${basename(file)} copies`)

const pattern = /^(\d{6})-([a-z-]+)-(\d{4}-\d\d-\d\dT)(\d\d)(\d\d)(\d\d)(\d{3})Z\.tareline$/

/** `000012-day-2026-11-25T221002123Z.tareline`: in the order in which they were made, also in a file manager. */
export const copyName = (sequence: number, reason: CopyReason, at: number): string =>
  `${String(sequence).padStart(6, '0')}-${reason}-${new Date(at).toISOString().replaceAll(/[:.]/g, '')}.tareline`

/** What a file in the copies folder is; undefined for one that is no copy. */
export function readCopyName(name: string): CopyName | undefined {
  if (!name.endsWith('.tareline') || name.startsWith('.')) return undefined
  const [, sequence, reason, day, hours, minutes, seconds, ms] = pattern.exec(name) ?? []
  const known = copyReasons.find((each) => each === reason)
  const at = Date.parse(`${day}${hours}:${minutes}:${seconds}.${ms}Z`)
  if (sequence === undefined || known === undefined || Number.isNaN(at))
    return { name, sequence: 0, reason: 'other', at: null }
  return { name, sequence: Number(sequence), reason: known, at }
}

const daysKept = 14
const othersKept = 10

/**
 * The copies that may go: a day's copy once those of 14 further days have followed it, or another of the very same day;
 * any other once ten of its reason have. What followed what is told by the sequence and not by the clock, so that a
 * clock set back, or far ahead, takes no copy away. zone: the fleet's, in which days are counted.
 */
export function copiesToRemove(copies: readonly CopyName[], zone: string): string[] {
  const newestFirst = [...copies].sort((a, b) => b.sequence - a.sequence || (b.at ?? 0) - (a.at ?? 0))
  let days = 0
  let later: LocalDay | undefined
  const others = new Map<CopyReason, number>()
  return newestFirst.flatMap(({ name, reason, at }) => {
    if (reason === 'other' || at === null) return []
    if (reason !== 'day') {
      const kept = others.get(reason) ?? 0
      others.set(reason, kept + 1)
      return kept < othersKept ? [] : [name]
    }
    const day = dayOf(at, zone)
    const isLastOfDay = day !== later
    later = day
    if (isLastOfDay) days += 1
    return isLastOfDay && days <= daysKept ? [] : [name]
  })
}

/** Whether a day's copy is due: the newest one is of another day, or lies ahead of a clock that was set back. */
export function isDayCopyDue(copies: readonly CopyName[], now: number, zone: string): boolean {
  const newest = copies.filter(({ reason }) => reason === 'day').sort((a, b) => b.sequence - a.sequence)[0]
  return newest?.at == null || dayOf(newest.at, zone) !== dayOf(now, zone) || newest.at > now
}
