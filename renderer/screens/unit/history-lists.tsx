import type { UnitSheetView } from '#core/api/contract.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { moment, useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/ticket-link.tsx'
import { unknownText } from '#renderer/parts/words.ts'

/** Work done on the unit, newest first. */
export function EventList({ events }: { events: UnitSheetView['events'] }) {
  if (events.length === 0) return <p className="sheet-none">No event recorded.</p>
  const newestFirst = [...events].sort((a, b) => b.happenedAt.localeCompare(a.happenedAt))
  return (
    <table className="sheet-table">
      <caption className="unheard">Events, newest first</caption>
      <thead>
        <tr>
          <th scope="col">When</th>
          <th scope="col">What</th>
          <th scope="col">Where</th>
          <th scope="col">Note</th>
        </tr>
      </thead>
      <tbody>
        {newestFirst.map(({ happenedAt, kind, group, circuit, note }) => (
          <tr key={`${happenedAt} ${kind} ${group} ${circuit} ${note}`}>
            <th scope="row" className="nowrap">
              {moment(happenedAt)}
            </th>
            <td>{kind}</td>
            <td>{[group, circuit].filter(Boolean).join(', ') || 'whole unit'}</td>
            <td>{note ?? ''}</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

/** The newest readings of the unit, with the ticket each belongs to. */
export function ReadingList({ readings }: { readings: UnitSheetView['readings'] }) {
  const { pressure } = useMeasures()
  if (readings.length === 0) return <p className="sheet-none">No reading recorded.</p>
  const columns = [
    ...new Map(
      readings.flatMap(({ pressures }) =>
        pressures.map(({ group, circuit }) => [`${group} ${circuit}`, { group, circuit }] as const),
      ),
    ).values(),
  ]
  return (
    <table className="sheet-table">
      <caption className="unheard">Newest readings, pressures in {pressure.symbol} as read</caption>
      <thead>
        <tr>
          <th scope="col">Taken</th>
          <th scope="col">Reading</th>
          <th scope="col">Ticket</th>
          <th scope="col">Lift axle</th>
          {columns.map(({ group, circuit }) => (
            <th key={`${group} ${circuit}`} scope="col" className="figure">
              {group === circuit ? group : `${group} ${circuit}`}, {pressure.symbol}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {readings.map(({ reading, takenAt, ticket, scale, lift, pressures }) => (
          <tr key={reading}>
            <th scope="row" className="nowrap">
              {moment(takenAt)}
            </th>
            <td>
              <a href={hrefOf('scale-house', 'readings', { text: reading })}>{reading}</a>
            </td>
            <td>
              {ticket === null ? <span className="quiet">none</span> : <TicketLink number={ticket} scale={scale} />}
            </td>
            <td>{lift ?? unknownText}</td>
            {columns.map((column) => {
              const found = pressures.find(({ group, circuit }) => group === column.group && circuit === column.circuit)
              return (
                <td key={`${column.group} ${column.circuit}`} className="figure">
                  {found ? pressure.figure(found.psi) : ''}
                </td>
              )
            })}
          </tr>
        ))}
      </tbody>
    </table>
  )
}
