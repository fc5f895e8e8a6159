import type { StoredValue, StoredValues } from '#core/fleet/change.ts'
import { acceptedBy, type RecordField } from '#core/fleet/record-fields.ts'
import { parseTypedNumber } from '#core/fleet/typed-number.ts'
import { day, type Measures, pad } from '#renderer/parts/format.ts'

/** A stored time as the text of a field for a local date and time. */
export function localText(instant: string): string {
  const at = new Date(instant)
  return `${day(instant)}T${pad(at.getHours())}:${pad(at.getMinutes())}`
}

/** IANA name of this computer's zone, to be kept beside a time that was typed in it. */
export const localZone = (): string => Intl.DateTimeFormat().resolvedOptions().timeZone

/** A stored value as the text of its field. */
export function fieldText(field: RecordField, value: StoredValue, measures: Measures): string {
  if (value === null) return ''
  if (field.type === 'moment') return localText(String(value))
  return (field.type === 'number' || field.type === 'whole') && field.measure
    ? measures[field.measure].typed(Number(value))
    : String(value)
}

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
    return field.needed ? refuse(`${field.label} is empty; ${acceptedBy(field)} is needed.`) : { ok: true, value: null }
  if (field.type === 'number' && field.measure) {
    const read = measures[field.measure].read(typed, field.range)
    return read.ok ? read : refuse(read.problem.message)
  }
  if (field.type === 'number' || field.type === 'whole') {
    const value = parseTypedNumber(typed)
    if (value === undefined) return refuse(`“${typed}” is not a number; ${acceptedBy(field)} is accepted.`)
    const fits =
      value >= field.range.min && value <= field.range.max && (field.type === 'number' || Number.isInteger(value))
    return fits ? { ok: true, value } : refuse(`${typed} is not accepted; ${acceptedBy(field)} is.`)
  }
  if (field.type === 'moment') {
    const at = new Date(typed)
    return Number.isNaN(at.getTime())
      ? refuse(`“${typed}” is not a date and time; one such as 2026-03-01 14:30 is accepted.`)
      : { ok: true, value: at.toISOString() }
  }
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
