import { lazy, useMemo } from 'react'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { ChartKey, ChartOrTable } from '#renderer/parts/chart-or-table.tsx'
import { count, share, useMeasures } from '#renderer/parts/format.ts'
import { type Columns, SheetTable } from '#renderer/parts/sheet-table.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { type Tally, everyMonth, rateOf } from './heavy-counts.ts'
import { limitName, logHref } from './heavy-entry.tsx'

/** How often something was weighed, and how often it was over or too close to call. */
export const tallyColumns: Columns<Tally> = [
  [phrase('Weighings'), ({ weighings }) => count(weighings), 'figure'],
  [phrase('Over'), ({ over }) => count(over), 'figure'],
  [phrase('of weighings'), (tally) => share(rateOf(tally.over, tally)), 'figure'],
  [phrase('Too close'), ({ close }) => count(close), 'figure'],
]

const MonthChart = lazy(() => import('./month-chart.tsx'))

const monthKeys = (
  <>
    <ChartKey widthPx={14} sample={<rect width="14" height="12" fill="var(--t-uncalibrated)" />}>
      {phrase('over a limit')}
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
      {phrase('too close to call')}
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
      <Section className="heavy-part" title={phrase('By month')}>
        <p className="heavy-words">
          {phrase(
            'The share of each month’s weighings that were over a limit, or too close to call. Months are the fleet’s.',
          )}
        </p>
        <ChartOrTable
          param="months"
          label={phrase('Months as')}
          keys={monthKeys}
          chart={<MonthChart months={months} />}
          table={
            <SheetTable
              frame="heavy-scroll heavy-months"
              label={phrase('Numbers of the months')}
              caption={phrase('By month, newest first')}
              rows={months.toReversed()}
              keyOf={({ month }) => month}
              columns={[[phrase('Month'), ({ month }) => month], ...tallyColumns]}
            />
          }
        />
      </Section>
      <Section className="heavy-part" title={phrase('By yard')}>
        <p className="heavy-words">{phrase('The yard of the unit at the head.')}</p>
        <SheetTable
          caption={phrase('By yard')}
          rows={byYard}
          keyOf={({ yard }) => yard ?? ''}
          columns={[
            [
              phrase('Yard'),
              ({ yard }) =>
                yard === null ? (
                  <span className="quiet">{phrase('no yard')}</span>
                ) : (
                  <a href={logHref(params, { yard })}>{yard}</a>
                ),
            ],
            ...tallyColumns,
          ]}
        />
      </Section>
      <Section className="heavy-part" title={phrase('By limit')}>
        <p className="heavy-words">{phrase('Weights, not weighings: one weighing may break several limits.')}</p>
        <SheetTable
          caption={phrase('By limit')}
          rows={byLimit}
          keyOf={limitName}
          columns={[
            [
              phrase('Limit'),
              (row) =>
                row.kind === 'group' ? (
                  limitName(row)
                ) : (
                  <a href={logHref(params, { limit: row.kind })}>{limitName(row)}</a>
                ),
            ],
            [phrase('Over'), ({ over }) => count(over), 'figure'],
            [phrase('Too close'), ({ close }) => count(close), 'figure'],
            [
              phrase('Worst, {weightSymbol}', { weightSymbol: weight.symbol }),
              ({ worstLb }) => weight.difference(worstLb),
              'figure',
            ],
          ]}
        />
      </Section>
    </div>
  )
}
