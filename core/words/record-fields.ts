import { wordOf } from '#core/words/listed-words.ts'
import type { ChangeSubject, StoredValue, StoredValues } from '#core/words/change.ts'
import { acceptedInstant, liesAhead, parseInstant, toStoredInstant } from '#core/words/instant.ts'
import { type MeasureSet, type MeasuredKind, acceptedMeasure, amountText } from '#core/words/measures.ts'
import {
  type EventKind,
  type Range,
  type UnitKind,
  describeRange,
  eventKinds,
  groupRoles,
  leakChecks,
  liftStates,
  measures,
  pressureReferences,
  ranges,
  unitKinds,
} from '#core/words/vocabulary.ts'
import { acceptedHolidays, acceptedWeekdays, readHolidays, readWeekdays } from '#core/words/work-days.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'
import { figures } from '#core/words/numbers.ts'

/** What a field of a record holds, and so how a form shows and reads it. */
export type FieldType =
  | { readonly type: 'line' | 'prose' | 'moment' | 'yard' | 'weekdays' | 'holidays' }
  | { readonly type: 'word'; readonly words: readonly string[] }
  | { readonly type: 'number' | 'whole'; readonly range: Range; readonly measure?: MeasuredKind }

export type RecordField = FieldType & {
  readonly label: string
  /** A record cannot be without it. */
  readonly needed?: true
  readonly hint?: string
}
export type RecordFields = Readonly<Record<string, RecordField>>

const line = (label: string, more: { readonly needed?: true; readonly hint?: string } = {}): RecordField => ({
  type: 'line',
  label,
  ...more,
})
const measuredField = (label: string, range: Range, measure: MeasuredKind, hint?: string): RecordField => ({
  type: 'number',
  label,
  range,
  measure,
  ...(hint ? { hint } : {}),
})
const word = (
  label: string,
  words: readonly string[],
  more: { readonly needed?: true; readonly hint?: string } = {},
): RecordField => ({ type: 'word', label, words, ...more })

/**
 * Every field that people type, by subject and stored column, in the order of the forms: what a form shows, what the
 * window checks while typing, what the core checks before it stores, and what the log calls a column.
 */
export const recordFields = spoken(
  {
    yard: {
      name: line(phraseLater('Name'), { needed: true }),
      elevation_ft: measuredField(
        phraseLater('Elevation'),
        ranges.elevationFt,
        'elevation',
        phraseLater('Absolute sensors need it'),
      ),
      working_days: {
        type: 'weekdays',
        label: phraseLater('Bench works on'),
        hint: phraseLater('Such as Mon-Sat. Empty: the House Rules’ days'),
      },
      holidays: {
        type: 'holidays',
        label: phraseLater('Closed on'),
        hint: phraseLater('Holidays: 2026-11-26, or 12-25 for every year'),
      },
      jobs_per_day: {
        type: 'whole',
        label: phraseLater('Jobs a day'),
        range: ranges.jobsPerDay,
        hint: phraseLater('A cell, a calibration or a repair each. Empty: the House Rules’ bench time'),
      },
    },
    unit: {
      number: line(phraseLater('Number'), { needed: true }),
      kind: word(phraseLater('Kind'), unitKinds, { needed: true }),
      vin: line(phraseLater('VIN')),
      model_year: { type: 'whole', label: phraseLater('Model year'), range: ranges.modelYear },
      make: line(phraseLater('Make')),
      model: line(phraseLater('Model')),
      plate: line(phraseLater('Plate')),
      plate_region: line(phraseLater('Plate’s state or province')),
      yard_id: { type: 'yard', label: phraseLater('Yard') },
      gross_limit_lb: measuredField(phraseLater('Gross limit'), ranges.grossLimitLb, 'weight'),
      fifth_wheel_ft: measuredField(phraseLater('Fifth wheel behind the front axle'), ranges.fifthWheelFt, 'length'),
    },
    'axle group': {
      name: line(phraseLater('Name'), { needed: true, hint: phraseLater('Such as drive') }),
      role: word(phraseLater('Role'), groupRoles, { needed: true }),
      axles: { type: 'whole', label: phraseLater('Axles'), range: ranges.axles, needed: true },
      measured_by: word(phraseLater('Measured by'), measures, {
        hint: phraseLater('circuit: by its own air pressure'),
      }),
      limit_lb: measuredField(
        phraseLater('Limit'),
        ranges.groupLimitLb,
        'weight',
        phraseLater('Empty: the House Rules’'),
      ),
      first_axle_ft: measuredField(
        phraseLater('First axle'),
        ranges.firstAxleFt,
        'length',
        phraseLater('Behind the front axle; on a trailer behind the kingpin'),
      ),
      axle_spacing_ft: measuredField(phraseLater('Axle spacing'), ranges.axleSpacingFt, 'length'),
    },
    circuit: {
      name: line(phraseLater('Name'), { needed: true, hint: phraseLater('Such as main, left, right') }),
      air_springs: { type: 'whole', label: phraseLater('Air springs'), range: ranges.airSprings },
      spring_area_in2: measuredField(phraseLater('Effective area of a spring'), ranges.springAreaIn2, 'area'),
      ride_height_in: measuredField(phraseLater('Ride height'), ranges.rideHeightIn, 'height'),
    },
    sensor: {
      serial: line(phraseLater('Serial'), { needed: true }),
      reference: word(phraseLater('Shows'), pressureReferences, {
        needed: true,
        hint: phraseLater('gauge: zero in the open air'),
      }),
      range_psi: measuredField(phraseLater('Range'), ranges.rangePsi, 'pressure'),
      resolution_psi: measuredField(phraseLater('Resolution'), ranges.resolutionPsi, 'pressure'),
      accuracy_psi: measuredField(phraseLater('Accuracy, ±'), ranges.accuracyPsi, 'pressure'),
      cell: line(phraseLater('Cell'), { hint: phraseLater('Such as CR2450') }),
      report_every_s: {
        type: 'number',
        label: phraseLater('Reports every'),
        range: ranges.reportEveryS,
        hint: phraseLater('15 s is ordinary; a faster one costs cell life'),
      },
    },
    mount: {
      mounted_at: { type: 'moment', label: phraseLater('Mounted at'), needed: true },
      removed_at: { type: 'moment', label: phraseLater('Removed at') },
      teed_in_at: line(phraseLater('Teed in at'), { hint: phraseLater('Where the line is tapped; never brake air') }),
      mounted_where: line(phraseLater('Sits where')),
      line_length_in: measuredField(phraseLater('Length of the air line'), ranges.lineLengthIn, 'height'),
      leak_check: word(phraseLater('Leak check'), leakChecks),
      gauge_psi: measuredField(phraseLater('Cross-check: the gauge showed'), ranges.psi, 'pressure'),
      gauge_sensor_psi: measuredField(phraseLater('… and the sensor'), ranges.psi, 'pressure'),
    },
    scale: {
      name: line(phraseLater('Name'), { needed: true }),
      division_lb: measuredField(
        phraseLater('Division'),
        ranges.divisionLb,
        'weight',
        phraseLater('Empty: the House Rules’'),
      ),
      tolerance_percent: { type: 'number', label: phraseLater('Tolerance, ±'), range: ranges.tolerancePercent },
      elevation_ft: measuredField(phraseLater('Elevation'), ranges.elevationFt, 'elevation'),
    },
    event: {
      kind: word(phraseLater('What was done'), eventKinds, { needed: true }),
      happened_at: { type: 'moment', label: phraseLater('When'), needed: true },
      note: { type: 'prose', label: phraseLater('Note') },
    },
  } as const satisfies Partial<Record<ChangeSubject, RecordFields>>,
  ['label', 'hint'],
)

export type TypedSubject = keyof typeof recordFields
export const typedSubjects = Object.keys(recordFields) as TypedSubject[]

export const fieldsOf = (subject: TypedSubject): RecordFields => recordFields[subject]

/** The column that names a record of a subject among its kin. */
export const nameColumns = {
  yard: 'name',
  unit: 'number',
  'axle group': 'name',
  circuit: 'name',
  sensor: 'serial',
  mount: 'mounted_at',
  scale: 'name',
  event: 'happened_at',
} as const satisfies Record<TypedSubject, string>

const mostInLine = 200
const mostInProse = 10_000
// biome-ignore lint/suspicious/noControlCharactersInRegex: those are what must not be in a name
const control = /[\u0000-\u001f\u007f]/
// biome-ignore lint/suspicious/noControlCharactersInRegex: all but tab and line breaks
const controlInProse = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/

/** What a field accepts, as a phrase. */
export function acceptedBy(field: RecordField, measures: MeasureSet): string {
  if (field.type === 'word') return field.words.map(wordOf).join(', ')
  if (field.type === 'number')
    return field.measure ? acceptedMeasure(field.range, measures[field.measure]) : describeRange(field.range)
  if (field.type === 'whole') return phrase('a whole number from {range}', { range: describeRange(field.range) })
  if (field.type === 'moment') return acceptedInstant()
  if (field.type === 'yard') return phrase('a yard of this fleet')
  if (field.type === 'weekdays') return acceptedWeekdays()
  if (field.type === 'holidays') return acceptedHolidays()
  return field.type === 'line'
    ? phrase('up to {most} characters on one line', { most: mostInLine })
    : phrase('up to {most} characters', { most: figures()(mostInProse) })
}

function isAccepted(field: RecordField, value: Exclude<StoredValue, null>): boolean {
  if (field.type === 'number' || field.type === 'whole') {
    return (
      typeof value === 'number' &&
      value >= field.range.min &&
      value <= field.range.max &&
      (field.type === 'number' || Number.isInteger(value))
    )
  }
  if (field.type === 'yard') return typeof value === 'number' && Number.isInteger(value)
  if (typeof value !== 'string' || value.trim() !== value || value === '') return false
  if (field.type === 'word') return field.words.includes(value)
  if (field.type === 'weekdays') return readWeekdays(value) === value
  if (field.type === 'holidays') return readHolidays(value) === value
  if (field.type === 'moment') {
    const ms = parseInstant(value)
    return ms !== undefined && toStoredInstant(ms) === value
  }
  return field.type === 'line'
    ? value.length <= mostInLine && !control.test(value)
    : value.length <= mostInProse && !controlInProse.test(value)
}

/** What is wrong with a stored value for a field, as a sentence; null when it will do. */
export function valueProblem(field: RecordField, value: StoredValue, measures: MeasureSet): string | null {
  if (value === null)
    return field.needed
      ? phrase('{label} is empty; {field} is needed.', { label: field.label, field: acceptedBy(field, measures) })
      : null
  if (isAccepted(field, value)) return null
  const text =
    field.type === 'number' && field.measure && typeof value === 'number'
      ? amountText(value, measures[field.measure])
      : String(value).slice(0, 80)
  return phrase('{label}: “{text}” is not accepted; {field} is.', {
    label: field.label,
    text,
    field: acceptedBy(field, measures),
  })
}

export interface ValueProblem {
  readonly field: string
  readonly message: string
}

/** What the values of a form are held against. */
export interface FormAsked {
  /** ms UTC. */
  readonly now: number
  /** In which the sentences say them. */
  readonly measures: MeasureSet
  /** Fields that are left out are empty, as of a new record. */
  readonly whole: boolean
}

/** What is wrong with the values of a form, one sentence a field. */
export function fieldProblems(
  fields: RecordFields,
  values: StoredValues,
  { now, measures, whole }: FormAsked,
): ValueProblem[] {
  const problems: ValueProblem[] = []
  for (const [field, description] of Object.entries(fields)) {
    const value = values[field] ?? null
    const message =
      Object.hasOwn(values, field) || (whole && description.needed) ? valueProblem(description, value, measures) : null
    if (message !== null) problems.push({ field, message })
    else if (description.type === 'moment' && value !== null && liesAhead(Date.parse(String(value)), now)) {
      problems.push({
        field,
        message: phrase('{label} lies ahead; a time up to now is accepted.', { label: description.label }),
      })
    }
  }
  return problems
}

/** What of a record's values does not fit the others, those that nobody typed among them. */
export function misfits(subject: TypedSubject, values: StoredValues): ValueProblem[] {
  const { mounted_at: mountedAt, removed_at: removedAt } = values
  return subject === 'mount' && typeof mountedAt === 'string' && typeof removedAt === 'string' && removedAt < mountedAt
    ? [
        {
          field: 'removed_at',
          message: phrase('The sensor was removed before it was mounted; a time not before that is accepted.'),
        },
      ]
    : []
}

/** The same as `fieldProblems` for a record of a subject, whose values must fit each other too. */
export const recordProblems = (subject: TypedSubject, values: StoredValues, asked: FormAsked): ValueProblem[] => [
  ...fieldProblems(fieldsOf(subject), values, asked),
  ...misfits(subject, values),
]

/** What tells of weights and pressures, and may be corrected with a reason. */
export const evidenceKinds = ['ticket', 'reading'] as const
export type EvidenceKind = (typeof evidenceKinds)[number]

/**
 * The column of a group's weight on a ticket, of a circuit's pressure in a reading: `T-101 drive_lb`, `T-101 drive
 * main_psi`.
 */
export const partColumn = {
  ticket: (place: string) => `${place}_lb`,
  reading: (place: string) => `${place}_psi`,
} as const satisfies Record<EvidenceKind, (place: string) => string>

const driverField: RecordField = spoken(
  {
    type: 'line',
    label: phraseLater('Driver'),
  },
  ['label'],
)

const laneField: RecordField = spoken(
  {
    type: 'line',
    label: phraseLater('Loading lane'),
  },
  ['label'],
)

/**
 * The fields of a ticket or reading as one form: its own columns, then a field for each group or circuit, by the place
 * that people call it. `scales`: the names to choose from; `pairs`: two groups that may stand on one platform.
 */
export function evidenceFields(
  kind: EvidenceKind,
  places: readonly string[],
  scales: readonly string[],
  pairs: readonly string[] = [],
): RecordFields {
  if (kind === 'ticket') {
    return {
      scale: { type: 'word', label: phrase('Scale'), words: scales, needed: true },
      number: { type: 'line', label: phrase('Ticket number'), needed: true },
      weighed_at: { type: 'moment', label: phrase('Weighed at'), needed: true },
      gross_lb: measuredField(phrase('Gross'), ranges.grossLb, 'weight'),
      ...Object.fromEntries(
        places.map((place) => [partColumn.ticket(place), measuredField(place, ranges.weightLb, 'weight')]),
      ),
      ...Object.fromEntries(
        pairs.map((pair) => [
          partColumn.ticket(pair),
          measuredField(phrase('{pair}, on one platform', { pair }), ranges.weightLb, 'weight'),
        ]),
      ),
      driver: driverField,
      lane: laneField,
      note: { type: 'prose', label: phrase('Note') },
    }
  }
  return {
    taken_at: { type: 'moment', label: phrase('Taken at'), needed: true },
    lift: { type: 'word', label: phrase('Lift axles'), words: liftStates },
    elevation_ft: measuredField(phrase('Elevation'), ranges.elevationFt, 'elevation'),
    temperature_f: measuredField(phrase('Temperature'), ranges.temperatureF, 'temperature'),
    ...Object.fromEntries(
      places.map((place) => [partColumn.reading(place), measuredField(place, ranges.psi, 'pressure')]),
    ),
    driver: driverField,
    lane: laneField,
    note: { type: 'prose', label: phrase('Note') },
  }
}

/** An axle group with its circuits, as most units of a kind have it; columns as stored. */
export interface UsualGroup {
  readonly group: StoredValues
  readonly circuits: readonly StoredValues[]
}

const steer: UsualGroup = {
  group: { name: 'steer', role: 'steer', axles: 1, first_axle_ft: 0, measured_by: 'estimate' },
  circuits: [],
}
const tandem = (name: string, role: 'drive' | 'trailer'): UsualGroup => ({
  group: { name, role, axles: 2, measured_by: 'circuit' },
  circuits: [{ name: 'main' }],
})

/**
 * What a new unit starts from, to be corrected where it is otherwise. Common trade practice: one circuit for a tandem
 * on air, a steer axle on steel.
 */
export const usualGroups: Readonly<Record<UnitKind, readonly UsualGroup[]>> = {
  tractor: [steer, tandem('drive', 'drive')],
  truck: [steer, tandem('drive', 'drive')],
  trailer: [tandem('tandem', 'trailer')],
}

/** The field of a column in a row of a form that has many: `2/serial`, counted from 0. */
export const rowField = (row: number, column: string): string => `${row}/${column}`

/** Columns that describe the vehicle, with the work that changes them: after it a calibration line no longer holds. */
const workBehind: Partial<Record<TypedSubject, Readonly<Record<string, EventKind>>>> = {
  circuit: { ride_height_in: 'height set', air_springs: 'spring replaced', spring_area_in2: 'spring replaced' },
  'axle group': { role: 'axle work', axles: 'axle work', axle_spacing_ft: 'axle work', first_axle_ft: 'axle work' },
}

/**
 * The work on the vehicle that a change of its record tells of, which breaks the line; null where none does. Filling in
 * what was unknown tells of none. When several columns change, the springs come before the height, which is set after
 * them.
 */
export function lineBreakingWork(subject: TypedSubject, was: StoredValues, now: StoredValues): EventKind | null {
  const kinds = Object.entries(workBehind[subject] ?? {}).flatMap(([column, kind]) =>
    (was[column] ?? null) !== null && Object.hasOwn(now, column) && was[column] !== now[column] ? [kind] : [],
  )
  return kinds.find((kind) => kind === 'spring replaced') ?? kinds[0] ?? null
}
