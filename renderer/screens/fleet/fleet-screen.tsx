import { Button } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useInfiniteQuery, useQuery } from '@tanstack/react-query'
import { type ReactNode, useState } from 'react'
import type { FirstSteps, FleetBasics, FleetRecord, SensorRow } from '#core/contracts/fleet.ts'
import { type TypedSubject, fieldsOf } from '#core/words/record-fields.ts'
import { api } from '#renderer/client/api.ts'
import { AddressText } from '#renderer/parts/address-fields.tsx'
import { changeParams, hrefOf, oneOf, useAddress } from '#renderer/parts/address.ts'
import { Answer, ShowMore, rowsOf } from '#renderer/parts/answer.tsx'
import { NextStepLine } from '#renderer/parts/first-weight.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { LinkButton, UnitLinks } from '#renderer/parts/links.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { shownText, fieldUnit, unknownText } from '#renderer/parts/record-text.ts'
import { useMaySave } from '#renderer/parts/rights.ts'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { FleetDialog, type Listed, type Open, adds, nameColumn, openOf } from './fleet-dialog.tsx'
import './fleet-screen.css'

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
  const mayEdit = useMaySave()(subject)
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
              ({ values }: R) => shownText(field, values[column] ?? null, measures) || unknownText,
              field.type === 'number' ? 'figure' : undefined,
            ] as const,
        ),
        ...more.map(([head, cell]) => [head, cell, 'nowrap'] as const),
        [
          null,
          (row) =>
            mayEdit && (
              <LinkButton about={`${word(subject)} ${String(row.values[name])}`} onClick={() => onEdit(row)}>
                {phrase('Edit')}
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
    <span className="quiet">{phrase('on no circuit')}</span>
  ) : (
    <>
      <a href={hrefOf('record', seat.unit)}>{seat.unit}</a> {seat.group} {seat.circuit}
      <span className="quiet">
        <Phrase text=", since {since}" with={{ since: times.day(seat.since) }} />
      </span>
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
      <AddressText
        name="sensor"
        type="search"
        label={phrase('Find a sensor by serial or place')}
        className="fleet-search"
      />
      {list.isError && <ProblemNotice title={phrase('The sensors could not be read')} error={list.error} />}
      {rows.length > 0 ? (
        <RecordTable
          subject="sensor"
          caption={phrase('Sensors')}
          rows={rows}
          more={[[phrase('Sits on'), ({ seat }) => <Seat seat={seat} />]]}
          onEdit={onEdit}
        />
      ) : (
        list.isSuccess && (
          <p className="sheet-none">
            {total === 0
              ? phrase('No sensor yet. One is added with its first mounting too.')
              : phrase('No sensor matches.')}
          </p>
        )
      )}
      <p className="quiet">
        {phrase('{rows} of {total} shown.', { rows: count(rows.length), total: count(total) })} <ShowMore list={list} />
      </p>
    </>
  )
}

interface ListedPartProps {
  readonly subject: Listed
  readonly title: string
  readonly children: ReactNode
  readonly onAdd: () => void
  readonly addLabel: string
}

const ListedPart = ({ subject, title, children, onAdd, addLabel }: ListedPartProps) => (
  <Section title={title} beside={useMaySave()(subject) && <Button onClick={onAdd}>{addLabel}</Button>}>
    {children}
  </Section>
)

function Lists({ basics, steps }: { basics: FleetBasics; steps: FirstSteps }) {
  const add = oneOf(adds, useAddress().params.get('add'))
  const [chosen, setOpen] = useState<Open | null>(null)
  const open = chosen ?? (add === null ? null : openOf(add))
  const [said, setSaid] = useState('')
  const close = () => {
    setOpen(null)
    if (add !== null) changeParams({ add: null }, { replace: true })
  }
  const edit = (subject: Listed) => (record: FleetRecord | null) => {
    setSaid('')
    setOpen({ subject, record })
  }
  const { retired } = basics
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
          {phrase('Add unit')}
        </Button>
        <span className="quiet">
          {basics.units === 0 ? (
            phrase('No unit yet.')
          ) : (
            <Phrase
              text="{units, plural, one {# unit} other {# units}}, on the <link>Roster</link>. To change one, open its sheet and choose “Edit the record”; to add ten alike, copy it there."
              with={{ units: basics.units, link: (words) => <a href={hrefOf('roster')}>{words}</a> }}
            />
          )}
        </span>
        <output className="fleet-said">{said}</output>
      </div>
      <ListedPart subject="yard" title={phrase('Yards')} addLabel={phrase('Add yard')} onAdd={() => edit('yard')(null)}>
        {basics.yards.length === 0 ? (
          <p className="sheet-none">{phrase('No yard yet.')}</p>
        ) : (
          <RecordTable
            subject="yard"
            caption={phrase('Yards')}
            rows={basics.yards}
            more={[[phrase('Units'), ({ units }) => count(units)]]}
            onEdit={edit('yard')}
          />
        )}
      </ListedPart>
      <ListedPart
        subject="scale"
        title={phrase('Scales')}
        addLabel={phrase('Add scale')}
        onAdd={() => edit('scale')(null)}
      >
        {basics.scales.length === 0 ? (
          <p className="sheet-none">{phrase('No scale yet. Tickets need the scale that they come from.')}</p>
        ) : (
          <RecordTable
            subject="scale"
            caption={phrase('Scales')}
            rows={basics.scales}
            more={[[phrase('Tickets'), ({ tickets }) => count(tickets)]]}
            onEdit={edit('scale')}
          />
        )}
      </ListedPart>
      <ListedPart
        subject="sensor"
        title={phrase('Sensors')}
        addLabel={phrase('Add sensor')}
        onAdd={() => edit('sensor')(null)}
      >
        <p>
          <LinkButton asks onClick={() => setOpen({ subject: 'sensors' })}>
            {phrase('Mount many in one table')}
          </LinkButton>
        </p>
        <Sensors total={basics.sensors} onEdit={edit('sensor')} />
      </ListedPart>
      {retired.units > 0 && (
        <Section title={phrase('Retired units')}>
          <p>
            <UnitLinks units={retired.first} between=", " screen="record" />
            {retired.units > retired.first.length && (
              <span className="quiet">
                {' '}
                {phrase('and {more} more, on the Roster', { more: count(retired.units - retired.first.length) })}
              </span>
            )}
          </p>
        </Section>
      )}
      <FleetDialog open={open} add={add} basics={basics} steps={steps} onClose={close} onSaid={setSaid} />
    </>
  )
}

/** What the fleet consists of beside its units: yards, scales and sensors; and the way to a new unit. */
export function FleetScreen() {
  const basics = useQuery(api.fleet.basics.queryOptions())
  const steps = useQuery(api.fleet.firstSteps.queryOptions())
  return (
    <div className="page fleet">
      <ScreenTitle>{phrase('Fleet')}</ScreenTitle>
      <RightsNote about={phrase('New units')} to="fleet.addUnit" />
      <Answer to={basics} waiting={phrase('Reading the fleet…')} failed={phrase('The fleet could not be read')}>
        {(found) => steps.data && <Lists basics={found} steps={steps.data} />}
      </Answer>
      <Answer to={steps} waiting="" failed={phrase('The fleet could not be read')} />
    </div>
  )
}
