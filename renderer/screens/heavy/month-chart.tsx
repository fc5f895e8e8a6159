import { useId, useMemo } from 'react'
import { Bar, CartesianGrid, ComposedChart, ResponsiveContainer, Tooltip, XAxis, YAxis } from 'recharts'
import type { HeavySummary } from '#core/contracts/heavy.ts'
import { axisStyle, labelStyle, plotMargin } from '#renderer/parts/chart-or-table.tsx'
import { count, share } from '#renderer/parts/format.ts'
import { rateOf } from './heavy-counts.ts'

type Month = HeavySummary['byMonth'][number]

function Reading({ month }: { month: Month }) {
  return (
    <div className="chart-reading">
      <strong>{month.month}</strong>
      <div>
        over: {count(month.over)} of {count(month.weighings)} weighings, {share(rateOf(month.over, month))}
      </div>
      <div>
        too close to call: {count(month.close)}, {share(rateOf(month.close, month))}
      </div>
    </div>
  )
}

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
    <div className="chart-plot" data-plot="months">
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={rows}
          margin={plotMargin}
          title="Share of weighings over a limit by month. The arrow keys go from month to month; the table holds the same numbers."
        >
          <defs>
            <pattern id={hatch} width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
              <path d="M0 0v6" stroke="var(--t-overdue)" strokeWidth="2.4" />
            </pattern>
          </defs>
          <CartesianGrid stroke="var(--t-line)" vertical={false} />
          <XAxis {...axisStyle} dataKey="month" minTickGap={14} />
          <YAxis
            {...axisStyle}
            type="number"
            tickFormatter={(percent: number) => count(percent)}
            width={54}
            label={{ ...labelStyle, value: 'Weighings, %', angle: -90, position: 'insideLeft', textAnchor: 'middle' }}
          />
          <Bar dataKey="over" stackId="share" fill="var(--t-uncalibrated)" isAnimationActive={false} />
          <Bar
            dataKey="close"
            stackId="share"
            fill={`url(#${hatch})`}
            stroke="var(--t-overdue)"
            isAnimationActive={false}
          />
          <Tooltip
            cursor={{ fill: 'var(--t-ink-2)', fillOpacity: 0.12 }}
            isAnimationActive={false}
            content={({ active, label }) => {
              const month = active ? months.find(({ month: name }) => name === label) : undefined
              return month ? <Reading month={month} /> : null
            }}
          />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
