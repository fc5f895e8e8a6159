/** What a change in the log is about, in the order in which people are offered the words. */
export const changeSubjects = [
  'unit',
  'axle group',
  'circuit',
  'sensor',
  'mount',
  'battery',
  'event',
  'calibration',
  'ticket',
  'reading',
  'scale',
  'yard',
  'planned visit',
  'cell stock',
  'cell price',
  'finding',
  'house rule',
  'fleet folder',
  'foreign CSV',
  'mapping',
] as const
export type ChangeSubject = (typeof changeSubjects)[number]

/** One value of a record as it is stored. */
export type StoredValue = string | number | null
export type StoredValues = Readonly<Record<string, StoredValue>>

/** Who makes a change, and when (stored instant). */
export interface Hand {
  readonly by: string
  readonly at: string
}

/** A change of the record, as the log takes it down. */
export interface Change {
  /** The unit whose record it is part of, the one that leads where there are several; null: none's. */
  readonly unitId: number | null
  /** Further units that it is about and that its record no longer tells of, such as those of a ticket taken away. */
  readonly unitIds?: readonly number[]
  readonly subject: ChangeSubject
  /** How people name the record. */
  readonly key: string
  readonly action: string
  /** Row of the subject's own table, where it has one. */
  readonly recordId?: number
  /** What was there before and is there now, to be kept as JSON; left out where there is nothing to tell. */
  readonly old?: unknown
  readonly new?: unknown
  readonly reason?: string | null
}

/** One field on which two people disagree: what the one saw and typed, and what is stored by now. */
export interface FieldConflict {
  readonly field: string
  readonly was: StoredValue
  readonly stored: StoredValue
  readonly typed: StoredValue
}
