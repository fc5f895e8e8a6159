import type { StoredValue } from '#core/fleet/change.ts'
import { houseRuleDefinitions, type HouseRuleName } from '#core/fleet/house-rules.ts'
import { fieldsOf, type RecordFields, type TypedSubject, typedSubjects } from '#core/fleet/record-fields.ts'
import { type Measures, moment } from '#renderer/parts/format.ts'
import { sentenceCase, unknownText } from '#renderer/parts/words.ts'

const isTyped = (subject: string): subject is TypedSubject => (typedSubjects as readonly string[]).includes(subject)
const isInstant = (value: StoredValue): value is string =>
  typeof value === 'string' && /^\d{4}-\d\d-\d\dT[\d:.]+Z$/.test(value)

/** Columns by how they end, for what is no field of a form. */
const endings: readonly (readonly [ending: string, kind: keyof Measures])[] = [
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
  return fields[column]?.label ?? sentenceCase(bare.replaceAll('_', ' '))
}

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
              typeof value === 'number'
                ? `${name.replaceAll('_', ' ')} ${value.toLocaleString('en-US')}`
                : String(value),
            )
            .join(', '),
    )
    .join('; ')
}

/** A stored value as the log shows it, in the measures in use. */
export function valueText(column: string, value: StoredValue, measures: Measures): string {
  if (value === null) return unknownText
  if (isInstant(value)) return moment(value)
  const kind = typeof value === 'number' ? endingOf(column)?.[1] : undefined
  return kind === undefined
    ? partsText(String(value))
    : `${measures[kind].typed(Number(value))}\u00a0${measures[kind].symbol}`
}

/** What the log calls a changed record: a House Rule by its label. */
export const recordLabel = (subject: string, key: string): string =>
  subject === 'house rule' && key in houseRuleDefinitions ? houseRuleDefinitions[key as HouseRuleName].label : key
