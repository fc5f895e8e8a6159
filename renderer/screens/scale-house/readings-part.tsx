import { useInfiniteQuery } from '@tanstack/react-query'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { moment, useMeasures } from '#renderer/parts/format.ts'
import { unknownText } from '#renderer/parts/words.ts'
import { type After, EvidenceList, pageAfterPage, Places, useListFilter } from './evidence-list.tsx'

/** Every reading of the record, with a ticket or without. */
export function ReadingsPart() {
  const { pressure } = useMeasures()
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
          <td className="nowrap">{moment(takenAt)}</td>
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
