import type { GroupView } from '#core/contracts/unit.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/ticket-link.tsx'
import { type LineSeries, lineName, residual, sampleEvery } from './line-series.ts'

/** The chart's numbers as two tables: the lines every five psi, and the tickets of the line in force. */
export function LineTable({ group, series }: { group: GroupView; series: LineSeries }) {
  const { pressure, weight, times } = useMeasures()
  const line = series.current
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="line-tables" aria-label={`Numbers of the chart, ${group.name}`} tabIndex={0}>
      <table className="sheet-table">
        <caption>
          Weight at a pressure. Limit {weight.text(group.limitLb)}
          {group.limitPsi && (
            <>
              , reached at {pressure.text(group.limitPsi.value)} {pressure.plusMinusFigure(group.limitPsi.u)} (95 %)
            </>
          )}
        </caption>
        <thead>
          <tr>
            <th scope="col" className="figure">
              {pressure.symbol}
            </th>
            {series.current && (
              <th scope="col" className="figure">
                In force, {lineName(series, series.current, times)}, {weight.symbol}
              </th>
            )}
            {series.current && (
              <th scope="col" className="figure">
                95 %, {weight.symbol}
              </th>
            )}
            {series.earlier.map((earlier) => (
              <th key={earlier.id} scope="col" className="figure">
                {lineName(series, earlier, times)}, {weight.symbol}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {sampleEvery(series, 5).map(({ psi, current, earlier }) => (
            <tr key={psi}>
              <th scope="row" className="figure">
                {pressure.figure(psi)}
              </th>
              {current && <td className="figure">{weight.figure(Math.round(current.value / 10) * 10)}</td>}
              {current && <td className="figure">{weight.plusMinusFigure(current.u)}</td>}
              {earlier.map((weightLb, i) => (
                <td key={series.earlier[i]?.id} className="figure">
                  {weight.figure(Math.round(weightLb / 10) * 10)}
                  {current && ` (${weight.difference(weightLb - current.value)})`}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
      {line && (
        <table className="sheet-table">
          <caption>Tickets of the line in force, ± 2u</caption>
          <thead>
            <tr>
              <th scope="col">Ticket</th>
              <th scope="col">Weighed</th>
              <th scope="col" className="figure">
                {pressure.symbol}
              </th>
              <th scope="col" className="figure">
                Weight, {weight.symbol}
              </th>
              <th scope="col" className="figure">
                Off the line, {weight.symbol}
              </th>
            </tr>
          </thead>
          <tbody>
            {line.points.map((point) => (
              <tr key={`${point.scale} ${point.ticket}`}>
                <th scope="row">
                  <TicketLink number={point.ticket} scale={point.scale} />
                </th>
                <td className="nowrap">{times.moment(point.weighedAt)}</td>
                <td className="figure">
                  {pressure.figure(point.psi)} {pressure.plusMinusFigure(point.uPsi)}
                </td>
                <td className="figure">
                  {weight.figure(point.weightLb)} {weight.plusMinusFigure(point.uLb)}
                </td>
                <td className="figure">
                  {weight.difference(residual({ current: line }, point).value)}{' '}
                  {weight.plusMinusFigure(residual({ current: line }, point).u)}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  )
}
