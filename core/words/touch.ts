import { phraseLater, spoken } from '#core/words/phrase.ts'
import type { Change, ChangeSubject } from '#core/words/change.ts'
import { type HouseRuleName, type RuleDefinition, houseRuleDefinitions } from '#core/words/house-rules.ts'

/**
 * What can follow from a change: `lines` and what is found about them, `weights` and their verdicts, `cells` and the
 * bench's work, or `words` alone.
 */
export const touchKinds = ['lines', 'weights', 'cells', 'words'] as const
export type TouchKind = (typeof touchKinds)[number]

const all: readonly TouchKind[] = touchKinds
const evidence: readonly TouchKind[] = ['lines', 'weights', 'words']
const cells: readonly TouchKind[] = ['cells', 'words']
const words: readonly TouchKind[] = ['words']

const ofSubject: Readonly<Record<Exclude<ChangeSubject, 'house rule'>, readonly TouchKind[]>> = {
  unit: all,
  'axle group': all,
  circuit: all,
  sensor: all,
  mount: all,
  battery: cells,
  event: evidence,
  calibration: evidence,
  ticket: evidence,
  // Of a sensor that was silent, it says that its cell lives.
  reading: all,
  scale: evidence,
  yard: all,
  'planned visit': cells,
  finding: ['lines', 'cells', 'words'],
  'fleet folder': all,
  'foreign CSV': all,
  mapping: words,
  'cell stock': words,
  'cell price': words,
}

/** Columns that only say what a thing is called, or how it was put in: nothing is judged or weighed by them. */
const wordColumns: Partial<Record<ChangeSubject, ReadonlySet<string>>> = {
  unit: new Set(['vin', 'plate', 'plate_region', 'make', 'model', 'model_year']),
  mount: new Set(['teed_in_at', 'mounted_where', 'line_length_in', 'leak_check', 'gauge_psi', 'gauge_sensor_psi']),
  // A scan of it leaves its figures alone.
  ticket: new Set(['note', 'driver', 'lane', 'attachment', 'sha256']),
  reading: new Set(['note', 'driver', 'lane']),
  // The days of its bench are read with each plan that is made.
  yard: new Set(['name', 'working_days', 'holidays', 'jobs_per_day']),
}

/** Rules that only shape the bench's plan: no line, weight or cell is judged by them. */
const benchRules: ReadonlySet<HouseRuleName> = new Set([
  'gatherWindowDays',
  'benchHorizonDays',
  'benchMinutesPerDay',
  'cellMinutes',
  'recalibrationMinutes',
  'repairMinutes',
  'cellDollars',
  'benchHourDollars',
  'deadCellDollars',
] satisfies HouseRuleName[])

const isValues = (value: unknown): value is object =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

/** Rules that weights and verdicts follow from directly, beside what the fleet taught. */
const weightRules: ReadonlySet<HouseRuleName> = new Set([
  'ticketRepeatabilityLb',
  'pressureResolutionPsi',
  'scaleDivisionLb',
  'scaleTolerancePercent',
  'verdictConfidencePercent',
  'singleAxleLimitLb',
  'tandemLimitLb',
  'grossLimitLb',
] satisfies HouseRuleName[])

/** What is made anew for the whole fleet: what it teaches, its judgements, its weights. */
export const fleetWork = ['learn', 'judge', 'weigh'] as const
export type FleetWork = (typeof fleetWork)[number]

/** The same for the person who waits. */
export const fleetWorkWords: Readonly<Record<FleetWork, string>> = spoken({
  learn: phraseLater('Learning from the fleet'),
  judge: phraseLater('Assessing the fleet'),
  weigh: phraseLater('Weighing the record'),
})

interface RuleTouch {
  readonly kinds: readonly TouchKind[]
  readonly work: readonly FleetWork[]
}

/** What follows from a change of one House Rule; one that has no numbers may be about anything. */
function ofRule(name: string): RuleTouch {
  const definition = (houseRuleDefinitions as Readonly<Record<string, RuleDefinition | undefined>>)[name]
  const rule = name as HouseRuleName
  if (definition?.shownOnly === true) return { kinds: words, work: [] }
  if (benchRules.has(rule)) return { kinds: cells, work: [] }
  if (definition === undefined || weightRules.has(rule)) return { kinds: all, work: fleetWork }
  return { kinds: ['lines', 'cells', 'words'], work: ['learn', 'judge'] }
}

/** Columns of a change that tells of an edit, not of a whole record: what stood there and what stands there now. */
function editedColumns({ action, old, new: now }: Pick<Change, 'action' | 'old' | 'new'>): string[] {
  if (action === 'added') return []
  return [old, now].flatMap((values) => (isValues(values) ? Object.keys(values) : []))
}

/**
 * What follows from a change of the record: the one place that says so, by its subject and, where a record was edited,
 * by its columns.
 */
export function touchedBy(change: Omit<Change, 'unitId'>): readonly TouchKind[] {
  const { subject, key } = change
  if (subject === 'house rule') return ofRule(key).kinds
  const only = wordColumns[subject]
  const columns = editedColumns(change)
  return only && columns.length > 0 && columns.every((column) => only.has(column)) ? words : ofSubject[subject]
}

/**
 * Whether a change alters which axle groups stand on a scale with a unit: whether a ticket's weights ought to add up to
 * its gross rests on them, for all of its units.
 */
export const changesAxles = (change: Omit<Change, 'unitId'>): boolean =>
  change.subject === 'axle group' || (change.subject === 'unit' && editedColumns(change).includes('kind'))

/** What a change makes the whole fleet do anew; nothing, but for imports and rules. */
export function fleetWorkOf({ subject, key }: Pick<Change, 'subject' | 'key'>): readonly FleetWork[] {
  if (subject === 'house rule') return ofRule(key).work
  return subject === 'fleet folder' || subject === 'foreign CSV' ? fleetWork : []
}
