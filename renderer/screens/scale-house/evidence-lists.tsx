import { Button } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useInfiniteQuery } from '@tanstack/react-query'
import type { CalibrationRow, EvidenceListInput } from '#core/contracts/evidence.ts'
import { api, client } from '#renderer/client/api.ts'
import { AddressText } from '#renderer/parts/address-fields.tsx'
import { changeParams, hrefOf, known, useAddress } from '#renderer/parts/address.ts'
import { Answer, type Pages, ShowMore, rowsOf } from '#renderer/parts/answer.tsx'
import { type Quantity, count, useMeasures } from '#renderer/parts/format.ts'
import { unknownText } from '#renderer/parts/record-text.ts'
import { type Columns, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { VoidCalibration } from '#renderer/parts/void-calibration.tsx'
import { wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** What the address narrows a list to. */
function useListFilter(): Pick<EvidenceListInput, 'text' | 'unit'> {
  const { params } = useAddress()
  const [text] = useDebouncedValue(params.get('text')?.trim() ?? '', 200)
  const [unit] = useDebouncedValue(params.get('unit')?.trim() ?? '', 300)
  return known({ text, unit })
}

/** The last row of the page before. */
type After = EvidenceListInput['after']

/** How a list goes on from page to page, and what it shows meanwhile. */
const pageAfterPage = {
  initialPageParam: undefined as After,
  getNextPageParam: ({ next }: { readonly next: NonNullable<After> | null }) => next ?? undefined,
  placeholderData: keepPreviousData,
}

interface EvidenceListProps<Row> {
  readonly list: Pages<Row>
  /** What the search looks in. */
  readonly searched: string
  readonly none: string
  readonly caption: string
  readonly columns: Columns<Row>
}

/** A long list, newest first, narrowed by a text and a unit, page after page. */
function EvidenceList<Row extends { readonly id: number; readonly voided?: unknown }>({
  list,
  searched,
  none,
  caption,
  columns,
}: EvidenceListProps<Row>) {
  const { params } = useAddress()
  const rows = rowsOf(list)
  return (
    <>
      <search className="flow evidence-filters">
        <AddressText name="text" type="search" label={phrase('Find')} placeholder={searched} />
        <AddressText name="unit" label={phrase('Unit')} />
      </search>
      <Answer
        to={list}
        waiting={phrase('Reading the record…')}
        failed={phrase('The list could not be read')}
        way={<Button onClick={() => changeParams({ unit: null, text: null })}>{phrase('Clear the search')}</Button>}
      />
      {list.data && rows.length === 0 && (
        <p className="sheet-none">{params.get('text') || params.get('unit') ? phrase('Nothing matches.') : none}</p>
      )}
      {rows.length > 0 && (
        <>
          <SheetTable
            frame=""
            caption={caption}
            rows={rows}
            keyOf={({ id }) => id}
            named={1}
            mark={({ voided }) => (voided ? { className: 'evidence-void' } : {})}
            columns={columns}
          />
          <p className="quiet">
            {phrase('{rows} shown, newest first.', { rows: count(rows.length) })} <ShowMore list={list} />
          </p>
        </>
      )}
    </>
  )
}

/** Weights or pressures, each with the place that it is of. */
const Places = ({
  parts,
  quantity,
}: {
  parts: readonly { readonly place: string; readonly value: number }[]
  quantity: Quantity
}) => (
  <ul className="bare evidence-places">
    {parts.map(({ place, value }) => (
      <li key={place}>
        <span className="quiet">{place}</span> {quantity.text(value)}
      </li>
    ))}
  </ul>
)

function Standing({ voided, line }: Pick<CalibrationRow, 'voided' | 'line'>) {
  const { weight, slope, times } = useMeasures()
  if (voided)
    return phrase('voided {at}{by}: {reason}', {
      at: times.moment(voided.at),
      by: voided.by ? phrase(' by {by}', { by: voided.by }) : '',
      reason: voided.reason,
    })
  if (!line) return <span className="quiet">{phrase('not in use')}</span>
  const atLimit =
    line.uLimitLb === null
      ? ''
      : phrase(', {uLimitLb} at the limit (95 %)', { uLimitLb: weight.plusMinus(line.uLimitLb) })
  return phrase('in use: {estimate} + {text}{atLimit}', {
    estimate: weight.estimate(line.a),
    text: slope.text(line.b),
    atLimit,
  })
}

/** Every calibration, voided ones among them: they are never edited. */
export function CalibrationsPart() {
  const { times } = useMeasures()
  const filter = useListFilter()
  const list = useInfiniteQuery(
    api.evidence.calibrations.infiniteOptions({ input: (after: After) => ({ ...filter, after }), ...pageAfterPage }),
  )
  return (
    <EvidenceList
      list={list}
      searched={phrase('Unit, group or person')}
      none={phrase('No calibration yet. Weigh a unit at two loads or more at the Weigh-in.')}
      caption={phrase('Calibrations, newest first')}
      columns={[
        [phrase('Calibrated'), ({ calibratedAt }) => times.moment(calibratedAt), 'nowrap'],
        [
          phrase('Group'),
          ({ unit, group }) => (
            <a href={hrefOf('unit', unit, { group })}>
              {unit} {group}
            </a>
          ),
          'nowrap',
        ],
        [phrase('By'), ({ by }) => by ?? unknownText],
        [phrase('Points'), ({ points }) => count(points), 'figure'],
        [phrase('Line'), ({ voided, line }) => <Standing voided={voided} line={line} />],
        [
          phrase('Void'),
          ({ id, unit, group, calibratedAt, voided }) =>
            !voided && (
              <VoidCalibration
                name={`${unit} ${group} of ${times.moment(calibratedAt)}`}
                onVoid={(answer) => client.weighIn.voidCalibration({ id, ...answer })}
              />
            ),
          'steps',
        ],
      ]}
    />
  )
}

/** Every reading of the record, with a ticket or without. */
export function ReadingsPart() {
  const { pressure, times } = useMeasures()
  const filter = useListFilter()
  const list = useInfiniteQuery(
    api.evidence.readings.infiniteOptions({ input: (after: After) => ({ ...filter, after }), ...pageAfterPage }),
  )
  return (
    <EvidenceList
      list={list}
      searched={phrase('Name of the reading')}
      none={phrase('No reading yet. Type one at Weigh now or the Weigh-in, or import a fleet folder.')}
      caption={phrase('Readings, newest first')}
      columns={[
        [phrase('Taken'), ({ takenAt }) => times.moment(takenAt), 'nowrap'],
        [phrase('Reading'), ({ id, reading }) => <a href={hrefOf('reading', String(id))}>{reading}</a>, 'nowrap'],
        [
          phrase('Ticket'),
          ({ ticketId, ticket }) =>
            ticketId === null ? null : <a href={hrefOf('ticket', String(ticketId))}>{ticket}</a>,
        ],
        [phrase('Lift axles'), ({ lift }) => (lift === null ? unknownText : wordOf(lift))],
        [phrase('Pressures as read'), ({ pressures }) => <Places parts={pressures} quantity={pressure} />],
      ]}
    />
  )
}

/** Every ticket of the record. */
export function TicketsPart() {
  const { weight, times } = useMeasures()
  const filter = useListFilter()
  const list = useInfiniteQuery(
    api.evidence.tickets.infiniteOptions({ input: (after: After) => ({ ...filter, after }), ...pageAfterPage }),
  )
  return (
    <EvidenceList
      list={list}
      searched={phrase('Number or scale')}
      none={phrase('No ticket yet. Enter the first at the Weigh-in, or import a fleet folder.')}
      caption={phrase('Tickets, newest first')}
      columns={[
        [phrase('Weighed'), ({ weighedAt }) => times.moment(weighedAt), 'nowrap'],
        [phrase('Ticket'), ({ id, number }) => <a href={hrefOf('ticket', String(id))}>{number}</a>],
        [phrase('Scale'), ({ scale }) => scale],
        [
          phrase('Weights'),
          ({ units, weights }) =>
            weights.length === 0 ? units.join(', ') : <Places parts={weights} quantity={weight} />,
        ],
        [phrase('Gross'), ({ grossLb }) => (grossLb === null ? unknownText : weight.text(grossLb)), 'figure'],
        [phrase('Readings'), ({ readings }) => count(readings), 'figure'],
        [phrase('Lines'), ({ lines }) => count(lines), 'figure'],
        [phrase('Scans'), ({ attachments }) => count(attachments), 'figure'],
      ]}
    />
  )
}
