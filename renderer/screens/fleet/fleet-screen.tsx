import { Button } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useInfiniteQuery, useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import type { FirstSteps, FleetBasics, FleetRecord, SensorRow } from '#core/contracts/fleet.ts'
import { type TypedSubject, fieldsOf } from '#core/words/record-fields.ts'
import { api } from '#renderer/client/api.ts'
import { AddressText } from '#renderer/parts/address-fields.tsx'
import { changeParams, go, hrefOf, oneOf, useAddress } from '#renderer/parts/address.ts'
import { Answer, ShowMore, rowsOf } from '#renderer/parts/answer.tsx'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { NextStepLine, stepAfter, stepTitle } from '#renderer/parts/first-weight.tsx'
import { count, counted, useMeasures } from '#renderer/parts/format.ts'
import { LinkButton, UnitLinks } from '#renderer/parts/links.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { RecordForm } from '#renderer/parts/record-form.tsx'
import { fieldText, fieldUnit, unknownText } from '#renderer/parts/record-text.ts'
import type { Texts } from '#renderer/parts/save-form.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import './fleet-screen.css'
import { NewUnitForm } from './new-unit-form.tsx'
import { SensorTable } from './sensor-table.tsx'
import { saveRecord } from './unit-forms.tsx'

type Listed = 'yard' | 'scale' | 'sensor'
/** Which form stands open: by the step of the way to the first weight that it is. */
const added = { yard: 'yard', scale: 'scale', lead: 'unit', trailer: 'unit' } as const
type Add = keyof typeof added
const adds = Object.keys(added) as Add[]
type Open =
  | { readonly subject: 'unit'; readonly kind: 'tractor' | 'trailer' }
  | { readonly subject: 'sensors' }
  | { readonly subject: Listed; readonly record: FleetRecord | null }

const nameColumn = { yard: 'name', scale: 'name', sensor: 'serial' } as const

const titles = { unit: 'Add a unit', sensors: 'Mount sensors' } as const

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
    <SheetTable
      caption={caption}
      rows={rows}
      keyOf={({ id }) => id}
      columns={[
        [fieldsOf(subject)[name]?.label, ({ values }) => String(values[name]), 'nowrap'],
        ...fields.map(
          ([column, field]) =>
            [
              [field.label, fieldUnit(field, measures)].filter(Boolean).join(', '),
              ({ values }: R) => fieldText(field, values[column] ?? null, measures) || unknownText,
              field.type === 'number' ? 'figure' : undefined,
            ] as const,
        ),
        ...more.map(([head, cell]) => [head, cell, 'nowrap'] as const),
        [
          null,
          (row) => (
            <LinkButton about={`${subject} ${String(row.values[name])}`} onClick={() => onEdit(row)}>
              Edit
            </LinkButton>
          ),
        ],
      ]}
    />
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
  const [text] = useDebouncedValue(useAddress().params.get('sensor') ?? '', 200)
  const list = useInfiniteQuery(
    api.fleet.sensors.infiniteOptions({
      input: (after: string | undefined) => ({ text, ...(after === undefined ? {} : { after }) }),
      initialPageParam: undefined as string | undefined,
      getNextPageParam: ({ next }) => next ?? undefined,
      placeholderData: keepPreviousData,
    }),
  )
  const rows = rowsOf(list)
  return (
    <>
      <AddressText name="sensor" type="search" label="Find a sensor by serial or place" className="fleet-search" />
      {list.isError && <ProblemNotice title="The sensors could not be read" error={list.error} />}
      {rows.length > 0 ? (
        <div className="wide">
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
        {count(rows.length)} of {count(total)} shown. <ShowMore list={list} />
      </p>
    </>
  )
}

interface ListedPartProps {
  readonly title: string
  readonly children: ReactNode
  readonly onAdd: () => void
  readonly addLabel: string
}

const ListedPart = ({ title, children, onAdd, addLabel }: ListedPartProps) => (
  <Section title={title} beside={<Button onClick={onAdd}>{addLabel}</Button>}>
    {children}
  </Section>
)

const openOf = (add: Add): Open =>
  added[add] === 'unit'
    ? { subject: 'unit', kind: add === 'lead' ? 'tractor' : 'trailer' }
    : { subject: added[add], record: null }

function Lists({ basics, steps }: { basics: FleetBasics; steps: FirstSteps }) {
  const add = oneOf(adds, useAddress().params.get('add'))
  const [own, setOwn] = useState<Open | null>(null)
  const open = own ?? (add === null ? null : openOf(add))
  const setOpen = setOwn
  const [said, setSaid] = useState('')
  /** What the sensors of the unit before were like. */
  const [like, setLike] = useState<Texts>({})
  const close = () => {
    setOwn(null)
    if (add !== null) changeParams({ add: null }, { replace: true })
  }
  /** On the way to the first weight the next form opens by itself. */
  const goOn = (otherwise: () => void) => {
    const next = add === null || steps.line ? undefined : stepAfter(steps, add)
    close()
    if (next) go(next.href)
    else otherwise()
  }
  const edit = (subject: Listed) => (record: FleetRecord | null) => {
    setSaid('')
    setOpen({ subject, record })
  }
  const yards = basics.yards.map(({ id, values }) => ({ id, name: String(values['name']) }))
  const retired = basics.units.filter((unit) => unit.retired)
  const listed = open !== null && 'record' in open ? open : null
  const onWay = add !== null && !steps.line
  return (
    <>
      <NextStepLine found={steps} />
      <div className="flow fleet-actions">
        <Button
          variant="filled"
          onClick={() => {
            setSaid('')
            setOpen({ subject: 'unit', kind: 'tractor' })
          }}
        >
          Add unit
        </Button>
        <span className="quiet">
          {basics.units.length === 0 ? (
            'No unit yet.'
          ) : (
            <>
              {counted(basics.units.length, 'unit')}, on the <a href={hrefOf('roster')}>Roster</a>. To change one, open
              its sheet and choose “Edit the record”; to add ten alike, copy it there.
            </>
          )}
        </span>
        <output className="fleet-said">{said}</output>
      </div>
      <ListedPart title="Yards" addLabel="Add yard" onAdd={() => edit('yard')(null)}>
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
      </ListedPart>
      <ListedPart title="Scales" addLabel="Add scale" onAdd={() => edit('scale')(null)}>
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
      </ListedPart>
      <ListedPart title="Sensors" addLabel="Add sensor" onAdd={() => edit('sensor')(null)}>
        <p>
          <LinkButton asks onClick={() => setOpen({ subject: 'sensors' })}>
            Mount many in one table
          </LinkButton>
        </p>
        <Sensors total={basics.sensors} onEdit={edit('sensor')} />
      </ListedPart>
      {retired.length > 0 && (
        <Section title="Retired units">
          <p>
            <UnitLinks units={retired.map(({ unit }) => unit)} between=", " screen="record" />
          </p>
        </Section>
      )}
      <Dialog
        key={add ?? 'form'}
        size={720}
        opened={open !== null}
        onClose={close}
        title={
          open === null
            ? ''
            : onWay
              ? stepTitle(steps, add)
              : !('record' in open)
                ? titles[open.subject]
                : open.record === null
                  ? `Add a ${open.subject}`
                  : `Edit ${open.subject} ${String(open.record.values[nameColumn[open.subject]])}`
        }
      >
        {open?.subject === 'unit' && (
          <NewUnitForm
            key={open.kind}
            kind={open.kind}
            yards={yards}
            like={like}
            onCancel={onWay ? () => goOn(() => {}) : close}
            cancelLabel={onWay ? 'Skip' : undefined}
            onSaved={(number, its) => {
              setLike(its)
              goOn(() => go(hrefOf('record', number)))
            }}
          />
        )}
        {open?.subject === 'sensors' && (
          <SensorTable
            units={null}
            onCancel={close}
            onDone={(words) => {
              close()
              setSaid(words)
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
            key={listed.subject}
            onCancel={onWay ? () => goOn(() => {}) : close}
            cancelLabel={onWay ? 'Skip' : undefined}
            onDone={() => {
              setSaid('Saved.')
              goOn(close)
            }}
          />
        )}
      </Dialog>
    </>
  )
}

/** What the fleet consists of beside its units: yards, scales and sensors; and the way to a new unit. */
export function FleetScreen() {
  const basics = useQuery(api.fleet.basics.queryOptions())
  const steps = useQuery(api.fleet.firstSteps.queryOptions())
  return (
    <div className="page fleet">
      <ScreenTitle>Fleet</ScreenTitle>
      <Answer to={basics} waiting="Reading the fleet…" failed="The fleet could not be read">
        {(found) => steps.data && <Lists basics={found} steps={steps.data} />}
      </Answer>
      <Answer to={steps} waiting="" failed="The fleet could not be read" />
    </div>
  )
}
