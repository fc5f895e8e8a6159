import { useQuery } from '@tanstack/react-query'
import { lazy } from 'react'
import type { BenchCostView } from '#core/contracts/bench.ts'
import { money } from '#core/words/text.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, decimal, ratio } from '#renderer/parts/format.ts'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { intervalWords } from './life-words.ts'

const CostChart = lazy(() => import('./cost-chart.tsx'))
const monthsShown = 24

const MonthTable = ({ months }: Pick<BenchCostView, 'months'>) => (
  <SheetTable
    className="shop-months"
    rows={months.toReversed()}
    keyOf={({ month }) => month}
    columns={[
      ['Month', ({ month }) => month],
      ['Swaps made', ({ swaps }) => count(swaps), 'figure'],
      ['Deaths avoided', ({ deathsAvoided }) => decimal(deathsAvoided), 'figure'],
      ['Deaths suffered', ({ deaths }) => count(deaths), 'figure'],
      ['Cost', ({ dollars }) => money(dollars), 'figure'],
      ['Spared by swaps', ({ dollarsSpared }) => money(dollarsSpared), 'figure'],
    ]}
  />
)

const Intervals = ({ intervals, riskPercent }: Pick<BenchCostView, 'intervals' | 'riskPercent'>) => (
  <>
    <p className="shop-words">
      What one sensor takes a year when its cell is swapped at the House Rules’ risk of {count(riskPercent)} %: at
      today’s reporting interval, and if it reported faster. 15 seconds is an ordinary interval; a faster one costs cell
      life. A dead cell is a blind load and a visit nobody planned.
    </p>
    <SheetTable
      frame="wide"
      label="What a faster interval costs"
      rows={intervals.flatMap(({ cell, sensors, now, faster }) =>
        [now, ...faster].map((year) => ({ ...year, cell, sensors, of: now.reportEveryS, isNow: year === now })),
      )}
      keyOf={({ cell, of, reportEveryS }) => `${cell} ${of} ${reportEveryS}`}
      mark={({ isNow }) => ({ 'data-current': isNow || undefined })}
      columns={[
        ['Cell', ({ cell }) => cell ?? 'unknown'],
        [
          'Reports every',
          ({ reportEveryS, isNow }) => (
            <>
              {intervalWords(reportEveryS)} {isNow && <span className="quiet">today</span>}
            </>
          ),
        ],
        ['Sensors today', ({ sensors, isNow }) => isNow && count(sensors), 'figure'],
        ['Cells a year, each', ({ cells }) => ratio(cells), 'figure'],
        ['Deaths a year, each', ({ deaths }) => ratio(deaths), 'figure'],
        ['Cells a year, all of them', ({ cells, sensors }) => count(cells * sensors), 'figure'],
        ['Cost a year, each', ({ dollars }) => money(dollars), 'figure'],
        ['Cost a year, all of them', ({ dollars, sensors }) => money(dollars * sensors), 'figure'],
        ['Swap by age', ({ swapAgeDays }) => `${count(swapAgeDays)} d`, 'figure'],
      ]}
    />
  </>
)

function Cost({ cost: { months, intervals, riskPercent, swapDollars, deathDollars } }: { cost: BenchCostView }) {
  const latest = months.slice(-monthsShown)
  return (
    <div className="shop-cost">
      <Section className="shop-chart" title="By month">
        <p className="shop-words">
          A death is avoided as far as the swapped cell would have died before the next visit. The latest{' '}
          {count(latest.length)} months cost {money(latest.reduce((sum, { dollars }) => sum + dollars, 0))}: the cells,
          at their <a href={hrefOf('shop', null, { part: 'order' })}>prices</a>, {money(swapDollars)} of bench time a
          swap, and {money(deathDollars)} a death on the road, as{' '}
          <a href={hrefOf('house-rules', null, { text: 'cost of' })}>House Rules</a> say. The deaths that swaps avoided
          would have cost {money(latest.reduce((sum, { dollarsSpared }) => sum + dollarsSpared, 0))}.
        </p>
        {latest.length === 0 ? (
          <p className="quiet">No swap is on record.</p>
        ) : (
          <ChartOrTable
            param="months"
            label="Months as"
            chart={<CostChart months={latest} />}
            table={<MonthTable months={latest} />}
          />
        )}
      </Section>
      <h2>What a faster interval costs</h2>
      {intervals.length === 0 ? (
        <p className="quiet">No cell in service has a reporting interval on record.</p>
      ) : (
        <Intervals intervals={intervals} riskPercent={riskPercent} />
      )}
    </div>
  )
}

/** What the cells have cost by month, and what a faster reporting interval would. */
export const CostPart = () => (
  <Answer
    to={useQuery(api.bench.cost.queryOptions())}
    waiting="Counting the swaps…"
    failed="The cost could not be worked out"
  >
    {(cost) => <Cost cost={cost} />}
  </Answer>
)
