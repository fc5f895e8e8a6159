import { Button, TextInput } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useInfiniteQuery, useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import type { FleetBasics, FleetRecord, SensorRow } from '#core/contracts/fleet.ts'
import { type TypedSubject, fieldsOf } from '#core/words/record-fields.ts'
import { api } from '#renderer/client/api.ts'
import { changeParams, go, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { RecordDialog, RecordForm } from '#renderer/parts/record-form.tsx'
import { fieldText, fieldUnit, unknownText } from '#renderer/parts/record-text.ts'
import '#renderer/parts/sheet-table.css'
import { ScreenTitle } from '#renderer/parts/ticket-link.tsx'
import './fleet-screen.css'
import { UnitForm, saveRecord } from './unit-forms.tsx'

type Listed = 'yard' | 'scale' | 'sensor'
type Open = { readonly subject: 'unit' } | { readonly subject: Listed; readonly record: FleetRecord | null }

const nameColumn = { yard: 'name', scale: 'name', sensor: 'serial' } as const

interface RecordTableProps<R extends FleetRecord> {
  readonly subject: Listed
  readonly caption: string
  readonly rows: readonly R[]
  readonly more: readonly (readonly [head: string, cell: (row: R) => ReactNode])[]
  readonly onEdit: (record: FleetRecord) => void
}

/** Records of one kind, a column a field. */
function RecordTable<R extends FleetRecord>({ subject, caption, rows, more, onEdit }: RecordTableProps<R>) {
  const measures = useMeasures()
  const name = nameColumn[subject]
  const fields = Object.entries(fieldsOf(subject as TypedSubject)).filter(([column]) => column !== name)
  return (
    <table className="sheet-table">
      <caption className="unheard">{caption}</caption>
      <thead>
        <tr>
          <th scope="col">{fieldsOf(subject)[name]?.label}</th>
          {fields.map(([column, field]) => (
            <th key={column} scope="col" className={field.type === 'number' ? 'figure' : undefined}>
              {field.label}
              {fieldUnit(field, measures) && `, ${fieldUnit(field, measures)}`}
            </th>
          ))}
          {more.map(([head]) => (
            <th key={head} scope="col">
              {head}
            </th>
          ))}
          <td />
        </tr>
      </thead>
      <tbody>
        {rows.map((row) => (
          <tr key={row.id}>
            <th scope="row" className="nowrap">
              {String(row.values[name])}
            </th>
            {fields.map(([column, field]) => (
              <td key={column} className={field.type === 'number' ? 'figure' : undefined}>
                {fieldText(field, row.values[column] ?? null, measures) || unknownText}
              </td>
            ))}
            {more.map(([head, cell]) => (
              <td key={head} className="nowrap">
                {cell(row)}
              </td>
            ))}
            <td>
              <button type="button" className="link" onClick={() => onEdit(row)}>
                Edit
                <span className="unheard">
                  {' '}
                  {subject} {String(row.values[name])}
                </span>
              </button>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

function Seat({ seat }: Pick<SensorRow, 'seat'>) {
  const { times } = useMeasures()
  return seat === null ? (
    <span className="quiet">on no circuit</span>
  ) : (
    <>
      <a href={hrefOf('record', seat.unit)}>{seat.unit}</a> {seat.group} {seat.circuit}
      <span className="quiet">, since {times.day(seat.since)}</span>
    </>
  )
}

function Sensors({ total, onEdit }: { total: number; onEdit: (record: FleetRecord) => void }) {
  const typed = useAddress().params.get('sensor') ?? ''
  const [text] = useDebouncedValue(typed, 200)
  const list = useInfiniteQuery(
    api.fleet.sensors.infiniteOptions({
      input: (after: string | undefined) => ({ text, ...(after === undefined ? {} : { after }) }),
      initialPageParam: undefined as string | undefined,
      getNextPageParam: ({ next }) => next ?? undefined,
      placeholderData: keepPreviousData,
    }),
  )
  const rows = list.data?.pages.flatMap((page) => page.rows) ?? []
  return (
    <>
      <TextInput
        type="search"
        label="Find a sensor by serial or place"
        className="fleet-search"
        value={typed}
        onChange={(event) => changeParams({ sensor: event.currentTarget.value }, { replace: true })}
      />
      {list.isError && <ProblemNotice title="The sensors could not be read" error={list.error} />}
      {rows.length > 0 ? (
        <div className="fleet-frame">
          <RecordTable
            subject="sensor"
            caption="Sensors"
            rows={rows}
            more={[['Sits on', ({ seat }) => <Seat seat={seat} />]]}
            onEdit={onEdit}
          />
        </div>
      ) : (
        list.isSuccess && (
          <p className="sheet-none">
            {total === 0 ? 'No sensor yet. One is added with its first mounting too.' : 'No sensor matches.'}
          </p>
        )
      )}
      <p className="quiet">
        {count(rows.length)} of {count(total)} shown.{' '}
        {list.hasNextPage && (
          <button type="button" className="link" onClick={() => void list.fetchNextPage()}>
            Show more
          </button>
        )}
      </p>
    </>
  )
}

function Section({
  id,
  title,
  children,
  onAdd,
  addLabel,
}: {
  id: string
  title: string
  children: ReactNode
  onAdd: () => void
  addLabel: string
}) {
  return (
    <section aria-labelledby={id} className="fleet-section">
      <div className="record-head">
        <h2 id={id}>{title}</h2>
        <Button variant="default" onClick={onAdd}>
          {addLabel}
        </Button>
      </div>
      {children}
    </section>
  )
}

function Lists({ basics }: { basics: FleetBasics }) {
  const [open, setOpen] = useState<Open | null>(null)
  const [said, setSaid] = useState('')
  const close = () => setOpen(null)
  const edit = (subject: Listed) => (record: FleetRecord | null) => {
    setSaid('')
    setOpen({ subject, record })
  }
  const yards = basics.yards.map(({ id, values }) => ({ id, name: String(values['name']) }))
  const retired = basics.units.filter((unit) => unit.retired)
  const listed = open !== null && open.subject !== 'unit' ? open : null
  return (
    <>
      <div className="fleet-actions">
        <Button
          onClick={() => {
            setSaid('')
            setOpen({ subject: 'unit' })
          }}
        >
          Add unit
        </Button>
        <span className="quiet">
          {count(basics.units.length)} units, on the <a href={hrefOf('roster')}>Roster</a>. To change one, open its
          sheet and choose “Edit the record”; to add ten alike, copy it there.
        </span>
        <output className="fleet-said">{said}</output>
      </div>
      <Section id="fleet-yards" title="Yards" addLabel="Add yard" onAdd={() => edit('yard')(null)}>
        {basics.yards.length === 0 ? (
          <p className="sheet-none">No yard yet.</p>
        ) : (
          <RecordTable
            subject="yard"
            caption="Yards"
            rows={basics.yards}
            more={[['Units', ({ units }) => count(units)]]}
            onEdit={edit('yard')}
          />
        )}
      </Section>
      <Section id="fleet-scales" title="Scales" addLabel="Add scale" onAdd={() => edit('scale')(null)}>
        {basics.scales.length === 0 ? (
          <p className="sheet-none">No scale yet. Tickets need the scale that they come from.</p>
        ) : (
          <RecordTable
            subject="scale"
            caption="Scales"
            rows={basics.scales}
            more={[['Tickets', ({ tickets }) => count(tickets)]]}
            onEdit={edit('scale')}
          />
        )}
      </Section>
      <Section id="fleet-sensors" title="Sensors" addLabel="Add sensor" onAdd={() => edit('sensor')(null)}>
        <Sensors total={basics.sensors} onEdit={edit('sensor')} />
      </Section>
      {retired.length > 0 && (
        <section aria-labelledby="fleet-retired" className="fleet-section">
          <h2 id="fleet-retired">Retired units</h2>
          <p>
            {retired.map(({ unit }, at) => (
              <span key={unit}>
                {at > 0 && ', '}
                <a href={hrefOf('record', unit)}>{unit}</a>
              </span>
            ))}
          </p>
        </section>
      )}
      <RecordDialog
        opened={open !== null}
        onClose={close}
        title={
          open === null
            ? ''
            : open.subject === 'unit'
              ? 'Add a unit'
              : open.record === null
                ? `Add a ${open.subject}`
                : `Edit ${open.subject} ${String(open.record.values[nameColumn[open.subject]])}`
        }
      >
        {open?.subject === 'unit' && (
          <UnitForm
            id={null}
            start={{ kind: 'tractor' }}
            yards={yards}
            onCancel={close}
            onSaved={(number) => {
              close()
              go(hrefOf('record', number))
            }}
          />
        )}
        {listed && (
          <RecordForm
            fields={fieldsOf(listed.subject)}
            draftName={`${listed.subject} ${listed.record?.id ?? 'new'}`}
            start={listed.record?.values ?? (listed.subject === 'sensor' ? { reference: 'gauge' } : {})}
            isNew={listed.record === null}
            saveLabel={listed.record ? 'Save' : `Add ${listed.subject}`}
            onSave={(saved) => saveRecord(listed.subject, listed.record?.id ?? null, saved)}
            onCancel={close}
            onDone={() => {
              close()
              setSaid('Saved.')
            }}
          />
        )}
      </RecordDialog>
    </>
  )
}

/** What the fleet consists of beside its units: yards, scales and sensors; and the way to a new unit. */
export function FleetScreen() {
  const basics = useQuery(api.fleet.basics.queryOptions())
  return (
    <div className="fleet">
      <title>Fleet · Tareline</title>
      <ScreenTitle>Fleet</ScreenTitle>
      {basics.isPending && <output>Reading the fleet…</output>}
      {basics.isError && (
        <ProblemNotice title="The fleet could not be read" error={basics.error}>
          <Button variant="default" onClick={() => basics.refetch()}>
            Try again
          </Button>
        </ProblemNotice>
      )}
      {basics.data && <Lists basics={basics.data} />}
    </div>
  )
}
