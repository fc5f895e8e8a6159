import { TextInput } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { type KeyboardEvent, useEffect, useRef } from 'react'
import type { BareCircuit } from '#core/contracts/fleet.ts'
import { rowField } from '#core/words/record-fields.ts'
import { api, client } from '#renderer/client/api.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { useDraft } from '#renderer/parts/draft.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { type Problems, SaveForm, type Texts, useSaveForm } from '#renderer/parts/save-form.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { TimeField } from '#renderer/parts/time-field.tsx'
import { phrase } from '#core/words/phrase.ts'
import { CellField, IntervalField, ReferenceField, referenceOf, sensorOf, sensorTexts } from './sensor-fields.tsx'

const serialText = ({ circuitId }: BareCircuit): string => `$serial ${circuitId}`
const placeOf = ({ unit, group, circuit }: BareCircuit): string => `${unit} ${group} ${circuit}`

/** Enter goes on to the next serial, as down a paper list; from the last one it saves. */
function toNext(event: KeyboardEvent<HTMLInputElement>): void {
  if (event.key !== 'Enter' || event.nativeEvent.isComposing) return
  const serials = [...(event.currentTarget.form?.querySelectorAll<HTMLInputElement>('.sensor-serial input') ?? [])]
  const next = serials[serials.indexOf(event.currentTarget) + 1]
  if (!next) return
  event.preventDefault()
  next.focus()
}

interface TableProps {
  readonly circuits: readonly BareCircuit[]
  readonly draftName: string
  readonly onDone: (said: string) => void
  readonly onCancel: () => void
}

function Table({ circuits, draftName, onDone, onCancel }: TableProps) {
  const measures = useMeasures()
  const { times } = measures
  const start: Texts = {
    ...sensorTexts,
    $mounted_at: `${times.today()}T00:00`,
    ...Object.fromEntries(circuits.map((circuit) => [serialText(circuit), ''])),
  }
  const draft = useDraft<Texts>(draftName, start)
  const filled = (texts: Texts) => circuits.filter((circuit) => (texts[serialText(circuit)] ?? '').trim() !== '')
  const form = useSaveForm<Texts, unknown>({
    start,
    draft: { ...draft, value: { ...start, ...draft.value } },
    at: (field) => {
      const row = filled(draft.value).findIndex((_, place) => field.startsWith(`${rowField(place, '')}`))
      const circuit = filled(draft.value)[row]
      return circuit ? serialText(circuit) : field
    },
    check: (texts): Problems => {
      const since = times.read(texts['$mounted_at'] ?? '')
      const [first] = circuits
      return {
        ...sensorOf(texts, measures).problems,
        ...(since.ok ? {} : { $mounted_at: since.message }),
        ...(filled(texts).length === 0 && first ? { [serialText(first)]: phrase('Type at least one serial.') } : {}),
      }
    },
    save: (texts, by) => {
      const since = times.read(texts['$mounted_at'] ?? '')
      const from = since.ok ? since.value : ''
      return client.fleet.mountMany({
        mounts: filled(texts).map((circuit) => ({
          circuitId: circuit.circuitId,
          serial: (texts[serialText(circuit)] ?? '').trim(),
          mountedAt: circuit.firstReadAt !== null && circuit.firstReadAt < from ? circuit.firstReadAt : from,
        })),
        localZone: times.zone,
        newReference: referenceOf(texts),
        sensor: sensorOf(texts, measures).values,
        by,
      })
    },
    onSaved: (_, texts) => {
      draft.clear()
      onDone(phrase('Mounted {texts, plural, one {# sensor} other {# sensors}}.', { texts: filled(texts).length }))
    },
  })
  const typed = filled(form.values).length
  const table = useRef<HTMLDivElement>(null)
  // The rows come after the dialog has given the focus away.
  useEffect(() => table.current?.querySelector<HTMLInputElement>('.sensor-serial input')?.focus(), [])
  return (
    <SaveForm
      form={form}
      saveLabel={
        typed === 0
          ? phrase('Mount the sensors')
          : phrase('Mount {typed, plural, one {# sensor} other {# sensors}}', { typed })
      }
      onCancel={onCancel}
    >
      <div className="form-fields form-four">
        <CellField {...form.field('$cell')} />
        <IntervalField {...form.field('$report_every_s')} />
        <TimeField
          label={phrase('On since')}
          description={phrase('Before the first ticket that their readings go with')}
          {...form.field('$mounted_at')}
        />
        <ReferenceField {...form.field('$reference')} />
      </div>
      <div ref={table}>
        <SheetTable
          caption={phrase('Circuits without a sensor')}
          rows={circuits}
          keyOf={({ circuitId }) => circuitId}
          columns={[
            [phrase('Circuit'), placeOf, 'nowrap'],
            [
              phrase('Serial'),
              (circuit) => (
                <TextInput
                  className="sensor-serial"
                  aria-label={phrase('Serial on {circuit}', { circuit: placeOf(circuit) })}
                  autoComplete="off"
                  spellCheck={false}
                  {...form.field(serialText(circuit))}
                  onKeyDown={toNext}
                />
              ),
            ],
            circuits.some(({ firstReadAt }) => firstReadAt !== null) && [
              phrase('Read since'),
              ({ firstReadAt }: BareCircuit) => firstReadAt !== null && times.moment(firstReadAt),
              'nowrap',
            ],
          ]}
        />
      </div>
      <p className="quiet">
        {phrase(
          'A circuit whose serial stays empty stays without a sensor. One that was read before gets its sensor from its first reading on.',
        )}
      </p>
    </SaveForm>
  )
}

/** Sensors for many circuits in one table: those of some units, or every circuit of the fleet that has none. */
export function SensorTable({
  units,
  onDone,
  onCancel,
}: Pick<TableProps, 'onDone' | 'onCancel'> & { units: readonly string[] | null }) {
  const bare = useQuery(
    api.fleet.bareCircuits.queryOptions({ input: units === null ? {} : { units: [...units] }, staleTime: 'static' }),
  )
  return (
    <Answer
      to={bare}
      waiting={phrase('Looking for circuits without a sensor…')}
      failed={phrase('The circuits could not be read')}
    >
      {(circuits) =>
        circuits.length === 0 ? (
          <p>{phrase('Every circuit has its sensor.')}</p>
        ) : (
          <Table
            circuits={circuits}
            draftName={`mount many ${units?.join(' ').slice(0, 200) ?? 'fleet'}`}
            onDone={onDone}
            onCancel={onCancel}
          />
        )
      }
    </Answer>
  )
}
