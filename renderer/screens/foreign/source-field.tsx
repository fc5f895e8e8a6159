import { NativeSelect, TextInput } from '@mantine/core'
import type { ForeignSource } from '#core/fleet/foreign-mapping.ts'

interface SourceFieldProps {
  readonly label: string
  readonly hint?: string | undefined
  readonly needed: boolean
  /** A weight or pressure is never the same in all rows. */
  readonly columnOnly?: boolean
  readonly columns: readonly string[]
  readonly value: ForeignSource | undefined
  readonly onChange: (value: ForeignSource | undefined) => void
}

const prefix = 'column:'

/** Where a field comes from: a column of the file, or one value for all rows. */
export function SourceField({ label, hint, needed, columnOnly = false, columns, value, onChange }: SourceFieldProps) {
  const chosen = value === undefined ? '' : 'column' in value ? prefix + value.column : 'fixed'
  // A column of the mapping that this file lacks stays to be seen.
  const lost =
    value !== undefined && 'column' in value && !columns.includes(value.column)
      ? [{ value: prefix + value.column, label: `${value.column} (not in this file)` }]
      : []
  const data = [
    { value: '', label: needed ? 'choose…' : 'not in the file' },
    ...columns.map((column) => ({ value: prefix + column, label: column })),
    ...lost,
    ...(columnOnly ? [] : [{ value: 'fixed', label: 'one value for all rows' }]),
  ]
  const choose = (next: string) =>
    onChange(next === '' ? undefined : next === 'fixed' ? { fixed: '' } : { column: next.slice(prefix.length) })
  return (
    <div className="foreign-source">
      <NativeSelect
        label={label}
        description={hint}
        required={needed}
        withAsterisk={needed}
        data={data}
        value={chosen}
        onChange={(event) => choose(event.currentTarget.value)}
      />
      {chosen === 'fixed' && value !== undefined && 'fixed' in value && (
        <TextInput
          aria-label={`${label}, for all rows`}
          placeholder="for all rows"
          maxLength={200}
          value={value.fixed}
          onChange={(event) => onChange({ fixed: event.currentTarget.value })}
        />
      )}
    </div>
  )
}
