import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { CircuitRecord, GroupRecord, MountRecord, UnitRecord } from '#core/contracts/fleet.ts'
import type { StoredValue, StoredValues } from '#core/words/change.ts'
import { type RecordField, type TypedSubject, fieldsOf } from '#core/words/record-fields.ts'
import { api, client } from '#renderer/client/api.ts'
import { changeParams, go, hrefOf, lastRosterHref, useAddress } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { RecordForm } from '#renderer/parts/record-form.tsx'
import { shownText, fieldUnit } from '#renderer/parts/record-text.ts'
import { useMay, useMaySave } from '#renderer/parts/rights.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { word, wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { grouped } from '#core/words/numbers.ts'
import './fleet-screen.css'
import { InstallationForm, MountForm } from './mount-form.tsx'
import { SensorTable } from './sensor-table.tsx'
import { CopyForm, RetireForm, UnitForm, saveRecord } from './unit-forms.tsx'
import { EventForm, WorkNote, workAnswer, workProblems, workTexts } from './work-forms.tsx'

/** What is known of a record, in the order of its form; what is unknown is left out. */
function RecordFacts({
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
  const textOf = (field: RecordField, value: NonNullable<StoredValue>): string => {
    if (field.type === 'yard') return yards.find(({ id }) => id === value)?.name ?? ''
    if (field.type === 'moment') return measures.times.moment(String(value))
    const text = shownText(field, value, measures)
    return field.type === 'number' ? `${grouped(text)}\u00a0${fieldUnit(field, measures)}` : text
  }
  return (
    <Facts
      className="record-facts"
      facts={Object.entries(fieldsOf(subject)).map(([column, field]) => {
        const value = values[column] ?? null
        return value !== null && !without.includes(column) && ([field.label, textOf(field, value)] as const)
      })}
    />
  )
}

const nameOf = ({ values }: { values: GroupRecord['values'] }) => String(values['name'])

/** The form that stands open, with what it is about. */
type Open =
  | { readonly form: 'unit' | 'copy' | 'retire' | 'event' | 'group' }
  | { readonly form: 'sensors'; readonly units: readonly string[] }
  | { readonly form: 'edit group'; readonly group: GroupRecord }
  | { readonly form: 'circuit'; readonly group: GroupRecord }
  | { readonly form: 'edit circuit' | 'mount'; readonly group: GroupRecord; readonly circuit: CircuitRecord }
  | {
      readonly form: 'installation'
      readonly mount: MountRecord
      readonly place: string
      /** Since when a finding offers that it has been there (stored instant). */
      readonly since?: string | undefined
    }

/** The installation that a finding's offer leads to: of a sensor, to be mounted since another time. */
function offeredOpen({ groups }: UnitRecord, params: URLSearchParams): Open | null {
  const [serial, since] = [params.get('mounting'), params.get('since') ?? undefined]
  for (const group of groups)
    for (const circuit of group.circuits) {
      const mount = circuit.mounts.find((each) => each.serial === serial && each.values['removed_at'] === null)
      if (mount) return { form: 'installation', mount, place: `${nameOf(group)} ${nameOf(circuit)}`, since }
    }
  return null
}

function Mounts({ circuit, place, onOpen }: { circuit: CircuitRecord; place: string; onOpen: (open: Open) => void }) {
  const { times } = useMeasures()
  if (circuit.mounts.length === 0) return <p className="sheet-none">{phrase('No sensor yet.')}</p>
  return (
    <ul className="bare record-mounts">
      {circuit.mounts.map((mount) => {
        const { mounted_at: from, removed_at: until } = mount.values
        return (
          <li key={mount.id} data-past={until !== null || undefined}>
            <strong>{mount.serial}</strong>{' '}
            <span className="quiet">
              {word(mount.reference)}, {times.day(String(from))}{' '}
              {until === null ? phrase('until now') : phrase('to {until}', { until: times.day(String(until)) })}
            </span>{' '}
            <LinkButton
              about={phrase('of {serial} on {place}', { serial: mount.serial, place })}
              onClick={() => onOpen({ form: 'installation', mount, place })}
            >
              {phrase('Installation')}
            </LinkButton>
            <RecordFacts subject="mount" values={mount.values} without={['mounted_at', 'removed_at']} />
          </li>
        )
      })}
    </ul>
  )
}

function Groups({ record, onOpen }: { record: UnitRecord; onOpen: (open: Open) => void }) {
  const maySave = useMaySave()
  return record.groups.map((group) => (
    <section key={group.id} className="record-group" aria-labelledby={`group-${group.id}`}>
      <div className="flow head">
        <h3 id={`group-${group.id}`}>{nameOf(group)}</h3>
        <span className="quiet">
          {group.lines === 0
            ? phrase('no calibration')
            : phrase('{lines, plural, one {# valid calibration} other {# valid calibrations}}', { lines: group.lines })}
        </span>
        {maySave('axle group') && (
          <LinkButton
            about={phrase('axle group {group}', { group: nameOf(group) })}
            onClick={() => onOpen({ form: 'edit group', group })}
          >
            {phrase('Edit')}
          </LinkButton>
        )}
        {maySave('circuit') && (
          <LinkButton
            about={phrase('to {group}', { group: nameOf(group) })}
            onClick={() => onOpen({ form: 'circuit', group })}
          >
            {phrase('Add circuit')}
          </LinkButton>
        )}
      </div>
      <RecordFacts subject="axle group" values={group.values} without={['name']} />
      {group.circuits.map((circuit) => {
        const place = `${nameOf(group)} ${nameOf(circuit)}`
        return (
          <div key={circuit.id} className="record-circuit">
            <div className="flow head">
              <h4>{phrase('Circuit {circuit}', { circuit: nameOf(circuit) })}</h4>
              {maySave('circuit') && (
                <LinkButton
                  about={phrase('circuit {place}', { place })}
                  onClick={() => onOpen({ form: 'edit circuit', group, circuit })}
                >
                  {phrase('Edit')}
                </LinkButton>
              )}
              {maySave('mount') && (
                <LinkButton
                  about={phrase('on {place}', { place })}
                  onClick={() => onOpen({ form: 'mount', group, circuit })}
                >
                  {phrase('Mount sensor')}
                </LinkButton>
              )}
            </div>
            <RecordFacts subject="circuit" values={circuit.values} without={['name']} />
            <Mounts circuit={circuit} place={place} onOpen={onOpen} />
          </div>
        )
      })}
    </section>
  ))
}

/** What stands over an open form. */
function titleOf(open: Open, unit: string): string {
  const group = 'group' in open ? ` ${nameOf(open.group)}` : ''
  const place = 'circuit' in open ? `${unit}${group} ${nameOf(open.circuit)}` : ''
  switch (open.form) {
    case 'unit':
      return phrase('Edit {unit}', { unit })
    case 'copy':
      return phrase('Copy {unit}', { unit })
    case 'sensors':
      return phrase('Sensors of {units}{units2}', {
        units: open.units[0],
        units2: open.units.length > 1 ? phrase(' to {units}', { units: open.units.at(-1) }) : '',
      })
    case 'retire':
      return unit
    case 'event':
      return phrase('Record work on {unit}', { unit })
    case 'group':
      return phrase('Add an axle group to {unit}', { unit })
    case 'edit group':
      return phrase('Edit {unit}{group}', { unit, group })
    case 'circuit':
      return phrase('Add a circuit to {unit}{group}', { unit, group })
    case 'edit circuit':
      return phrase('Edit circuit {place}', { place })
    case 'mount':
      return phrase('Mount a sensor on {place}', { place })
    case 'installation':
      return phrase('Installation of {serial} on {unit} {place}', {
        serial: open.mount.serial,
        unit,
        place: open.place,
      })
  }
}

interface EditPartProps {
  readonly subject: 'axle group' | 'circuit'
  readonly draftName: string
  readonly record: GroupRecord | CircuitRecord
  readonly place: string
  /** How many valid lines work on it would break. */
  readonly lines: number
  readonly onDone: () => void
  readonly onCancel: () => void
}

/** Changes what is recorded of a group or circuit; where that tells of work on the vehicle, it asks. */
function EditPart({ subject, draftName, record, place, lines, onDone, onCancel }: EditPartProps) {
  const { times } = useMeasures()
  return (
    <RecordForm
      fields={fieldsOf(subject)}
      draftName={draftName}
      start={record.values}
      isNew={false}
      startTexts={workTexts(times)}
      saveLabel={phrase('Save')}
      check={(typed) => workProblems(subject, typed)}
      after={(extra) => <WorkNote subject={subject} place={place} lines={lines} extra={extra} />}
      onSave={(saved) => saveRecord(subject, record.id, saved, workAnswer(subject, saved))}
      onDone={onDone}
      onCancel={onCancel}
    />
  )
}

function OpenForm({
  open,
  record,
  onDone,
  onCopied,
  onCancel,
}: {
  open: Open
  record: UnitRecord
  onDone: (said: string) => void
  onCopied: (said: string, units: readonly string[]) => void
  onCancel: () => void
}) {
  const { unit, yards } = record
  const number = String(unit.values['number'])
  const shared = { onCancel, onDone: () => onDone(phrase('Saved.')) }
  switch (open.form) {
    case 'unit':
      return (
        <UnitForm
          id={unit.id}
          start={unit.values}
          yards={yards}
          onCancel={onCancel}
          onSaved={(now) => {
            onDone(phrase('Saved.'))
            if (now !== number) go(hrefOf('record', now), { replace: true })
          }}
        />
      )
    case 'copy':
      return (
        <CopyForm
          unit={number}
          onCancel={onCancel}
          onDone={(added) => onCopied(phrase('Added {added}.', { added: added.join(', ') }), added)}
        />
      )
    case 'sensors':
      return <SensorTable units={open.units} onDone={onDone} onCancel={onCancel} />
    case 'retire':
      return (
        <RetireForm
          unit={number}
          retired={unit.retired}
          onCancel={onCancel}
          onDone={(retired) =>
            onDone(
              retired ? phrase('{number} is retired.', { number }) : phrase('{number} is back in service.', { number }),
            )
          }
        />
      )
    case 'event':
      return <EventForm record={record} {...shared} />
    case 'group':
      return (
        <RecordForm
          fields={fieldsOf('axle group')}
          draftName={`group new ${unit.id}`}
          start={{}}
          isNew
          saveLabel={phrase('Add axle group')}
          onSave={(saved) => saveRecord('axle group', null, saved, { parent: { unitId: unit.id } })}
          {...shared}
        />
      )
    case 'circuit':
      return (
        <RecordForm
          fields={fieldsOf('circuit')}
          draftName={`circuit new ${open.group.id}`}
          start={open.group.circuits.length === 0 ? { name: 'main' } : {}}
          isNew
          saveLabel={phrase('Add circuit')}
          after={() =>
            open.group.lines > 0 ? (
              <p className="form-note" role="status">
                {phrase(
                  'The line of {group} was taken without this circuit: a reading will need its pressure too, so calibrate again.',
                  { group: nameOf(open.group) },
                )}
              </p>
            ) : null
          }
          onSave={(saved) => saveRecord('circuit', null, saved, { parent: { groupId: open.group.id } })}
          {...shared}
        />
      )
    case 'edit group':
      return (
        <EditPart
          subject="axle group"
          draftName={`group ${open.group.id}`}
          record={open.group}
          place={`${number} ${nameOf(open.group)}`}
          lines={open.group.lines}
          {...shared}
        />
      )
    case 'edit circuit':
      return (
        <EditPart
          subject="circuit"
          draftName={`circuit ${open.circuit.id}`}
          record={open.circuit}
          place={`${number} ${nameOf(open.group)} ${nameOf(open.circuit)}`}
          lines={open.group.lines}
          {...shared}
        />
      )
    case 'mount':
      return (
        <MountForm
          circuit={open.circuit}
          place={`${number} ${nameOf(open.group)} ${nameOf(open.circuit)}`}
          lines={open.group.lines}
          {...shared}
        />
      )
    case 'installation':
      return <InstallationForm mount={open.mount} since={open.since} {...shared} />
  }
}

function BaySheetButton({ unit }: { unit: string }) {
  const make = useMutation({ mutationFn: () => client.fleet.baySheet({ unit }), onSuccess: saveFile })
  return (
    <>
      <Button loading={make.isPending} onClick={() => make.mutate()}>
        {phrase('Bay sheet, PDF')}
      </Button>
      {make.isError && <ProblemNotice title={phrase('The bay sheet was not made')} error={make.error} />}
    </>
  )
}

function Record({ record }: { record: UnitRecord }) {
  const may = useMay()
  const maySave = useMaySave()
  const { params } = useAddress()
  const [chosen, setOpen] = useState<Open | null>(null)
  const open = chosen ?? offeredOpen(record, params)
  const [said, setSaid] = useState('')
  const { unit, groups, yards } = record
  const number = String(unit.values['number'])
  const close = () => {
    setOpen(null)
    if (params.get('mounting') !== null) changeParams({ mounting: null, since: null }, { replace: true })
  }
  const show = (next: Open) => {
    setSaid('')
    setOpen(next)
  }
  return (
    <div className="page fleet">
      <div className="flow head">
        <ScreenTitle tab={phrase('{number} · Record', { number })}>
          {phrase('{number}, record', { number })}
        </ScreenTitle>
        <span>
          {wordOf(String(unit.values['kind']))}
          {unit.retired && phrase(', retired')}
        </span>
        <a href={hrefOf('unit', number)}>{phrase('Unit sheet')}</a>
        <a href={hrefOf('log', null, { unit: number })}>{phrase('Change log')}</a>
        <a href={hrefOf('fleet')}>{phrase('Fleet')}</a>
        <output className="fleet-said">{said}</output>
      </div>
      <RecordFacts subject="unit" values={unit.values} without={['number', 'kind']} yards={yards} />
      <div className="flow fleet-actions">
        {maySave('event') && (
          <Button variant="filled" onClick={() => show({ form: 'event' })}>
            {phrase('Record work')}
          </Button>
        )}
        {maySave('unit') && (
          <>
            <Button onClick={() => show({ form: 'unit' })}>{phrase('Edit unit')}</Button>
            <Button onClick={() => show({ form: 'group' })}>{phrase('Add axle group')}</Button>
          </>
        )}
        {may('fleet.copyUnit') && <Button onClick={() => show({ form: 'copy' })}>{phrase('Copy…')}</Button>}
        {may('fleet.retire') && (
          <Button onClick={() => show({ form: 'retire' })}>
            {unit.retired ? phrase('Bring back…') : phrase('Retire…')}
          </Button>
        )}
        <BaySheetButton unit={number} />
      </div>
      <h2>{phrase('Axle groups, circuits and sensors')}</h2>
      {groups.length === 0 ? (
        <p className="sheet-none">
          {phrase('No axle group yet. Add the groups from front to back, then the circuits of those on air.')}
        </p>
      ) : (
        <Groups record={record} onOpen={show} />
      )}
      <Dialog
        key={open?.form}
        title={open ? titleOf(open, number) : ''}
        size={720}
        opened={open !== null}
        onClose={close}
      >
        {open && (
          <OpenForm
            open={open}
            record={record}
            onCancel={close}
            onCopied={(words, units) => {
              setSaid(words)
              // A unit without a circuit takes no sensor.
              setOpen(groups.some(({ circuits }) => circuits.length > 0) ? { form: 'sensors', units } : null)
            }}
            onDone={(words) => {
              close()
              setSaid(words)
            }}
          />
        )}
      </Dialog>
    </div>
  )
}

/** A unit's record as people type it: its facts, axle groups, circuits and sensors. */
export function RecordScreen({ subject }: { subject: string | null }) {
  const number = subject ?? ''
  const record = useQuery(api.fleet.unit.queryOptions({ input: { unit: number }, enabled: number !== '' }))
  return (
    <>
      {record.data ? (
        <Record key={record.data.unit.id} record={record.data} />
      ) : (
        <div className="page fleet">
          <ScreenTitle tab={phrase('{number} · Record', { number })}>{number || phrase('Record')}</ScreenTitle>
          <Answer
            to={record}
            waiting={phrase('Reading the record…')}
            failed={phrase('This record could not be opened')}
            way={
              <Button variant="filled" component="a" href={lastRosterHref()}>
                {phrase('Open the Roster')}
              </Button>
            }
          />
          {number === '' && (
            <p>
              <Phrase
                text="The address names no unit. <link>Choose one in the fleet.</link>"
                with={{ link: (words) => <a href={hrefOf('fleet')}>{words}</a> }}
              />
            </p>
          )}
        </div>
      )}
    </>
  )
}
