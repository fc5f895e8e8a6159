import { expanded } from '#core/words/coverage.ts'
import { useMemo } from 'react'
import {
  Area,
  CartesianGrid,
  ComposedChart,
  Line,
  ReferenceLine,
  ResponsiveContainer,
  Tooltip,
  XAxis,
  YAxis,
} from 'recharts'
import type { GroupView } from '#core/contracts/unit.ts'
import { axisStyle, labelStyle, plotMargin, weightAxisPx } from '#renderer/parts/chart-or-table.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { pressureAxis } from '../chart/axis.ts'
import { ChartReading } from '../chart/chart-reading.tsx'
import { PointMarks } from '../chart/point-marks.tsx'
import { dashOf } from './line-key.tsx'
import { type LineSeries, sampleEvery } from './line-series.ts'

/**
 * Weight over pressure: every line, the one in force with its band and tickets, the limit and the pressure that reaches
 * it.
 */
export function WeightChart({ group, series }: { group: GroupView; series: LineSeries }) {
  const measures = useMeasures()
  const { pressure, weight } = measures
  const samples = useMemo(
    () =>
      sampleEvery(series, 1).map(({ psi, current, earlier }) => ({
        psi: pressure.shown(psi),
        current: current && weight.shown(current.value),
        band: current && [weight.shown(current.value - 2 * current.u), weight.shown(current.value + 2 * current.u)],
        ...Object.fromEntries(earlier.map((weightLb, i) => [`earlier${i}`, weight.shown(weightLb)])),
      })),
    [series, pressure, weight],
  )
  const points = useMemo(
    () =>
      (series.current?.points ?? []).map(({ psi, uPsi, weightLb, uLb }) => ({
        x: pressure.shown(psi),
        y: weight.shown(weightLb),
        xError: pressure.shown(expanded(uPsi)),
        yError: weight.shown(expanded(uLb)),
      })),
    [series, pressure, weight],
  )
  const step = series.topLb > 60_000 ? 20_000 : 10_000
  const ticks = Array.from({ length: Math.floor(series.topLb / step) + 1 }, (_, i) => weight.shown(i * step))
  return (
    <div className="chart-plot" data-plot="weight">
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={samples}
          margin={plotMargin}
          syncId="lines"
          syncMethod="value"
          title={`Weight over pressure, ${group.name}. The arrow keys read the lines; the table holds the same numbers.`}
        >
          <CartesianGrid stroke="var(--t-line)" />
          <XAxis {...pressureAxis(series, measures)} tick={false} height={6} />
          <YAxis
            {...axisStyle}
            type="number"
            domain={[0, weight.shown(series.topLb)]}
            ticks={ticks}
            tickFormatter={count}
            width={weightAxisPx}
            allowDataOverflow
            label={{
              ...labelStyle,
              value: `Weight, ${weight.symbol}`,
              angle: -90,
              position: 'insideLeft',
              textAnchor: 'middle',
            }}
          />
          {series.earlier.map(({ id }, i) => (
            <Line
              key={id}
              dataKey={`earlier${i}`}
              stroke="var(--t-ink-2)"
              strokeWidth={1.2}
              strokeDasharray={dashOf(i)}
              dot={false}
              activeDot={false}
              isAnimationActive={false}
            />
          ))}
          <Area
            dataKey="band"
            stroke="none"
            fill="var(--t-accent)"
            fillOpacity={0.25}
            activeDot={false}
            isAnimationActive={false}
          />
          <Line dataKey="current" stroke="var(--t-accent)" strokeWidth={2.4} dot={false} isAnimationActive={false} />
          <ReferenceLine
            y={weight.shown(group.limitLb)}
            stroke="var(--t-ink)"
            strokeDasharray="8 3"
            label={{
              value: `limit ${weight.text(group.limitLb)}`,
              position: 'insideTopLeft',
              fill: 'var(--t-ink)',
              fontSize: 12,
            }}
          />
          {group.loadTo && 'psi' in group.loadTo && (
            <ReferenceLine
              x={pressure.shown(group.loadTo.psi)}
              stroke="var(--t-ink)"
              strokeDasharray="2 3"
              label={{
                value: `load to ${pressure.text(group.loadTo.psi)}`,
                position: 'insideBottomRight',
                angle: 0,
                fill: 'var(--t-ink)',
                fontSize: 12,
              }}
            />
          )}
          <PointMarks points={points} />
          <Tooltip
            cursor={{ stroke: 'var(--t-ink-2)' }}
            isAnimationActive={false}
            content={({ active, label }) =>
              active && label !== undefined ? (
                <ChartReading series={series} psi={Number(label) / pressure.shown(1)} />
              ) : null
            }
          />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
