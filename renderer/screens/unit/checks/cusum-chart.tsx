import { useMemo } from 'react'
import { CartesianGrid, ComposedChart, Line, ReferenceLine, ResponsiveContainer, Tooltip, XAxis, YAxis } from 'recharts'
import { axisStyle, labelStyle, plotMargin, weightAxisPx } from '#renderer/parts/chart-or-table.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { tickLabel, timeTicks } from '#renderer/screens/unit/chart/axis.ts'
import type { CheckSeries } from './check-series.ts'

/**
 * The sums of misses to either side: upward where the scale keeps showing more, downward where it keeps showing less.
 */
export function CusumChart({
  series: { points, from, to, cusumLimit, cusumReach },
  name,
}: {
  series: CheckSeries
  name: string
}) {
  const { times } = useMeasures()
  const rows = useMemo(
    () => points.map(({ at, check }) => ({ at, high: check.cusumHigh, low: -check.cusumLow })),
    [points],
  )
  const ticks = timeTicks(from, to, times.zone)
  return (
    <div className="chart-plot" data-plot="cusum">
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={rows}
          margin={{ ...plotMargin, bottom: 2 }}
          syncId="checks"
          syncMethod="value"
          accessibilityLayer={false}
          title={`Sums of misses, ${name}`}
        >
          <CartesianGrid stroke="var(--t-line)" />
          <XAxis
            {...axisStyle}
            dataKey="at"
            type="number"
            scale="time"
            domain={[from, to]}
            ticks={ticks}
            tickFormatter={(at: number) => tickLabel(at, ticks, times.zone)}
            allowDataOverflow
          />
          <YAxis
            {...axisStyle}
            type="number"
            domain={[-cusumReach.less, cusumReach.more]}
            ticks={[-cusumLimit, 0, cusumLimit]}
            tickFormatter={(sum: number) => count(Math.abs(sum))}
            width={weightAxisPx}
            label={{ ...labelStyle, value: 'Sum', angle: -90, position: 'insideLeft', textAnchor: 'middle' }}
          />
          <ReferenceLine y={0} stroke="var(--t-ink-2)" />
          {[1, -1].map((side) => (
            <ReferenceLine
              key={side}
              y={side * cusumLimit}
              stroke="var(--t-ink)"
              strokeDasharray="8 3"
              label={{
                value: `limit ${count(cusumLimit)}: ${side > 0 ? 'the scale keeps showing more' : 'the scale keeps showing less'}`,
                position: side > 0 ? 'insideBottomLeft' : 'insideTopLeft',
                fill: 'var(--t-ink)',
                fontSize: 12,
              }}
            />
          ))}
          <Line
            dataKey="high"
            type="linear"
            stroke="var(--t-accent)"
            strokeWidth={2}
            dot={{ r: 2, fill: 'var(--t-accent)' }}
            activeDot={false}
            isAnimationActive={false}
          />
          <Line
            dataKey="low"
            type="linear"
            stroke="var(--t-accent)"
            strokeWidth={2}
            strokeDasharray="6 3"
            dot={{ r: 2, fill: 'var(--t-accent)', strokeDasharray: 'none' }}
            activeDot={false}
            isAnimationActive={false}
          />
          <Tooltip cursor={{ stroke: 'var(--t-ink-2)' }} isAnimationActive={false} content={() => null} />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
