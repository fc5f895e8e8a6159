import { useId, useMemo } from 'react'
import { Bar, XAxis } from 'recharts'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { count, share } from '#renderer/parts/format.ts'
import { Plot, QuantityAxis, ReadOut, axisStyle } from '#renderer/parts/plot.tsx'
import { phrase } from '#core/words/phrase.ts'
import { rateOf } from './heavy-counts.ts'

type Month = HeavySummary['byMonth'][number]

const Reading = ({ month }: { month: Month }) => (
  <div className="chart-reading">
    <strong>{month.month}</strong>
    <div>
      {phrase('over: {over} of {weighings} weighings, {over2}', {
        over: count(month.over),
        weighings: count(month.weighings),
        over2: share(rateOf(month.over, month)),
      })}
    </div>
    <div>
      {phrase('too close to call: {close}, {close2}', {
        close: count(month.close),
        close2: share(rateOf(month.close, month)),
      })}
    </div>
  </div>
)

/** Month by month the share of weighings over a limit, and on top of it the share too close to call. */
export default function MonthChart({ months }: { months: readonly Month[] }) {
  const hatch = useId()
  const rows = useMemo(
    () =>
      months.map((month) => ({
        month: month.month,
        over: 100 * rateOf(month.over, month),
        close: 100 * rateOf(month.close, month),
      })),
    [months],
  )
  return (
    <Plot
      name="months"
      title={phrase(
        'Share of weighings over a limit by month. The arrow keys go from month to month; the table holds the same numbers.',
      )}
      heightPx={250}
      rows={rows}
      upright={false}
    >
      <defs>
        <pattern id={hatch} width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path d="M0 0v6" stroke="var(--t-overdue)" strokeWidth="2.4" />
        </pattern>
      </defs>
      <XAxis {...axisStyle} dataKey="month" minTickGap={14} />
      <QuantityAxis name={phrase('Weighings, %')} tickFormatter={(percent: number) => count(percent)} width={54} />
      <Bar dataKey="over" stackId="share" fill="var(--t-uncalibrated)" isAnimationActive={false} />
      <Bar
        dataKey="close"
        stackId="share"
        fill={`url(#${hatch})`}
        stroke="var(--t-overdue)"
        isAnimationActive={false}
      />
      <ReadOut rows={months} at={({ month }) => month} cursor={{ fill: 'var(--t-ink-2)', fillOpacity: 0.12 }}>
        {(month) => <Reading month={month} />}
      </ReadOut>
    </Plot>
  )
}
