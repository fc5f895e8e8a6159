import type { StoredValues } from '#core/fleet/change.ts'
import { fieldsOf, type TypedSubject } from '#core/fleet/record-fields.ts'
import { moment, useMeasures } from '#renderer/parts/format.ts'
import { fieldText, fieldUnit } from '#renderer/parts/record-text.ts'

const plain = new Intl.NumberFormat('en-US', { maximumFractionDigits: 6 })

/** What is known of a record, in the order of its form; what is unknown is left out. */
export function RecordFacts({
  subject,
  values,
  without = [],
  yards = [],
}: {
  subject: TypedSubject
  values: StoredValues
  without?: readonly string[]
  yards?: readonly { id: number; name: string }[]
}) {
  const measures = useMeasures()
  const facts = Object.entries(fieldsOf(subject)).flatMap(([column, field]) => {
    const value = values[column] ?? null
    if (value === null || without.includes(column)) return []
    const text =
      field.type === 'yard'
        ? (yards.find(({ id }) => id === value)?.name ?? '')
        : field.type === 'moment'
          ? moment(String(value))
          : fieldText(field, value, measures)
    const unit = fieldUnit(field, measures)
    if (field.type === 'number')
      return [{ column, label: field.label, text: `${plain.format(Number(text))}\u00a0${unit}` }]
    return [{ column, label: field.label, text }]
  })
  return (
    <dl className="record-facts">
      {facts.map(({ column, label, text }) => (
        <div key={column}>
          <dt>{label}</dt>
          <dd>{text}</dd>
        </div>
      ))}
    </dl>
  )
}
