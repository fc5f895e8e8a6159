import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { CircuitRecord, GroupRecord, MountRecord, UnitRecord } from '#core/contracts/fleet.ts'
import type { StoredValues } from '#core/words/change.ts'
import { type TypedSubject, fieldsOf } from '#core/words/record-fields.ts'
import { api, client } from '#renderer/client/api.ts'
import { go, hrefOf, lastRosterHref } from '#renderer/parts/address.ts'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { RecordDialog, RecordForm } from '#renderer/parts/record-form.tsx'
import { fieldText, fieldUnit } from '#renderer/parts/record-text.ts'
import '#renderer/parts/sheet-table.css'
import { ScreenTitle } from '#renderer/parts/ticket-link.tsx'
import './fleet-screen.css'
import { InstallationForm, MountForm } from './mount-form.tsx'
import { CopyForm, RetireForm, UnitForm, saveRecord } from './unit-forms.tsx'
import { EventForm, WorkNote, workAnswer, workProblems, workTexts } from './work-forms.tsx'

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
          ? measures.times.moment(String(value))
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

/** The form that stands open, with what it is about. */
type Open =
  | { readonly form: 'unit' | 'copy' | 'retire' | 'event' | 'group' }
  | { readonly form: 'edit group'; readonly group: GroupRecord }
  | { readonly form: 'circuit'; readonly group: GroupRecord }
  | { readonly form: 'edit circuit' | 'mount'; readonly group: GroupRecord; readonly circuit: CircuitRecord }
  | { readonly form: 'installation'; readonly mount: MountRecord; readonly place: string }

const nameOf = ({ values }: { values: GroupRecord['values'] }) => String(values['name'])

function Mounts({ circuit, place, onOpen }: { circuit: CircuitRecord; place: string; onOpen: (open: Open) => void }) {
  const { times } = useMeasures()
  if (circuit.mounts.length === 0) return <p className="sheet-none">No sensor yet.</p>
  return (
    <ul className="record-mounts">
      {circuit.mounts.map((mount) => {
        const { mounted_at: from, removed_at: until } = mount.values
        return (
          <li key={mount.id} data-past={until !== null || undefined}>
            <strong>{mount.serial}</strong>{' '}
            <span className="quiet">
              {mount.reference}, {times.day(String(from))}{' '}
              {until === null ? 'until now' : `to ${times.day(String(until))}`}
            </span>{' '}
            <button type="button" className="link" onClick={() => onOpen({ form: 'installation', mount, place })}>
              Installation
              <span className="unheard">
                {' '}
                of {mount.serial} on {place}
              </span>
            </button>
            <RecordFacts subject="mount" values={mount.values} without={['mounted_at', 'removed_at']} />
          </li>
        )
      })}
    </ul>
  )
}

function Groups({ record, onOpen }: { record: UnitRecord; onOpen: (open: Open) => void }) {
  return record.groups.map((group) => (
    <section key={group.id} className="record-group" aria-labelledby={`group-${group.id}`}>
      <div className="record-head">
        <h3 id={`group-${group.id}`}>{nameOf(group)}</h3>
        <span className="quiet">
          {group.lines === 0
            ? 'no calibration'
            : `${count(group.lines)} valid ${group.lines === 1 ? 'calibration' : 'calibrations'}`}
        </span>
        <button type="button" className="link" onClick={() => onOpen({ form: 'edit group', group })}>
          Edit<span className="unheard"> axle group {nameOf(group)}</span>
        </button>
        <button type="button" className="link" onClick={() => onOpen({ form: 'circuit', group })}>
          Add circuit<span className="unheard"> to {nameOf(group)}</span>
        </button>
      </div>
      <RecordFacts subject="axle group" values={group.values} without={['name']} />
      {group.circuits.map((circuit) => {
        const place = `${nameOf(group)} ${nameOf(circuit)}`
        return (
          <div key={circuit.id} className="record-circuit">
            <div className="record-head">
              <h4>Circuit {nameOf(circuit)}</h4>
              <button type="button" className="link" onClick={() => onOpen({ form: 'edit circuit', group, circuit })}>
                Edit<span className="unheard"> circuit {place}</span>
              </button>
              <button type="button" className="link" onClick={() => onOpen({ form: 'mount', group, circuit })}>
                Mount sensor<span className="unheard"> on {place}</span>
              </button>
            </div>
            <RecordFacts subject="circuit" values={circuit.values} without={['name']} />
            <Mounts circuit={circuit} place={place} onOpen={onOpen} />
          </div>
        )
      })}
    </section>
  ))
}

const titles: Readonly<Record<Open['form'], (unit: string, open: Open) => string>> = {
  unit: (unit) => `Edit ${unit}`,
  copy: (unit) => `Copy ${unit}`,
  retire: (unit) => unit,
  event: (unit) => `Record work on ${unit}`,
  group: (unit) => `Add an axle group to ${unit}`,
  'edit group': (unit, open) => `Edit ${unit} ${'group' in open ? nameOf(open.group) : ''}`,
  circuit: (unit, open) => `Add a circuit to ${unit} ${'group' in open ? nameOf(open.group) : ''}`,
  'edit circuit': (unit, open) =>
    `Edit circuit ${unit} ${'circuit' in open ? `${nameOf(open.group)} ${nameOf(open.circuit)}` : ''}`,
  mount: (unit, open) =>
    `Mount a sensor on ${unit} ${'circuit' in open ? `${nameOf(open.group)} ${nameOf(open.circuit)}` : ''}`,
  installation: (unit, open) =>
    open.form === 'installation' ? `Installation of ${open.mount.serial} on ${unit} ${open.place}` : unit,
}

function OpenForm({
  open,
  record,
  onDone,
  onCancel,
}: {
  open: Open
  record: UnitRecord
  onDone: (said: string) => void
  onCancel: () => void
}) {
  const { unit, yards } = record
  const { times } = useMeasures()
  const number = String(unit.values['number'])
  const shared = { onCancel, onDone: () => onDone('Saved.') }
  switch (open.form) {
    case 'unit':
      return (
        <UnitForm
          id={unit.id}
          start={unit.values}
          yards={yards}
          onCancel={onCancel}
          onSaved={(now) => {
            onDone('Saved.')
            if (now !== number) go(hrefOf('record', now), { replace: true })
          }}
        />
      )
    case 'copy':
      return <CopyForm unit={number} onCancel={onCancel} onDone={(added) => onDone(`Added ${added.join(', ')}.`)} />
    case 'retire':
      return (
        <RetireForm
          unit={number}
          retired={unit.retired}
          onCancel={onCancel}
          onDone={() => onDone(unit.retired ? `${number} is back in service.` : `${number} is retired.`)}
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
          saveLabel="Add axle group"
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
          saveLabel="Add circuit"
          after={() =>
            open.group.lines > 0 ? (
              <p className="record-note" role="status">
                The line of {nameOf(open.group)} was taken without this circuit: a reading will need its pressure too,
                so calibrate again.
              </p>
            ) : null
          }
          onSave={(saved) => saveRecord('circuit', null, saved, { parent: { groupId: open.group.id } })}
          {...shared}
        />
      )
    case 'edit group':
      return (
        <RecordForm
          fields={fieldsOf('axle group')}
          draftName={`group ${open.group.id}`}
          start={open.group.values}
          isNew={false}
          startTexts={workTexts(times)}
          saveLabel="Save"
          check={(typed) => workProblems('axle group', typed)}
          after={(extra) => (
            <WorkNote
              subject="axle group"
              place={`${number} ${nameOf(open.group)}`}
              lines={open.group.lines}
              extra={extra}
            />
          )}
          onSave={(saved) => saveRecord('axle group', open.group.id, saved, workAnswer('axle group', saved))}
          {...shared}
        />
      )
    case 'edit circuit':
      return (
        <RecordForm
          fields={fieldsOf('circuit')}
          draftName={`circuit ${open.circuit.id}`}
          start={open.circuit.values}
          isNew={false}
          startTexts={workTexts(times)}
          saveLabel="Save"
          check={(typed) => workProblems('circuit', typed)}
          after={(extra) => (
            <WorkNote
              subject="circuit"
              place={`${number} ${nameOf(open.group)} ${nameOf(open.circuit)}`}
              lines={open.group.lines}
              extra={extra}
            />
          )}
          onSave={(saved) => saveRecord('circuit', open.circuit.id, saved, workAnswer('circuit', saved))}
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
      return <InstallationForm mount={open.mount} {...shared} />
  }
}

function BaySheetButton({ unit }: { unit: string }) {
  const make = useMutation({ mutationFn: () => client.fleet.baySheet({ unit }), onSuccess: saveFile })
  return (
    <>
      <Button variant="default" loading={make.isPending} onClick={() => make.mutate()}>
        Bay sheet, PDF
      </Button>
      {make.isError && <ProblemNotice title="The bay sheet was not made" error={make.error} />}
    </>
  )
}

function Record({ record }: { record: UnitRecord }) {
  const [open, setOpen] = useState<Open | null>(null)
  const [said, setSaid] = useState('')
  const { unit, groups, yards } = record
  const number = String(unit.values['number'])
  const close = () => setOpen(null)
  const show = (next: Open) => {
    setSaid('')
    setOpen(next)
  }
  return (
    <div className="fleet">
      <div className="record-head">
        <ScreenTitle>{number}, record</ScreenTitle>
        <span>
          {String(unit.values['kind'])}
          {unit.retired && ', retired'}
        </span>
        <a href={hrefOf('unit', number)}>Unit sheet</a>
        <a href={hrefOf('log', null, { unit: number })}>Change log</a>
        <a href={hrefOf('fleet')}>Fleet</a>
        <output className="fleet-said">{said}</output>
      </div>
      <RecordFacts subject="unit" values={unit.values} without={['number', 'kind']} yards={yards} />
      <div className="fleet-actions">
        <Button onClick={() => show({ form: 'event' })}>Record work</Button>
        <Button variant="default" onClick={() => show({ form: 'unit' })}>
          Edit unit
        </Button>
        <Button variant="default" onClick={() => show({ form: 'group' })}>
          Add axle group
        </Button>
        <Button variant="default" onClick={() => show({ form: 'copy' })}>
          Copy…
        </Button>
        <Button variant="default" onClick={() => show({ form: 'retire' })}>
          {unit.retired ? 'Bring back…' : 'Retire…'}
        </Button>
        <BaySheetButton unit={number} />
      </div>
      <h2>Axle groups, circuits and sensors</h2>
      {groups.length === 0 ? (
        <p className="sheet-none">
          No axle group yet. Add the groups from front to back, then the circuits of those on air.
        </p>
      ) : (
        <Groups record={record} onOpen={show} />
      )}
      <RecordDialog title={open ? titles[open.form](number, open) : ''} opened={open !== null} onClose={close}>
        {open && (
          <OpenForm
            open={open}
            record={record}
            onCancel={close}
            onDone={(words) => {
              close()
              setSaid(words)
            }}
          />
        )}
      </RecordDialog>
    </div>
  )
}

/** A unit's record as people type it: its facts, axle groups, circuits and sensors. */
export function RecordScreen({ subject }: { subject: string | null }) {
  const number = subject ?? ''
  const record = useQuery(api.fleet.unit.queryOptions({ input: { unit: number }, enabled: number !== '' }))
  return (
    <>
      <title>{`${number} · Record · Tareline`}</title>
      {record.data ? (
        <Record key={record.data.unit.id} record={record.data} />
      ) : (
        <div className="fleet">
          <ScreenTitle>{number || 'Record'}</ScreenTitle>
          {record.isError && (
            <ProblemNotice title="This record could not be opened" error={record.error}>
              <Button component="a" href={lastRosterHref()}>
                Open the Roster
              </Button>
            </ProblemNotice>
          )}
          {record.isLoading && <output>Reading the record…</output>}
          {number === '' && (
            <p>
              The address names no unit. <a href={hrefOf('fleet')}>Choose one in the fleet.</a>
            </p>
          )}
        </div>
      )}
    </>
  )
}
