import { useInfiniteQuery } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, moment, useMeasures } from '#renderer/parts/format.ts'
import { unknownText } from '#renderer/parts/words.ts'
import { type After, EvidenceList, pageAfterPage, Places, useListFilter } from './evidence-list.tsx'

/** Every ticket of the record. */
export function TicketsPart() {
  const { weight } = useMeasures()
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
          <td className="nowrap">{moment(weighedAt)}</td>
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
