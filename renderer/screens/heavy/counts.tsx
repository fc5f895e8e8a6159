import { lazy, useMemo } from 'react'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, share, useMeasures } from '#renderer/parts/format.ts'
import { type Columns, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { type Tally, everyMonth, rateOf } from './heavy-counts.ts'
import { limitName, logHref } from './heavy-entry.tsx'

/** How often something was weighed, and how often it was over or too close to call. */
export const tallyColumns: Columns<Tally> = [
  ['Weighings', ({ weighings }) => count(weighings), 'figure'],
  ['Over', ({ over }) => count(over), 'figure'],
  ['of weighings', (tally) => share(rateOf(tally.over, tally)), 'figure'],
  ['Too close', ({ close }) => count(close), 'figure'],
]

const MonthChart = lazy(() => import('./month-chart.tsx'))

const monthKeys = (
  <>
    <ChartKey widthPx={14} sample={<rect width="14" height="12" fill="var(--t-uncalibrated)" />}>
      over a limit
    </ChartKey>
    <ChartKey
      widthPx={14}
      sample={
        <>
          <rect x="0.5" y="0.5" width="13" height="11" fill="none" stroke="var(--t-overdue)" />
          <path d="M0 8 8 0M3 12 14 1M9 12l5-5" stroke="var(--t-overdue)" />
        </>
      }
    >
      too close to call
    </ChartKey>
  </>
)

/** When, where and on which limit: the months as a chart, yards and limits as tables. */
export function CountView({ summary: { byMonth, byYard, byLimit } }: { summary: HeavySummary }) {
  const { params } = useAddress()
  const { weight } = useMeasures()
  const months = useMemo(() => everyMonth(byMonth), [byMonth])
  return (
    <div className="heavy-counts">
      <Section className="heavy-part" title="By month">
        <p className="heavy-words">
          The share of each month’s weighings that were over a limit, or too close to call. Months are the fleet’s.
        </p>
        <ChartOrTable
          param="months"
          label="Months as"
          keys={monthKeys}
          chart={<MonthChart months={months} />}
          table={
            <SheetTable
              frame="heavy-scroll heavy-months"
              label="Numbers of the months"
              caption="By month, newest first"
              rows={months.toReversed()}
              keyOf={({ month }) => month}
              columns={[['Month', ({ month }) => month], ...tallyColumns]}
            />
          }
        />
      </Section>
      <Section className="heavy-part" title="By yard">
        <p className="heavy-words">The yard of the unit at the head.</p>
        <SheetTable
          caption="By yard"
          rows={byYard}
          keyOf={({ yard }) => yard ?? ''}
          columns={[
            [
              'Yard',
              ({ yard }) =>
                yard === null ? <span className="quiet">no yard</span> : <a href={logHref(params, { yard })}>{yard}</a>,
            ],
            ...tallyColumns,
          ]}
        />
      </Section>
      <Section className="heavy-part" title="By limit">
        <p className="heavy-words">Weights, not weighings: one weighing may break several limits.</p>
        <SheetTable
          caption="By limit"
          rows={byLimit}
          keyOf={limitName}
          columns={[
            [
              'Limit',
              (row) =>
                row.kind === 'group' ? (
                  limitName(row)
                ) : (
                  <a href={logHref(params, { limit: row.kind })}>{limitName(row)}</a>
                ),
            ],
            ['Over', ({ over }) => count(over), 'figure'],
            ['Too close', ({ close }) => count(close), 'figure'],
            [`Worst, ${weight.symbol}`, ({ worstLb }) => weight.difference(worstLb), 'figure'],
          ]}
        />
      </Section>
    </div>
  )
}
