import { useQuery } from '@tanstack/react-query'
import { lazy } from 'react'
import type { BenchCostView } from '#core/contracts/bench.ts'
import { api } from '#renderer/client/api.ts'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, decimal, ratio } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { intervalWords } from './life-words.ts'

const CostChart = lazy(() => import('./cost-chart.tsx'))
const monthsShown = 24

function Months({ months }: Pick<BenchCostView, 'months'>) {
  return (
    <table className="sheet-table shop-months">
      <thead>
        <tr>
          <th scope="col">Month</th>
          <th scope="col" className="figure">
            Swaps made
          </th>
          <th scope="col" className="figure">
            Deaths avoided
          </th>
          <th scope="col" className="figure">
            Deaths suffered
          </th>
        </tr>
      </thead>
      <tbody>
        {months.toReversed().map(({ month, swaps, deaths, deathsAvoided }) => (
          <tr key={month}>
            <th scope="row">{month}</th>
            <td className="figure">{count(swaps)}</td>
            <td className="figure">{decimal(deathsAvoided)}</td>
            <td className="figure">{count(deaths)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  )
}

function Intervals({ intervals, riskPercent }: Pick<BenchCostView, 'intervals' | 'riskPercent'>) {
  return (
    <>
      <p className="shop-words">
        What one sensor takes a year when its cell is swapped at the House Rules’ risk of {count(riskPercent)} %: at
        today’s reporting interval, and if it reported faster. A dead cell is a blind load and a visit nobody planned.
      </p>
      <table className="sheet-table">
        <thead>
          <tr>
            <th scope="col">Cell</th>
            <th scope="col">Reports every</th>
            <th scope="col" className="figure">
              Sensors today
            </th>
            <th scope="col" className="figure">
              Cells a year, each
            </th>
            <th scope="col" className="figure">
              Deaths a year, each
            </th>
            <th scope="col" className="figure">
              Cells a year, all of them
            </th>
            <th scope="col" className="figure">
              Swap by age
            </th>
          </tr>
        </thead>
        {intervals.map(({ cell, sensors, now, faster }) => (
          <tbody key={`${cell} ${now.reportEveryS}`}>
            {[now, ...faster].map((year) => (
              <tr key={year.reportEveryS} data-current={year === now || undefined}>
                <th scope="row">{cell ?? 'unknown'}</th>
                <td>
                  {intervalWords(year.reportEveryS)} {year === now && <span className="quiet">today</span>}
                </td>
                <td className="figure">{year === now ? count(sensors) : ''}</td>
                <td className="figure">{ratio(year.cells)}</td>
                <td className="figure">{ratio(year.deaths)}</td>
                <td className="figure">{count(year.cells * sensors)}</td>
                <td className="figure">{count(year.swapAgeDays)} d</td>
              </tr>
            ))}
          </tbody>
        ))}
      </table>
    </>
  )
}

/** What the cells have cost by month, and what a faster reporting interval would. */
export function CostPart() {
  const cost = useQuery(api.bench.cost.queryOptions())
  if (cost.isPending) return <output>Counting the swaps…</output>
  if (cost.isError) return <ProblemNotice title="The cost could not be worked out" error={cost.error} />
  const { months, intervals, riskPercent } = cost.data
  const latest = months.slice(-monthsShown)
  return (
    <div className="shop-cost">
      <section className="shop-chart" aria-labelledby="shop-months">
        <h2 id="shop-months">By month</h2>
        <p className="shop-words">
          A death is avoided as far as the swapped cell would have died before the next visit. The latest{' '}
          {count(latest.length)} months.
        </p>
        {latest.length === 0 ? (
          <p className="quiet">No swap is on record.</p>
        ) : (
          <ChartOrTable
            param="months"
            label="Months as"
            chart={<CostChart months={latest} />}
            table={<Months months={latest} />}
          />
        )}
      </section>
      <h2>What a faster interval costs</h2>
      {intervals.length === 0 ? (
        <p className="quiet">No cell in service has a reporting interval on record.</p>
      ) : (
        <Intervals intervals={intervals} riskPercent={riskPercent} />
      )}
    </div>
  )
}
