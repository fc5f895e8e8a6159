import { Button, NativeSelect, TextInput } from '@mantine/core'
import { useState } from 'react'
import type { StoredValues } from '#core/words/change.ts'
import { tidyName } from '#core/words/names.ts'
import { fieldsOf, rowField } from '#core/words/record-fields.ts'
import { tidyVin } from '#core/words/vin.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'
import { client } from '#renderer/client/api.ts'
import { useDraft } from '#renderer/parts/draft.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { RecordInput } from '#renderer/parts/record-form.tsx'
import { readFields } from '#renderer/parts/record-text.ts'
import { type Problems, SaveForm, type Texts, useSaveForm } from '#renderer/parts/save-form.tsx'
import { TimeField } from '#renderer/parts/time-field.tsx'
import {
  type TypedGroup,
  circuitLayouts,
  groupCount,
  groupFields,
  groupText,
  layoutWords,
  mostGroups,
  oneMoreGroup,
  readGroups,
  serialText,
  usualTexts,
} from './new-unit-groups.ts'
import { phrase } from '#core/words/phrase.ts'
import { CellField, IntervalField, ReferenceField, referenceOf, sensorOf, sensorTexts } from './sensor-fields.tsx'
import { VinNote } from './vin-note.tsx'

const fields = fieldsOf('unit')
/** Asked at once; the rest stands folded below, since a first weight needs none of it. */
const asked = ['number', 'kind', 'yard_id', 'gross_limit_lb']
const folded = Object.keys(fields).filter((column) => !asked.includes(column))

type Form = ReturnType<typeof useSaveForm<Texts, unknown>>

/** Number, role, axles and circuits of each group, for a unit that is not like most of its kind. */
function GroupTable({ form, onAdd, onRemove }: { form: Form; onAdd: () => void; onRemove: () => void }) {
  const measures = useMeasures()
  const count = groupCount(form.values)
  return (
    <div className="group-table">
      {Array.from({ length: count }, (_, place) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: groups are known by their place, front to back
        <fieldset key={place} className="group-row">
          <legend>{phrase('Group {place}', { place: place + 1 })}</legend>
          {Object.entries(groupFields).map(([column, field]) => (
            <RecordInput
              key={column}
              field={field}
              input={form.field(groupText(place, column))}
              focus={false}
              measures={measures}
              isPlain
            />
          ))}
          <NativeSelect
            label={phrase('Air circuits')}
            data={circuitLayouts.map((layout) => ({ value: layout, label: layoutWords[layout] ?? layout }))}
            {...form.field(groupText(place, 'circuits'))}
          />
        </fieldset>
      ))}
      <div className="flow">
        <Button disabled={count >= mostGroups} onClick={onAdd}>
          {phrase('Add a group behind')}
        </Button>
        <Button disabled={count === 0} onClick={onRemove}>
          {phrase('Remove the last group')}
        </Button>
      </div>
    </div>
  )
}

const groupWords = ({ name, values, circuits }: TypedGroup): string =>
  `${name || phrase('a group')}, ${values['axles'] === 1 ? phrase('1 axle') : phrase('{values} axles', { values: values['axles'] ?? phrase('unknown') })}` +
  (circuits.length === 0 ? phrase(', no circuit') : '')

/** A serial a circuit, with what is known of all these sensors. */
function Sensors({ form, groups }: { form: Form; groups: readonly TypedGroup[] }) {
  const rows = groups.flatMap(({ place, name, circuits }) =>
    circuits.map((circuit) => ({
      key: serialText(place, circuit.name),
      label:
        circuits.length > 1
          ? phrase('Sensor on {name} {name2}', { name, name2: circuit.name })
          : phrase('Sensor on {name}', { name }),
    })),
  )
  if (rows.length === 0)
    return <p className="quiet">{phrase('No group has an air circuit, so there is no sensor to put on.')}</p>
  return (
    <>
      <div className="form-fields">
        {rows.map(({ key, label }) => (
          <TextInput
            key={key}
            label={label}
            placeholder={phrase('Serial on its housing')}
            autoComplete="off"
            spellCheck={false}
            {...form.field(key)}
          />
        ))}
      </div>
      <div className="form-fields form-four">
        <CellField {...form.field('$cell')} />
        <IntervalField {...form.field('$report_every_s')} />
        <TimeField
          label={phrase('On it since')}
          description={phrase('Before the first ticket that its readings go with')}
          {...form.field('$mounted_at')}
        />
        <ReferenceField {...form.field('$reference')} />
      </div>
    </>
  )
}

/** Where the core speaks of a sensor by its place among all, the form does by its circuit. */
function fieldOfRow(groups: readonly TypedGroup[]): (field: string) => string {
  const names = groups.flatMap(({ place, circuits }) =>
    circuits.filter(({ serial }) => serial !== '').map((circuit) => serialText(place, circuit.name)),
  )
  return (field) => names.find((_, row) => rowField(row, 'serial') === field) ?? field
}

interface NewUnitFormProps {
  readonly kind: UnitKind
  readonly yards: readonly { readonly id: number; readonly name: string }[]
  /** What the sensors of the last unit were like, which the next ones mostly are too. */
  readonly like: Texts
  readonly onSaved: (number: string, like: Texts) => void
  readonly onCancel: () => void
  readonly cancelLabel?: string | undefined
}

/** A new unit whole: its facts, axle groups, circuits, sensors and their cells, saved as one. */
export function NewUnitForm({ kind, yards, like, onSaved, onCancel, cancelLabel }: NewUnitFormProps) {
  const measures = useMeasures()
  const { times } = measures
  const [changing, setChanging] = useState(false)
  const [onlyYard] = yards.length === 1 ? yards : []
  const start: Texts = {
    ...Object.fromEntries(Object.keys(fields).map((column) => [column, ''])),
    kind,
    yard_id: onlyYard ? String(onlyYard.id) : '',
    ...usualTexts(kind),
    ...sensorTexts,
    ...like,
    $mounted_at: `${times.today()}T00:00`,
  }
  const draft = useDraft<Texts>(`unit new ${kind}`, start)
  const since = (texts: Texts) => times.read(texts['$mounted_at'] ?? '')
  const form = useSaveForm<Texts, unknown>({
    start,
    draft,
    at: (field) => fieldOfRow(readGroups(draft.value, measures))(field),
    check: (texts): Problems => {
      const at = since(texts)
      return {
        ...readFields(fields, texts, {}, measures).problems,
        ...Object.assign({}, ...readGroups(texts, measures).map(({ problems }) => problems)),
        ...sensorOf(texts, measures).problems,
        ...(at.ok ? {} : { $mounted_at: at.message }),
      }
    },
    save: async (texts, by) => {
      const values: Record<string, StoredValues[string]> = readFields(fields, texts, {}, measures).values
      const at = since(texts)
      const vin = values['vin']
      await client.fleet.addUnit({
        values: { ...values, ...(typeof vin === 'string' ? { vin: tidyVin(vin) } : {}) },
        groups: readGroups(texts, measures).map(({ values: own, circuits }) => ({
          values: own,
          circuits: circuits.map(({ name, serial }) => ({ values: { name }, serial: serial === '' ? null : serial })),
        })),
        mountedAt: at.ok ? at.value : '',
        newReference: referenceOf(texts),
        sensor: sensorOf(texts, measures).values,
        localZone: times.zone,
        by,
      })
    },
    onSaved: (_, texts) => {
      draft.clear()
      const kept = Object.keys(sensorTexts).map((name) => [name, texts[name] ?? ''] as const)
      onSaved(tidyName(texts['number'] ?? ''), Object.fromEntries(kept))
    },
  })
  const { values: texts } = form
  const groups = readGroups(texts, measures)
  const input = (column: string) => {
    const field = fields[column]
    return (
      field && (
        <RecordInput
          key={column}
          field={field}
          input={form.field(column)}
          focus={column === 'number'}
          yards={yards}
          measures={measures}
        />
      )
    )
  }
  const takeKind = (now: string) => form.typeAll({ kind: now, ...usualTexts(now) })
  return (
    <SaveForm form={form} saveLabel={phrase('Add unit')} onCancel={onCancel} cancelLabel={cancelLabel}>
      <div className="form-fields">
        {input('number')}
        {fields['kind'] && (
          <RecordInput
            field={fields['kind']}
            input={{ ...form.field('kind'), onChange: ({ currentTarget }) => takeKind(currentTarget.value) }}
            focus={false}
            measures={measures}
          />
        )}
        {yards.length > 0 && input('yard_id')}
        {input('gross_limit_lb')}
      </div>
      <section className="new-unit-part" aria-label={phrase('Axle groups and sensors')}>
        <p>
          <strong>{phrase('Axle groups, front to back:')}</strong> {groups.map(groupWords).join('; ') || phrase('none')}
          . {!changing && <Button onClick={() => setChanging(true)}>{phrase('Change the groups')}</Button>}
        </p>
        {changing && (
          <GroupTable
            form={form}
            onAdd={() => form.typeAll(oneMoreGroup(texts))}
            onRemove={() => form.typeAll({ $groups: String(groups.length - 1) })}
          />
        )}
        <Sensors form={form} groups={groups} />
      </section>
      <details className="new-unit-more">
        <summary>{phrase('VIN, plate, make and model')}</summary>
        <div className="form-fields">{folded.map(input)}</div>
        <VinNote texts={texts} setText={form.type} times={times} />
      </details>
    </SaveForm>
  )
}
