import { lazy, useMemo } from 'react'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, share, useMeasures } from '#renderer/parts/format.ts'
import { type Tally, everyMonth, rateOf } from './heavy-counts.ts'
import { limitName, logHref } from './heavy-entry.tsx'

export const TallyHeads = () => (
  <>
    <th scope="col" className="figure">
      Weighings
    </th>
    <th scope="col" className="figure">
      Over
    </th>
    <th scope="col" className="figure">
      of weighings
    </th>
    <th scope="col" className="figure">
      Too close
    </th>
  </>
)

/** How often something was weighed, and how often it was over or too close to call. */
export function TallyCells({ tally }: { tally: Tally }) {
  const { weighings, over, close } = tally
  return (
    <>
      <td className="figure">{count(weighings)}</td>
      <td className="figure">{count(over)}</td>
      <td className="figure">{share(rateOf(over, tally))}</td>
      <td className="figure">{count(close)}</td>
    </>
  )
}

const MonthChart = lazy(() => import('./month-chart.tsx'))

function MonthTable({ months }: { months: HeavySummary['byMonth'] }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="heavy-scroll" data-part="months" aria-label="Numbers of the months" tabIndex={0}>
      <table className="sheet-table">
        <caption className="unheard">By month, newest first</caption>
        <thead>
          <tr>
            <th scope="col">Month</th>
            <TallyHeads />
          </tr>
        </thead>
        <tbody>
          {[...months].reverse().map((row) => (
            <tr key={row.month}>
              <th scope="row">{row.month}</th>
              <TallyCells tally={row} />
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  )
}

function MonthKey() {
  return (
    <figcaption className="chart-key">
      <span>
        <svg width="14" height="12" aria-hidden="true">
          <rect width="14" height="12" fill="var(--t-uncalibrated)" />
        </svg>
        over a limit
      </span>
      <span>
        <svg width="14" height="12" aria-hidden="true">
          <rect x="0.5" y="0.5" width="13" height="11" fill="none" stroke="var(--t-overdue)" />
          <path d="M0 8 8 0M3 12 14 1M9 12l5-5" stroke="var(--t-overdue)" />
        </svg>
        too close to call
      </span>
    </figcaption>
  )
}

/** When, where and on which limit: the months as a chart, yards and limits as tables. */
export function CountView({ summary: { byMonth, byYard, byLimit } }: { summary: HeavySummary }) {
  const { params } = useAddress()
  const { weight } = useMeasures()
  const months = useMemo(() => everyMonth(byMonth), [byMonth])
  return (
    <div className="heavy-counts">
      <section className="heavy-part" aria-labelledby="months-title">
        <h2 id="months-title">By month</h2>
        <p className="heavy-words">
          The share of each month’s weighings that were over a limit, or too close to call. Months are those of UTC.
        </p>
        <ChartOrTable
          param="months"
          label="Months as"
          chart={
            <figure className="chart">
              <MonthKey />
              <MonthChart months={months} />
            </figure>
          }
          table={<MonthTable months={months} />}
        />
      </section>
      <section className="heavy-part" aria-labelledby="yards-title">
        <h2 id="yards-title">By yard</h2>
        <p className="heavy-words">The yard of the unit at the head.</p>
        <table className="sheet-table">
          <caption className="unheard">By yard</caption>
          <thead>
            <tr>
              <th scope="col">Yard</th>
              <TallyHeads />
            </tr>
          </thead>
          <tbody>
            {byYard.map((row) => (
              <tr key={row.yard}>
                <th scope="row">
                  {row.yard === null ? (
                    <span className="quiet">no yard</span>
                  ) : (
                    <a href={logHref(params, { yard: row.yard })}>{row.yard}</a>
                  )}
                </th>
                <TallyCells tally={row} />
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <section className="heavy-part" aria-labelledby="limits-title">
        <h2 id="limits-title">By limit</h2>
        <p className="heavy-words">Weights, not weighings: one weighing may break several limits.</p>
        <table className="sheet-table">
          <caption className="unheard">By limit</caption>
          <thead>
            <tr>
              <th scope="col">Limit</th>
              <th scope="col" className="figure">
                Over
              </th>
              <th scope="col" className="figure">
                Too close
              </th>
              <th scope="col" className="figure">
                Worst, {weight.symbol}
              </th>
            </tr>
          </thead>
          <tbody>
            {byLimit.map((row) => (
              <tr key={limitName(row)}>
                <th scope="row">
                  {row.kind === 'group' ? (
                    limitName(row)
                  ) : (
                    <a href={logHref(params, { limit: row.kind })}>{limitName(row)}</a>
                  )}
                </th>
                <td className="figure">{count(row.over)}</td>
                <td className="figure">{count(row.close)}</td>
                <td className="figure">{weight.difference(row.worstLb)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </div>
  )
}
