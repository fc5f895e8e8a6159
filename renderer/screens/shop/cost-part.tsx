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
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { intervalWords } from './life-words.ts'

const CostChart = lazy(() => import('./cost-chart.tsx'))
const monthsShown = 24

const MonthTable = ({ months }: Pick<BenchCostView, 'months'>) => (
  <SheetTable
    className="shop-months"
    rows={months.toReversed()}
    keyOf={({ month }) => month}
    columns={[
      [phrase('Month'), ({ month }) => month],
      [phrase('Swaps made'), ({ swaps }) => count(swaps), 'figure'],
      [phrase('Deaths avoided'), ({ deathsAvoided }) => decimal(deathsAvoided), 'figure'],
      [phrase('Deaths suffered'), ({ deaths }) => count(deaths), 'figure'],
      [phrase('Cost'), ({ dollars }) => money(dollars), 'figure'],
      [phrase('Spared by swaps'), ({ dollarsSpared }) => money(dollarsSpared), 'figure'],
    ]}
  />
)

const Intervals = ({ intervals, riskPercent }: Pick<BenchCostView, 'intervals' | 'riskPercent'>) => (
  <>
    <p className="shop-words">
      {phrase(
        'What one sensor takes a year when its cell is swapped at the House Rules’ risk of {riskPercent} %: at today’s reporting interval, and if it reported faster. 15 seconds is an ordinary interval; a faster one costs cell life. A dead cell is a blind load and a visit nobody planned.',
        { riskPercent: count(riskPercent) },
      )}
    </p>
    <SheetTable
      frame="wide"
      label={phrase('What a faster interval costs')}
      rows={intervals.flatMap(({ cell, sensors, now, faster }) =>
        [now, ...faster].map((year) => ({ ...year, cell, sensors, of: now.reportEveryS, isNow: year === now })),
      )}
      keyOf={({ cell, of, reportEveryS }) => `${cell} ${of} ${reportEveryS}`}
      mark={({ isNow }) => ({ 'data-current': isNow || undefined })}
      columns={[
        [phrase('Cell'), ({ cell }) => cell ?? phrase('unknown')],
        [
          phrase('Reports every'),
          ({ reportEveryS, isNow }) => (
            <>
              {intervalWords(reportEveryS)} {isNow && <span className="quiet">{phrase('today')}</span>}
            </>
          ),
        ],
        [phrase('Sensors today'), ({ sensors, isNow }) => isNow && count(sensors), 'figure'],
        [phrase('Cells a year, each'), ({ cells }) => ratio(cells), 'figure'],
        [phrase('Deaths a year, each'), ({ deaths }) => ratio(deaths), 'figure'],
        [phrase('Cells a year, all of them'), ({ cells, sensors }) => count(cells * sensors), 'figure'],
        [phrase('Cost a year, each'), ({ dollars }) => money(dollars), 'figure'],
        [phrase('Cost a year, all of them'), ({ dollars, sensors }) => money(dollars * sensors), 'figure'],
        [phrase('Swap by age'), ({ swapAgeDays }) => `${count(swapAgeDays)} d`, 'figure'],
      ]}
    />
  </>
)

function Cost({ cost: { months, intervals, riskPercent, swapDollars, deathDollars } }: { cost: BenchCostView }) {
  const latest = months.slice(-monthsShown)
  return (
    <div className="shop-cost">
      <Section className="shop-chart" title={phrase('By month')}>
        <p className="shop-words">
          <Phrase
            text="A death is avoided as far as the swapped cell would have died before the next visit. The latest {months} months cost {cost}: the cells, at their <link>prices</link>, {swapDollars} of bench time a swap, and {deathDollars} a death on the road, as <link2>House Rules</link2> say. The deaths that swaps avoided would have cost {spared}."
            with={{
              months: count(latest.length),
              cost: money(latest.reduce((sum, { dollars }) => sum + dollars, 0)),
              link: (words) => <a href={hrefOf('shop', null, { part: 'order' })}>{words}</a>,
              swapDollars: money(swapDollars),
              deathDollars: money(deathDollars),
              link2: (words) => <a href={hrefOf('house-rules', null, { text: 'cost of' })}>{words}</a>,
              spared: money(latest.reduce((sum, { dollarsSpared }) => sum + dollarsSpared, 0)),
            }}
          />
        </p>
        {latest.length === 0 ? (
          <p className="quiet">{phrase('No swap is on record.')}</p>
        ) : (
          <ChartOrTable
            param="months"
            label={phrase('Months as')}
            chart={<CostChart months={latest} />}
            table={<MonthTable months={latest} />}
          />
        )}
      </Section>
      <h2>{phrase('What a faster interval costs')}</h2>
      {intervals.length === 0 ? (
        <p className="quiet">{phrase('No cell in service has a reporting interval on record.')}</p>
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
    waiting={phrase('Counting the swaps…')}
    failed={phrase('The cost could not be worked out')}
  >
    {(cost) => <Cost cost={cost} />}
  </Answer>
)
