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
import { useMeasures } from '#renderer/parts/format.ts'
import { pressureAxis } from '../chart/axis.ts'
import { PointMarks } from '../chart/point-marks.tsx'
import { dashOf } from './line-key.tsx'
import { type LineSeries, differenceReachLb, residual, sampleEvery } from './line-series.ts'

type WithCurrent = LineSeries & { current: NonNullable<LineSeries['current']> }

/** How far earlier lines and tickets lie from the line in force: what the weight chart is too tall to show. */
export function DifferenceChart({ group, series }: { group: GroupView; series: WithCurrent }) {
  const measures = useMeasures()
  const { pressure, weight } = measures
  const reach = weight.shown(differenceReachLb(series, group.toleranceLb))
  const samples = useMemo(
    () =>
      sampleEvery(series, 1).map(({ psi, current, earlier }) => ({
        psi: pressure.shown(psi),
        current: 0,
        band: current && [weight.shown(-2 * current.u), weight.shown(2 * current.u)],
        ...Object.fromEntries(
          earlier.map((weightLb, i) => [`earlier${i}`, weight.shown(weightLb - (current?.value ?? 0))]),
        ),
      })),
    [series, pressure, weight],
  )
  const points = useMemo(
    () =>
      series.current.points.map((point) => {
        const { value, u } = residual(series, point)
        return { x: pressure.shown(point.psi), y: weight.shown(value), xError: 0, yError: weight.shown(expanded(u)) }
      }),
    [series, pressure, weight],
  )
  return (
    <div className="chart-plot" data-plot="difference">
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={samples}
          margin={{ ...plotMargin, bottom: 18 }}
          syncId="lines"
          syncMethod="value"
          accessibilityLayer={false}
          title={`Difference from the line in force, ${group.name}`}
        >
          <CartesianGrid stroke="var(--t-line)" />
          <XAxis
            {...pressureAxis(series, measures)}
            label={{
              ...labelStyle,
              value: `Pressure, ${pressure.symbol} gauge`,
              position: 'insideBottom',
              offset: -12,
            }}
          />
          <YAxis
            {...axisStyle}
            type="number"
            domain={[-reach, reach]}
            ticks={[-reach, -reach / 2, 0, reach / 2, reach]}
            tickFormatter={weight.signed}
            width={weightAxisPx}
            allowDataOverflow
            label={{
              ...labelStyle,
              value: `Off the line, ${weight.symbol}`,
              angle: -90,
              position: 'insideLeft',
              textAnchor: 'middle',
            }}
          />
          {[1, -1].map((side) => (
            <ReferenceLine
              key={side}
              y={side * weight.shown(group.toleranceLb)}
              stroke="var(--t-ink)"
              strokeDasharray="8 3"
              {...(side === 1
                ? {
                    label: {
                      value: `tolerance ± ${weight.estimate(group.toleranceLb)}`,
                      position: 'insideTopLeft',
                      fill: 'var(--t-ink)',
                      fontSize: 12,
                    },
                  }
                : {})}
            />
          ))}
          {series.earlier.map(({ id }, i) => (
            <Line
              key={id}
              dataKey={`earlier${i}`}
              stroke="var(--t-ink-2)"
              strokeWidth={1.4}
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
          <Line
            dataKey="current"
            stroke="var(--t-accent)"
            strokeWidth={2.4}
            dot={false}
            activeDot={false}
            isAnimationActive={false}
          />
          <PointMarks points={points} />
          <Tooltip cursor={{ stroke: 'var(--t-ink-2)' }} isAnimationActive={false} content={() => null} />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
