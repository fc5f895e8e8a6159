import { Autocomplete, NativeSelect } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { useQuery } from '@tanstack/react-query'
import type { CircuitRecord } from '#core/contracts/fleet.ts'
import { fieldsOf } from '#core/words/record-fields.ts'
import { pressureReferences } from '#core/words/vocabulary.ts'
import { api, client } from '#renderer/client/api.ts'
import { Cautions } from '#renderer/parts/cautions.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { type FormExtra, RecordForm } from '#renderer/parts/record-form.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { CellField, IntervalField, referenceOf, sensorOf } from './sensor-fields.tsx'
import { saveRecord } from './unit-forms.tsx'

/** The gauge and the sensor read at one moment differ by more than two good instruments do. */
const farApartPsi = 3

function GaugeNote({ values }: FormExtra) {
  const { pressure } = useMeasures()
  const [gauge, sensor] = [values['gauge_psi'], values['gauge_sensor_psi']]
  if (typeof gauge !== 'number' || typeof sensor !== 'number' || Math.abs(gauge - sensor) <= farApartPsi) return null
  return (
    <p className="form-note" role="status">
      <Phrase
        text="<strong>Cross-check:</strong> gauge and sensor lie {apart} apart. Look for a leak or a wrong unit before trusting either; an absolute sensor shows the open air on top."
        with={{ strong: (words) => <strong>{words}</strong>, apart: pressure.text(Math.abs(gauge - sensor)) }}
      />
    </p>
  )
}

/** The sensor of a serial as the record knows it, once typing rests. */
function useSensor(serial: string) {
  const [asked] = useDebouncedValue(serial.trim(), 250)
  const found = useQuery(api.fleet.sensors.queryOptions({ input: { text: asked, limit: 20 }, enabled: asked !== '' }))
  const settled = asked === serial.trim() && found.data !== undefined
  return {
    settled,
    sensor: found.data?.rows.find(({ values }) => values['serial'] === asked),
    others: found.data?.rows ?? [],
  }
}

function SerialField({
  extra,
  circuit,
  place,
  lines,
}: {
  extra: FormExtra
  circuit: CircuitRecord
  place: string
  lines: number
}) {
  const serial = (extra.texts['serial'] ?? '').trim()
  const { settled, sensor, others } = useSensor(serial)
  const here = circuit.mounts.find(({ values }) => values['removed_at'] === null)
  const moves = [
    sensor?.seat && sensor.seat.circuitId !== circuit.id
      ? phrase('takes {serial} off {unit} {group} {circuit}', {
          serial,
          unit: sensor.seat.unit,
          group: sensor.seat.group,
          circuit: sensor.seat.circuit,
        })
      : '',
    here && here.serial !== serial ? phrase('takes {serial} off {place}', { serial: here.serial, place }) : '',
  ].filter(Boolean)
  const swapped = circuit.mounts.length > 0 || lines > 0 || (sensor?.seat ?? null) !== null
  return (
    <>
      <div className="form-fields">
        <Autocomplete
          label={phrase('Sensor’s serial')}
          required
          withAsterisk
          data-autofocus
          spellCheck={false}
          comboboxProps={{ withinPortal: false }}
          data={others.map(({ values }) => String(values['serial']))}
          {...extra.field('serial')}
          onChange={(text) => extra.setText('serial', text)}
        />
        {settled && serial !== '' && !sensor && (
          <NativeSelect
            label={phrase('Not in the record yet: it is added and shows')}
            data={pressureReferences.map((reference) => ({
              value: reference,
              label: phrase('{reference} pressure', { reference: word(reference) }),
            }))}
            {...extra.field('$reference')}
          />
        )}
        {(!sensor || sensor.values['cell'] === null) && <CellField {...extra.field('$cell')} />}
        {(!sensor || sensor.values['report_every_s'] === null) && <IntervalField {...extra.field('$report_every_s')} />}
      </div>
      {serial !== '' && settled && (moves.length > 0 || swapped) && (
        <p className="form-note" role="status">
          {moves.length > 0 && <>{phrase('Saving {moves}.', { moves: moves.join(phrase(' and ')) })} </>}
          {swapped && (
            <Phrase
              text="<strong>Sensor swapped</strong> is recorded{seat}{lines}."
              with={{
                strong: (words) => <strong>{words}</strong>,
                seat: sensor?.seat && phrase(' on both circuits'),
                lines:
                  lines > 0 &&
                  phrase(', and the line of {place} no longer holds until it is calibrated again', { place }),
              }}
            />
          )}
        </p>
      )}
    </>
  )
}

/** When the sensor was put on, or since when it is known to have been there. */
function SinceNote({ extra, circuit }: { extra: FormExtra; circuit: CircuitRecord }) {
  const { times } = extra
  if (circuit.firstReadAt === null) return null
  const offered = times.typed(circuit.firstReadAt)
  if (extra.texts['mounted_at'] === offered)
    return (
      <p className="form-note" role="status">
        {phrase(
          'Its first pressure on record was read {firstReadAt}, so the sensor has been there since then at least. If it went on later, say when.',
          { firstReadAt: times.moment(circuit.firstReadAt) },
        )}
      </p>
    )
  return (
    <p className="form-note" role="status">
      <Phrase
        text="A pressure of this circuit was read {firstReadAt} already. <button>On it since then</button>"
        with={{
          firstReadAt: times.moment(circuit.firstReadAt),
          button: (words) => <LinkButton onClick={() => extra.setText('mounted_at', offered)}>{words}</LinkButton>,
        }}
      />
    </p>
  )
}

interface MountFormProps {
  readonly circuit: CircuitRecord
  readonly place: string
  readonly lines: number
  readonly onDone: () => void
  readonly onCancel: () => void
}

/** Puts a sensor on a circuit, with its installation record. */
export function MountForm({ circuit, place, lines, onDone, onCancel }: MountFormProps) {
  const measures = useMeasures()
  return (
    <RecordForm
      fields={fieldsOf('mount')}
      draftName={`mount new ${circuit.id}`}
      start={{ mounted_at: circuit.firstReadAt ?? new Date().toISOString() }}
      isNew
      without={['removed_at']}
      startTexts={{ serial: '', $reference: 'gauge', $cell: '', $report_every_s: '' }}
      saveLabel={phrase('Mount sensor')}
      check={({ texts }) => ({
        ...((texts['serial'] ?? '').trim() === ''
          ? { serial: phrase('The serial is empty; it stands on the sensor’s housing.') }
          : {}),
        ...sensorOf(texts, measures).problems,
      })}
      before={(extra) => (
        <>
          <Cautions />
          <SerialField extra={extra} circuit={circuit} place={place} lines={lines} />
        </>
      )}
      after={(extra) => (
        <>
          <SinceNote extra={extra} circuit={circuit} />
          <GaugeNote {...extra} />
        </>
      )}
      onSave={({ values, texts, by, times }) =>
        client.fleet.mount({
          serial: (texts['serial'] ?? '').trim(),
          circuitId: circuit.id,
          values,
          localZone: times.zone,
          newReference: referenceOf(texts),
          sensor: sensorOf(texts, measures).values,
          by,
        })
      }
      onDone={onDone}
      onCancel={onCancel}
    />
  )
}

/** The installation record of a sensor that sits there, or its removal. */
export function InstallationForm({
  mount,
  since,
  onDone,
  onCancel,
}: {
  mount: CircuitRecord['mounts'][number]
  /** Since when a finding offers that it has been there (stored instant). */
  since?: string | undefined
  onDone: () => void
  onCancel: () => void
}) {
  const { times } = useMeasures()
  const offered = since === undefined || Number.isNaN(Date.parse(since)) ? {} : { mounted_at: times.typed(since) }
  return (
    <RecordForm
      fields={fieldsOf('mount')}
      draftName={`mount ${mount.id}${since === undefined ? '' : ` since ${since}`}`}
      start={mount.values}
      offered={offered}
      isNew={false}
      saveLabel={phrase('Save')}
      after={(extra) => (
        <>
          {since !== undefined && extra.texts['mounted_at'] === offered.mounted_at && (
            <p className="form-note" role="status">
              {phrase(
                'Mounted {mountedAt} by the record; its circuit was first read {since}. Saving puts the mounting at that reading.',
                { mountedAt: times.moment(String(mount.values['mounted_at'])), since: times.moment(since) },
              )}
            </p>
          )}
          <GaugeNote {...extra} />
          <Cautions />
        </>
      )}
      onSave={(record) => saveRecord('mount', mount.id, record)}
      onDone={onDone}
      onCancel={onCancel}
    />
  )
}
