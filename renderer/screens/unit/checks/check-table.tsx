import { decimal, useMeasures } from '#renderer/parts/format.ts'
import { TicketLink } from '#renderer/parts/ticket-link.tsx'
import { markWords } from '#renderer/screens/unit/chart/evidence-marks.tsx'
import { slipWord } from '#renderer/screens/unit/track/track-words.ts'
import type { CheckSeries } from './check-series.ts'

/** The check chart's numbers, newest first. */
export function CheckTable({ series, name }: { series: CheckSeries; name: string }) {
  const { weight, pressure, times } = useMeasures()
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="evidence-table" aria-label={`Numbers of the checks, ${name}`} tabIndex={0}>
      <table className="sheet-table">
        <caption>
          Check weighings of the line in use, newest first. Limit of the sums {decimal(series.cusumLimit)}.
        </caption>
        <thead>
          <tr>
            <th scope="col">Weighed</th>
            <th scope="col">Ticket</th>
            <th scope="col">What</th>
            <th scope="col" className="figure">
              Read, {pressure.symbol}
            </th>
            <th scope="col" className="figure">
              Ticket, {weight.symbol}
            </th>
            <th scope="col" className="figure">
              Miss, 95 %, {weight.symbol}
            </th>
            <th scope="col" className="figure">
              Miss over u
            </th>
            <th scope="col" className="figure">
              Sum, more
            </th>
            <th scope="col" className="figure">
              Sum, less
            </th>
          </tr>
        </thead>
        <tbody>
          {[...series.points].reverse().map(({ kind, check }) => (
            <tr key={`${check.at} ${check.ticket}`}>
              <th scope="row" className="nowrap">
                {times.moment(check.at)}
              </th>
              <td>
                <TicketLink number={check.ticket} scale={check.scale} />
              </td>
              <td>
                {markWords[kind]}
                {check.slip && `: ${slipWord(check.slip)}`}
              </td>
              <td className="figure">{pressure.figure(check.psi)}</td>
              <td className="figure">{weight.figure(check.weightLb)}</td>
              <td className="figure">
                {weight.difference(check.missLb)} {weight.plusMinusFigure(check.uMissLb)}
              </td>
              <td className="figure">{decimal(check.z)}</td>
              <td className="figure">{decimal(check.cusumHigh)}</td>
              <td className="figure">{decimal(check.cusumLow)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}
