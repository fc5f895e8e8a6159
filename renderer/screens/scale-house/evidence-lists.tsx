import { Button, TextInput } from '@mantine/core'
import { useDebouncedValue } from '@mantine/hooks'
import { keepPreviousData, useInfiniteQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import type { CalibrationRow, EvidenceListInput } from '#core/contracts/evidence.ts'
import { api } from '#renderer/client/api.ts'
import { changeParams, hrefOf, useAddress } from '#renderer/parts/address.ts'
import { type Quantity, count, useMeasures } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { unknownText } from '#renderer/parts/record-text.ts'
import { VoidCalibration } from '#renderer/parts/void-calibration.tsx'

type Filter = Pick<EvidenceListInput, 'text' | 'unit'>

/** What the address narrows a list to. */
export function useListFilter(): Filter {
  const { params } = useAddress()
  const [text] = useDebouncedValue(params.get('text')?.trim() ?? '', 200)
  const [unit] = useDebouncedValue(params.get('unit')?.trim() ?? '', 300)
  return { ...(text === '' ? {} : { text }), ...(unit === '' ? {} : { unit }) }
}

/** The last row of the page before. */
export type After = EvidenceListInput['after']

/** How a list goes on from page to page, and what it shows meanwhile. */
export const pageAfterPage = {
  initialPageParam: undefined as After,
  getNextPageParam: ({ next }: { readonly next: NonNullable<After> | null }) => next ?? undefined,
  placeholderData: keepPreviousData,
}

interface Pages<Row> {
  readonly data: { readonly pages: readonly { readonly rows: readonly Row[] }[] } | undefined
  readonly isPending: boolean
  readonly error: unknown
  readonly hasNextPage: boolean
  readonly isFetchingNextPage: boolean
  readonly fetchNextPage: () => Promise<unknown>
}

interface EvidenceListProps<Row> {
  readonly list: Pages<Row>
  /** What the search looks in. */
  readonly searched: string
  readonly none: string
  readonly caption: string
  readonly head: ReactNode
  readonly row: (row: Row) => ReactNode
}

/** A long list, newest first, narrowed by a text and a unit, page after page. */
export function EvidenceList<Row>({ list, searched, none, caption, head, row }: EvidenceListProps<Row>) {
  const { params } = useAddress()
  const set = (name: string) => (event: { currentTarget: { value: string } }) =>
    changeParams({ [name]: event.currentTarget.value || null }, { replace: true })
  const rows = list.data?.pages.flatMap((page) => page.rows) ?? []
  return (
    <>
      <search className="evidence-filters">
        <TextInput
          type="search"
          label="Find"
          placeholder={searched}
          value={params.get('text') ?? ''}
          onChange={set('text')}
        />
        <TextInput label="Unit" value={params.get('unit') ?? ''} onChange={set('unit')} />
      </search>
      {list.error !== null && (
        <ProblemNotice title="The list could not be read" error={list.error}>
          <Button variant="default" onClick={() => changeParams({ unit: null, text: null })}>
            Clear the search
          </Button>
        </ProblemNotice>
      )}
      {list.isPending && <output>Reading the record…</output>}
      {list.data && rows.length === 0 && (
        <p className="sheet-none">{params.get('text') || params.get('unit') ? 'Nothing matches.' : none}</p>
      )}
      {rows.length > 0 && (
        <>
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard */}
          <section className="scales-frame" aria-label={caption} tabIndex={0}>
            <table className="sheet-table">
              <caption className="unheard">{caption}</caption>
              <thead>
                <tr>{head}</tr>
              </thead>
              <tbody>{rows.map(row)}</tbody>
            </table>
          </section>
          <p className="quiet">
            {count(rows.length)} shown, newest first.{' '}
            {list.hasNextPage && (
              <Button variant="default" loading={list.isFetchingNextPage} onClick={() => void list.fetchNextPage()}>
                Show more
              </Button>
            )}
          </p>
        </>
      )}
    </>
  )
}

/** Weights or pressures, each with the place that it is of. */
export function Places({
  parts,
  quantity,
}: {
  parts: readonly { readonly place: string; readonly value: number }[]
  quantity: Quantity
}) {
  return (
    <ul className="evidence-places">
      {parts.map(({ place, value }) => (
        <li key={place}>
          <span className="quiet">{place}</span> {quantity.text(value)}
        </li>
      ))}
    </ul>
  )
}

function Standing({ voided, line }: Pick<CalibrationRow, 'voided' | 'line'>) {
  const { weight, slope, times } = useMeasures()
  if (voided)
    return (
      <>
        voided {times.moment(voided.at)}
        {voided.by && ` by ${voided.by}`}: {voided.reason}
      </>
    )
  if (!line) return <span className="quiet">not in use</span>
  return (
    <>
      in use: {weight.estimate(line.a)} + {slope.text(line.b)}
      {line.uLimitLb !== null && <>, {weight.plusMinus(line.uLimitLb)} at the limit (95 %)</>}
    </>
  )
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
      searched="Unit, group or person"
      none="No calibration yet. Weigh a unit at two loads or more at the Weigh-in."
      caption="Calibrations, newest first"
      head={
        <>
          <th scope="col">Calibrated</th>
          <th scope="col">Group</th>
          <th scope="col">By</th>
          <th scope="col" className="figure">
            Points
          </th>
          <th scope="col">Line</th>
          <th scope="col">
            <span className="unheard">Void</span>
          </th>
        </>
      }
      row={({ id, unit, group, calibratedAt, by, points, voided, line }) => (
        <tr key={id} className={voided ? 'evidence-void' : undefined}>
          <td className="nowrap">{times.moment(calibratedAt)}</td>
          <th scope="row" className="nowrap">
            <a href={hrefOf('unit', unit, { group })}>
              {unit} {group}
            </a>
          </th>
          <td>{by ?? unknownText}</td>
          <td className="figure">{count(points)}</td>
          <td>
            <Standing voided={voided} line={line} />
          </td>
          <td>
            {voided ? '' : <VoidCalibration id={id} name={`${unit} ${group} of ${times.moment(calibratedAt)}`} />}
          </td>
        </tr>
      )}
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
      searched="Name of the reading"
      none="No reading yet. Type one at Weigh now or the Weigh-in, or bring in a fleet folder."
      caption="Readings, newest first"
      head={
        <>
          <th scope="col">Taken</th>
          <th scope="col">Reading</th>
          <th scope="col">Ticket</th>
          <th scope="col">Lift axles</th>
          <th scope="col">Pressures as read</th>
        </>
      }
      row={({ id, reading, takenAt, lift, ticketId, ticket, pressures }) => (
        <tr key={id}>
          <td className="nowrap">{times.moment(takenAt)}</td>
          <th scope="row" className="nowrap">
            <a href={hrefOf('reading', String(id))}>{reading}</a>
          </th>
          <td>
            {ticketId === null ? (
              <span className="quiet">none</span>
            ) : (
              <a href={hrefOf('ticket', String(ticketId))}>{ticket}</a>
            )}
          </td>
          <td>{lift ?? unknownText}</td>
          <td>
            <Places parts={pressures} quantity={pressure} />
          </td>
        </tr>
      )}
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
      searched="Number or scale"
      none="No ticket yet. Enter the first at the Weigh-in, or bring in a fleet folder."
      caption="Tickets, newest first"
      head={
        <>
          <th scope="col">Weighed</th>
          <th scope="col">Ticket</th>
          <th scope="col">Scale</th>
          <th scope="col">Weights</th>
          <th scope="col" className="figure">
            Gross
          </th>
          <th scope="col" className="figure">
            Readings
          </th>
          <th scope="col" className="figure">
            Lines
          </th>
          <th scope="col" className="figure">
            Scans
          </th>
        </>
      }
      row={({ id, number, scale, weighedAt, grossLb, units, weights, readings, lines, attachments }) => (
        <tr key={id}>
          <td className="nowrap">{times.moment(weighedAt)}</td>
          <th scope="row">
            <a href={hrefOf('ticket', String(id))}>{number}</a>
          </th>
          <td>{scale}</td>
          <td>{weights.length === 0 ? units.join(', ') : <Places parts={weights} quantity={weight} />}</td>
          <td className="figure">{grossLb === null ? unknownText : weight.text(grossLb)}</td>
          <td className="figure">{count(readings)}</td>
          <td className="figure">{count(lines)}</td>
          <td className="figure">{count(attachments)}</td>
        </tr>
      )}
    />
  )
}
