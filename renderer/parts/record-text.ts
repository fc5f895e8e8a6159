import { wordOf } from '#core/words/listed-words.ts'
import type { Trust } from '#core/findings/finding.ts'
import type { StoredValue, StoredValues } from '#core/words/change.ts'
import {
  type HouseRuleName,
  type RuleDefinition,
  houseRuleDefinitions,
  measuredRule,
  zoneLabel,
} from '#core/words/house-rules.ts'
import type { MeasuredKind } from '#core/words/measures.ts'
import { tidyName } from '#core/words/names.ts'
import {
  type RecordField,
  type RecordFields,
  type TypedSubject,
  acceptedBy,
  fieldsOf,
  typedSubjects,
} from '#core/words/record-fields.ts'
import { sentenceCase } from '#core/words/text.ts'
import { readHolidays, readWeekdays } from '#core/words/work-days.ts'
import type { Measures } from '#renderer/parts/format.ts'
import { phrase } from '#core/words/phrase.ts'
import { figures, grouped, readNumber, sayEither } from '#core/words/numbers.ts'

/** A stored value as the text of its field. */
export function fieldText(field: RecordField, value: StoredValue, measures: Measures): string {
  if (value === null) return ''
  if (field.type === 'moment') return measures.times.typed(String(value))
  return (field.type === 'number' || field.type === 'whole') && field.measure
    ? measures[field.measure].typed(Number(value))
    : String(value)
}

/** A stored value as it is read: the text of its field, but a word of a closed list in the language of the window. */
export const shownText = (field: RecordField, value: StoredValue, measures: Measures): string =>
  field.type === 'word' && value !== null ? wordOf(String(value)) : fieldText(field, value, measures)

export type FieldRead =
  | { readonly ok: true; readonly value: StoredValue }
  | { readonly ok: false; readonly message: string }

/** What a field's label says behind it: the unit of measure in use. */
export function fieldUnit(field: RecordField, measures: Measures): string {
  if (field.type !== 'number') return ''
  return field.measure ? measures[field.measure].symbol : field.range.unit
}

/** Reads the text of a field into its stored value, or the sentence for it. */
function readField(field: RecordField, text: string, measures: Measures): FieldRead {
  const typed = text.trim()
  const refuse = (message: string): FieldRead => ({ ok: false, message })
  if (typed === '')
    return field.needed
      ? refuse(
          phrase('{label} is empty; {field} is needed.', {
            label: field.label,
            field: acceptedBy(field, measures.say.measures),
          }),
        )
      : { ok: true, value: null }
  if (field.type === 'number' && field.measure) {
    const read = measures[field.measure].read(typed, field.range)
    return read.ok ? read : refuse(read.problem.message)
  }
  if (field.type === 'number' || field.type === 'whole') {
    const value = readNumber(typed)
    if (typeof value === 'object') return refuse(sayEither(typed, value))
    if (value === undefined)
      return refuse(
        phrase('“{typed}” is not a number; {field} is accepted.', {
          typed,
          field: acceptedBy(field, measures.say.measures),
        }),
      )
    const fits =
      value >= field.range.min && value <= field.range.max && (field.type === 'number' || Number.isInteger(value))
    return fits
      ? { ok: true, value }
      : refuse(
          phrase('{typed} is not accepted; {field} is.', { typed, field: acceptedBy(field, measures.say.measures) }),
        )
  }
  if (field.type === 'moment') return measures.times.read(typed)
  if (field.type === 'weekdays' || field.type === 'holidays') {
    const value = field.type === 'weekdays' ? readWeekdays(typed) : readHolidays(typed)
    return value === undefined
      ? refuse(
          phrase('“{typed}” is not accepted; {field} is.', {
            typed: typed.slice(0, 80),
            field: acceptedBy(field, measures.say.measures),
          }),
        )
      : { ok: true, value }
  }
  if (field.type === 'line') return { ok: true, value: tidyName(typed) }
  return { ok: true, value: field.type === 'yard' ? Number(typed) : typed }
}

/**
 * The values that a form's texts stand for, beside the sentences for those that stand for none. A text that nobody
 * changed keeps its stored value.
 */
export function readFields(
  fields: Readonly<Record<string, RecordField>>,
  texts: Readonly<Record<string, string>>,
  was: StoredValues,
  measures: Measures,
): { values: Record<string, StoredValue>; problems: Record<string, string> } {
  const values: Record<string, StoredValue> = {}
  const problems: Record<string, string> = {}
  for (const [column, field] of Object.entries(fields)) {
    const stored = was[column] ?? null
    const text = texts[column] ?? ''
    const read =
      stored !== null && text === fieldText(field, stored, measures)
        ? { ok: true as const, value: stored }
        : readField(field, text, measures)
    if (read.ok) values[column] = read.value
    else problems[column] = read.message
  }
  return { values, problems }
}

/** What each trust state says about a group, for people who meet the word for the first time. */
export const trustMeanings: Record<Trust, string> = {
  uncalibrated: phrase('No valid calibration line'),
  upset: phrase('Work since the calibration broke it'),
  doubtful: phrase('Evidence contradicts the line'),
  overdue: phrase('Past its due date'),
  'due soon': phrase('Due within the notice period'),
  sound: phrase('The line can be relied on'),
}

export { sentenceCase }

/** Nothing known: a dash for the eye, a word for a screen reader. */
export const unknownText = '–'

const isTyped = (subject: string): subject is TypedSubject => (typedSubjects as readonly string[]).includes(subject)
const isInstant = (value: StoredValue): value is string =>
  typeof value === 'string' && /^\d{4}-\d\d-\d\dT[\d:.]+Z$/.test(value)

/** Columns by how they end, for what is no field of a form. */
const endings: readonly (readonly [ending: string, kind: MeasuredKind])[] = [
  ['_lb', 'weight'],
  ['_psi', 'pressure'],
  ['elevation_ft', 'elevation'],
  ['_ft', 'length'],
  ['_in2', 'area'],
  ['_in', 'height'],
  ['temperature_f', 'temperature'],
]

const endingOf = (column: string) => endings.find(([ending]) => column.endsWith(ending))

/** What the log calls a changed column. */
export function columnLabel(subject: string, column: string): string {
  if (column === '') return ''
  if (column === 'sha256') return 'SHA-256'
  const fields: RecordFields = isTyped(subject) ? fieldsOf(subject) : {}
  const [ending = ''] = endingOf(column) ?? []
  const bare = ending.startsWith('_') ? column.slice(0, -ending.length) : column.replace(/_(ft|f)$/, '')
  // A place is called what people call it: `T-101 drive`.
  return fields[column]?.label ?? (bare.includes(' ') ? bare : sentenceCase(bare.replaceAll('_', ' ')))
}

/** The stored times in a text as the fleet's clocks show them. */
const saidTimes = (text: string, { times }: Measures): string =>
  text.replace(/\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?Z/g, (instant) => times.moment(instant))

/** A list of names or of parts as words: `yards.csv read 2 added 2; units.csv read 8 …`; anything else as it is. */
function partsText(text: string): string {
  if (!text.startsWith('[{') && !text.startsWith('["')) return text
  let parts: (Record<string, unknown> | string)[]
  try {
    parts = JSON.parse(text) as typeof parts
  } catch {
    // A person's own words that only look like parts.
    return text
  }
  return parts
    .map((part) =>
      typeof part === 'string'
        ? part
        : Object.entries(part)
            .filter(([name, value]) => !name.endsWith('_id') && value !== 0 && value !== null)
            .map(([name, value]) =>
              typeof value === 'number' ? `${name.replaceAll('_', ' ')} ${figures()(value)}` : String(value),
            )
            .join(', '),
    )
    .join(text.startsWith('["') ? ', ' : '; ')
}

/** A stored value as the log shows it, in the measures in use. */
export function valueText(column: string, value: StoredValue, measures: Measures): string {
  if (value === null) return unknownText
  if (isInstant(value)) return measures.times.moment(value)
  const kind = typeof value === 'number' ? endingOf(column)?.[1] : undefined
  return kind === undefined
    ? saidTimes(partsText(String(value)), measures)
    : `${grouped(measures[kind].typed(Number(value)))}\u00a0${measures[kind].symbol}`
}

/** A House Rule's value as its screen shows it: a choice in its words, a figure in the measures in use. */
function ruleText(name: HouseRuleName, value: number, measures: Measures): string {
  const { choices, unit }: RuleDefinition = houseRuleDefinitions[name]
  const chosen = choices?.[value]
  if (chosen !== undefined) return wordOf(chosen)
  const measured = measuredRule(unit)
  if (measured === undefined) return `${figures()(value)}${unit && `\u00a0${wordOf(unit)}`}`
  const { typed, symbol } = measures[measured.kind]
  return `${grouped(typed(value))}\u00a0${symbol}${wordOf(measured.behind)}`
}

/** The value of a record's column as the log shows it. */
export const changedText = (
  { subject, key }: { readonly subject: string; readonly key: string },
  column: string,
  value: StoredValue,
  measures: Measures,
): string =>
  subject === 'house rule' && typeof value === 'number' && key in houseRuleDefinitions
    ? ruleText(key as HouseRuleName, value, measures)
    : valueText(column, value, measures)

/** What the log calls a changed record: a House Rule by its label, a calibration by when it was made. */
export const recordLabel = (subject: string, key: string, measures: Measures): string =>
  subject !== 'house rule'
    ? saidTimes(key, measures)
    : key === 'zone'
      ? zoneLabel()
      : key in houseRuleDefinitions
        ? houseRuleDefinitions[key as HouseRuleName].label
        : key
