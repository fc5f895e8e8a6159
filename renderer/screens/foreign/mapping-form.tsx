import { NativeSelect, TextInput } from '@mantine/core'
import { useMemo } from 'react'
import {
  dateOrders,
  decimalSigns,
  type ForeignMapping,
  foreignUnits,
  rowFields,
  thousandsSigns,
} from '#core/fleet/foreign-mapping.ts'
import { withField } from './mapping-draft.ts'
import { SourceField } from './source-field.tsx'
import { ValueColumns } from './value-columns.tsx'

interface MappingFormProps {
  readonly mapping: ForeignMapping
  readonly columns: readonly string[]
  readonly onChange: (mapping: ForeignMapping) => void
}

const words = {
  kind: { tickets: 'scale tickets', readings: 'pressure readings' },
  delimiter: { comma: 'comma ,', semicolon: 'semicolon ;', tab: 'tab', bar: 'bar |' },
  encoding: { 'utf-8': 'UTF-8', 'utf-16': 'UTF-16', 'windows-1252': 'Windows-1252 (Western)' },
  decimal: { point: 'point: 12.5', comma: 'comma: 12,5' },
  thousands: {
    none: 'none: 12340',
    comma: 'comma: 12,340',
    point: 'point: 12.340',
    space: 'space: 12 340',
    apostrophe: 'apostrophe: 12’340',
  },
  place: { circuit: 'unit, group and circuit', serial: 'the sensor’s serial' },
} as const

const asData = <T extends string>(names: Readonly<Record<T, string>>) =>
  (Object.keys(names) as T[]).map((value) => ({ value, label: names[value] }))

interface ChoiceProps<T extends string> {
  readonly label: string
  readonly value: T
  readonly data: readonly { readonly value: NoInfer<T>; readonly label: string }[] | readonly NoInfer<T>[]
  readonly onChange: (value: T) => void
}

function Choice<T extends string>({ label, value, data, onChange }: ChoiceProps<T>) {
  // The element hands back one of the values that it was given.
  return (
    <NativeSelect
      label={label}
      value={value}
      data={[...data]}
      onChange={(event) => onChange(event.currentTarget.value as T)}
    />
  )
}

/** Everything that a mapping says about a file, each part set on its own. */
export function MappingForm({ mapping, columns, onChange }: MappingFormProps) {
  const set = (part: Partial<ForeignMapping>) => onChange({ ...mapping, ...part })
  const { kind, layout, place, zone } = mapping
  const zones = useMemo(() => [...new Set([zone, 'UTC', ...Intl.supportedValuesOf('timeZone')])], [zone])
  const one = kind === 'tickets' ? 'ticket' : 'reading'
  const value = kind === 'tickets' ? 'weight' : 'pressure'
  return (
    <form className="foreign-form" aria-label="Mapping" onSubmit={(event) => event.preventDefault()}>
      <fieldset className="foreign-part">
        <legend>What it holds</legend>
        <Choice label="Rows are" value={kind} data={asData(words.kind)} onChange={(next) => set({ kind: next })} />
        <Choice
          label="A row for each"
          value={layout}
          data={[
            { value: 'long', label: value },
            { value: 'wide', label: `${one}, its ${value}s side by side` },
          ]}
          onChange={(next) => set({ layout: next })}
        />
        {kind === 'readings' && (
          <Choice
            label="Place told by"
            value={place}
            data={asData(words.place)}
            onChange={(next) => set({ place: next })}
          />
        )}
      </fieldset>
      <fieldset className="foreign-part">
        <legend>How it is written</legend>
        <Choice
          label="Delimiter"
          value={mapping.delimiter}
          data={asData(words.delimiter)}
          onChange={(delimiter) => set({ delimiter })}
        />
        <Choice
          label="Encoding"
          value={mapping.encoding}
          data={asData(words.encoding)}
          onChange={(encoding) => set({ encoding })}
        />
        <TextInput
          label="Lines before the header"
          inputMode="numeric"
          value={String(mapping.skipLines)}
          onChange={(event) =>
            set({ skipLines: Math.min(100, Number(event.currentTarget.value.replaceAll(/\D/g, ''))) })
          }
        />
        <Choice
          label="Dates"
          value={mapping.dateOrder}
          data={dateOrders}
          onChange={(dateOrder) => set({ dateOrder })}
        />
        <Choice label="Time zone" value={zone} data={zones} onChange={(next) => set({ zone: next })} />
        <Choice
          label="Decimal sign"
          value={mapping.decimal}
          data={decimalSigns.map((sign) => ({ value: sign, label: words.decimal[sign] }))}
          onChange={(decimal) => set({ decimal })}
        />
        <Choice
          label="Thousands"
          value={mapping.thousands}
          data={thousandsSigns.map((sign) => ({ value: sign, label: words.thousands[sign] }))}
          onChange={(thousands) => set({ thousands })}
        />
        {kind === 'tickets' && (
          <Choice
            label="Weights in"
            value={mapping.weight}
            data={foreignUnits.weight}
            onChange={(weight) => set({ weight })}
          />
        )}
        {kind === 'readings' && (
          <>
            <Choice
              label="Pressures in"
              value={mapping.pressure}
              data={foreignUnits.pressure}
              onChange={(pressure) => set({ pressure })}
            />
            <Choice
              label="Elevations in"
              value={mapping.elevation}
              data={foreignUnits.elevation}
              onChange={(elevation) => set({ elevation })}
            />
            <Choice
              label="Temperatures in"
              value={mapping.temperature}
              data={foreignUnits.temperature}
              onChange={(temperature) => set({ temperature })}
            />
          </>
        )}
      </fieldset>
      <fieldset className="foreign-part">
        <legend>Columns</legend>
        {rowFields(mapping).map(({ field, label, need, hint }) => (
          <SourceField
            key={field}
            label={label}
            hint={hint}
            needed={need === 'always'}
            columnOnly={field === 'value'}
            columns={columns}
            value={mapping.fields[field]}
            onChange={(source) => onChange(withField(mapping, field, source))}
          />
        ))}
      </fieldset>
      {layout === 'wide' && <ValueColumns mapping={mapping} columns={columns} onChange={(values) => set({ values })} />}
    </form>
  )
}
