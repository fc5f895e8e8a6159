import { Button, NativeSelect } from '@mantine/core'
import { type ForeignMapping, type ValueColumn, valueFields } from '#core/fleet/foreign-mapping.ts'
import { SourceField } from './source-field.tsx'

interface ValueColumnsProps {
  readonly mapping: ForeignMapping
  readonly columns: readonly string[]
  readonly onChange: (values: ForeignMapping['values']) => void
}

const mostColumns = 40

/** Of a wide file: each column of weights or pressures, and whose they are. */
export function ValueColumns({ mapping, columns, onChange }: ValueColumnsProps) {
  const { values, kind } = mapping
  const what = kind === 'tickets' ? 'Weight' : 'Pressure'
  const set = (at: number, value: ValueColumn) => onChange(values.with(at, value))
  return (
    <fieldset className="foreign-part">
      <legend>{what} columns</legend>
      {values.map((value, at) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a column has no other name than its place while it is chosen
        <fieldset key={at} className="foreign-value">
          <legend className="unheard">
            {what} column {at + 1}
          </legend>
          <NativeSelect
            label={`${what} ${at + 1}`}
            value={value.column}
            onChange={(event) => set(at, { ...value, column: event.currentTarget.value })}
            data={[
              ...columns,
              ...(columns.includes(value.column)
                ? []
                : [{ value: value.column, label: `${value.column} (not in this file)` }]),
            ]}
          />
          {valueFields(mapping).map(({ field, label }) => {
            const name = field as 'unit' | 'group' | 'circuit' | 'serial'
            return (
              <SourceField
                key={field}
                label={`${label} of ${what.toLowerCase()} ${at + 1}`}
                needed
                columns={columns}
                value={value[name]}
                onChange={(source) => {
                  const { [name]: _, ...others } = value
                  set(at, source === undefined ? others : { ...others, [name]: source })
                }}
              />
            )
          })}
          <Button variant="default" className="foreign-drop-value" onClick={() => onChange(values.toSpliced(at, 1))}>
            Leave out {what.toLowerCase()} {at + 1}
          </Button>
        </fieldset>
      ))}
      <Button
        variant="default"
        disabled={columns.length === 0 || values.length >= mostColumns}
        onClick={() =>
          onChange([
            ...values,
            {
              ...values.at(-1),
              column: columns.find((column) => !values.some((value) => value.column === column)) ?? columns[0] ?? '',
            },
          ])
        }
      >
        Add a {what.toLowerCase()} column
      </Button>
    </fieldset>
  )
}
