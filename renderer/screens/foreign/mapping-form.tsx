/*
 * Not on the kit of forms: nothing is sent from here. What it sets is a mapping, columns added and left out among it,
 * and the file is read anew with every change. Under which name it is kept is asked on the kit, in saved-mappings.tsx.
 */
import { word } from '#core/words/listed-words.ts'
import { Button, NativeSelect, TextInput } from '@mantine/core'
import { useMemo } from 'react'
import {
  type ForeignMapping,
  type ForeignSource,
  type ValueColumn,
  dateOrders,
  decimalSigns,
  foreignUnits,
  otherSign,
  rowFields,
  valueFields,
} from '#core/foreign/mapping/mapping.ts'
import { phrase } from '#core/words/phrase.ts'
import { withField } from './mapping-draft.ts'

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
function SourceField({ label, hint, needed, columnOnly = false, columns, value, onChange }: SourceFieldProps) {
  const chosen = value === undefined ? '' : 'column' in value ? prefix + value.column : 'fixed'
  // A column of the mapping that this file lacks stays to be seen.
  const lost =
    value !== undefined && 'column' in value && !columns.includes(value.column)
      ? [{ value: prefix + value.column, label: phrase('{column} (not in this file)', { column: value.column }) }]
      : []
  const data = [
    { value: '', label: needed ? phrase('choose…') : phrase('not in the file') },
    ...columns.map((column) => ({ value: prefix + column, label: column })),
    ...lost,
    ...(columnOnly ? [] : [{ value: 'fixed', label: phrase('one value for all rows') }]),
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
          aria-label={phrase('{label}, for all rows', { label })}
          placeholder={phrase('for all rows')}
          maxLength={200}
          value={value.fixed}
          onChange={(event) => onChange({ fixed: event.currentTarget.value })}
        />
      )}
    </div>
  )
}

interface ValueColumnsProps {
  readonly mapping: ForeignMapping
  readonly columns: readonly string[]
  readonly onChange: (values: ForeignMapping['values']) => void
}

const mostColumns = 40

/** Of a wide file: each column of weights or pressures, and whose they are. */
function ValueColumns({ mapping, columns, onChange }: ValueColumnsProps) {
  const { values, kind } = mapping
  const what = kind === 'tickets' ? phrase('Weight') : phrase('Pressure')
  const set = (at: number, value: ValueColumn) => onChange(values.with(at, value))
  return (
    <fieldset className="foreign-part">
      <legend>{phrase('{what} columns', { what })}</legend>
      {values.map((value, at) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a column has no other name than its place while it is chosen
        <fieldset key={at} className="foreign-value">
          <legend className="unheard">{phrase('{what} column {at}', { what, at: at + 1 })}</legend>
          <NativeSelect
            label={`${what} ${at + 1}`}
            value={value.column}
            onChange={(event) => set(at, { ...value, column: event.currentTarget.value })}
            data={[
              ...columns,
              ...(columns.includes(value.column)
                ? []
                : [{ value: value.column, label: phrase('{column} (not in this file)', { column: value.column }) }]),
            ]}
          />
          {valueFields(mapping).map(({ field, label }) => {
            const name = field as 'unit' | 'group' | 'circuit' | 'serial'
            return (
              <SourceField
                key={field}
                label={phrase('{label} of {what} {at}', { label, what: what.toLowerCase(), at: at + 1 })}
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
          <Button className="foreign-drop-value" onClick={() => onChange(values.toSpliced(at, 1))}>
            {phrase('Leave out {what} {at}', { what: what.toLowerCase(), at: at + 1 })}
          </Button>
        </fieldset>
      ))}
      <Button
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
        {phrase('Add a {what} column', { what: what.toLowerCase() })}
      </Button>
    </fieldset>
  )
}

interface MappingFormProps {
  readonly mapping: ForeignMapping
  readonly columns: readonly string[]
  readonly onChange: (mapping: ForeignMapping) => void
}

const words = {
  kind: { tickets: phrase('scale tickets'), readings: phrase('pressure readings') },
  delimiter: { comma: phrase('comma ,'), semicolon: phrase('semicolon ;'), tab: phrase('tab'), bar: phrase('bar |') },
  encoding: { 'utf-8': 'UTF-8', 'utf-16': 'UTF-16', 'windows-1252': phrase('Windows-1252 (Western)') },
  decimal: { point: phrase('point: 12.5'), comma: phrase('comma: 12,5') },
  thousands: {
    none: phrase('none: 12340'),
    comma: phrase('comma: 12,340'),
    point: phrase('point: 12.340'),
    space: phrase('space: 12 340'),
    apostrophe: phrase('apostrophe: 12’340'),
  },
  place: { circuit: phrase('unit, group and circuit'), serial: phrase('the sensor’s serial') },
} as const

const asData = (names: Readonly<Record<string, string>>) =>
  Object.entries(names).map(([value, label]) => ({ value, label }))

type Choice =
  | 'kind'
  | 'layout'
  | 'place'
  | 'delimiter'
  | 'encoding'
  | 'dateOrder'
  | 'zone'
  | 'thousands'
  | 'weight'
  | 'pressure'
  | 'elevation'
  | 'temperature'

/** Everything that a mapping says about a file, each part set on its own. */
export function MappingForm({ mapping, columns, onChange }: MappingFormProps) {
  const set = (part: Partial<ForeignMapping>) => onChange({ ...mapping, ...part })
  const { kind, layout, zone } = mapping
  const zones = useMemo(() => [...new Set([zone, 'UTC', ...Intl.supportedValuesOf('timeZone')])], [zone])
  const value = kind === 'tickets' ? 'weight' : 'pressure'
  // The element hands back one of the values that it was given.
  const choice = (
    part: Choice,
    label: string,
    data: readonly (string | { readonly value: string; readonly label: string })[],
  ) => (
    <NativeSelect
      label={label}
      value={mapping[part]}
      data={[...data]}
      onChange={(event) => set({ [part]: event.currentTarget.value })}
    />
  )
  return (
    <form className="stack" aria-label={phrase('Mapping')} onSubmit={(event) => event.preventDefault()}>
      <fieldset className="foreign-part">
        <legend>{phrase('What it holds')}</legend>
        {choice('kind', phrase('Rows are'), asData(words.kind))}
        {choice(
          'layout',
          phrase('A row for each'),
          asData({
            long: value,
            wide:
              kind === 'tickets'
                ? phrase('ticket, its weights side by side')
                : phrase('reading, its pressures side by side'),
          }),
        )}
        {kind === 'readings' && choice('place', phrase('Place told by'), asData(words.place))}
      </fieldset>
      <fieldset className="foreign-part">
        <legend>{phrase('How it is written')}</legend>
        {choice('delimiter', phrase('Delimiter'), asData(words.delimiter))}
        {choice('encoding', phrase('Encoding'), asData(words.encoding))}
        <TextInput
          label={phrase('Lines before the header')}
          inputMode="numeric"
          value={String(mapping.skipLines)}
          onChange={(event) =>
            set({ skipLines: Math.min(100, Number(event.currentTarget.value.replaceAll(/\D/g, ''))) })
          }
        />
        {choice(
          'dateOrder',
          phrase('Dates'),
          dateOrders.map((order) => ({ value: order, label: word(order) })),
        )}
        {choice('zone', phrase('Time zone'), zones)}
        <NativeSelect
          label={phrase('Decimal sign')}
          value={mapping.decimal ?? ''}
          data={[
            ...(mapping.decimal === null ? [{ value: '', label: phrase('choose…') }] : []),
            ...asData(words.decimal),
          ]}
          onChange={({ currentTarget }) => {
            const decimal = decimalSigns.find((sign) => sign === currentTarget.value)
            // Where the one sign was open, so was the other.
            if (decimal) set({ decimal, ...(mapping.decimal === null ? { thousands: otherSign(decimal) } : {}) })
          }}
        />
        {choice('thousands', phrase('Thousands'), asData(words.thousands))}
        {kind === 'tickets' && choice('weight', phrase('Weights in'), foreignUnits.weight)}
        {kind === 'readings' && (
          <>
            {choice('pressure', phrase('Pressures in'), foreignUnits.pressure)}
            {choice('elevation', phrase('Elevations in'), foreignUnits.elevation)}
            {choice('temperature', phrase('Temperatures in'), foreignUnits.temperature)}
          </>
        )}
      </fieldset>
      <fieldset className="foreign-part">
        <legend>{phrase('Columns')}</legend>
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
