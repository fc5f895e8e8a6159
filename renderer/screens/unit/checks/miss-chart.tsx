import { expanded } from '#core/words/coverage.ts'
import { useMemo } from 'react'
import {
  CartesianGrid,
  ComposedChart,
  ErrorBar,
  ReferenceLine,
  ResponsiveContainer,
  Scatter,
  Tooltip,
  XAxis,
  YAxis,
} from 'recharts'
import { axisStyle, labelStyle, plotMargin, weightAxisPx } from '#renderer/parts/chart-or-table.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { multiples, timeTicks } from '../chart/axis.ts'
import { type EvidenceMark, MarkAt } from '../chart/evidence-marks.tsx'
import { CheckReading } from './check-reading.tsx'
import type { CheckSeries } from './check-series.ts'

interface DotProps {
  cx?: number | undefined
  cy?: number | undefined
  payload?: { at: number; mark: EvidenceMark; beyond: number }
}

function MissMark({ cx = 0, cy = 0, payload }: DotProps) {
  if (!payload) return null
  return (
    <g>
      <MarkAt mark={payload.mark} x={cx} y={cy} />
      {payload.beyond !== 0 && (
        <path
          d={payload.beyond > 0 ? 'M-3-9h6L0-14Z' : 'M-3 9h6L0 14Z'}
          transform={`translate(${cx} ${cy})`}
          fill="var(--t-ink)"
        />
      )}
    </g>
  )
}

/** How far each check's scale weight lay from what the line and the checks before it led to expect. */
export function MissChart({ series, toleranceLb, name }: { series: CheckSeries; toleranceLb: number; name: string }) {
  const { weight, times } = useMeasures()
  const reach = weight.shown(series.reachLb)
  const rows = useMemo(
    () =>
      series.points.map(({ at, kind, check: { missLb, uMissLb } }) => {
        const edge = series.reachLb * 0.8
        const beyond = Math.abs(missLb) > series.reachLb ? Math.sign(missLb) : 0
        return {
          at,
          mark: kind,
          beyond,
          miss: weight.shown(beyond === 0 ? missLb : beyond * edge),
          error: beyond === 0 ? weight.shown(expanded(uMissLb)) : 0,
        }
      }),
    [series, weight],
  )
  return (
    <div className="chart-plot" data-plot="misses">
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={rows}
          margin={plotMargin}
          syncId="checks"
          syncMethod="value"
          title={`Misses of the check weighings, ${name}. The arrow keys go from check to check; the table holds the same numbers.`}
        >
          <CartesianGrid stroke="var(--t-line)" />
          <XAxis
            {...axisStyle}
            dataKey="at"
            type="number"
            scale="time"
            domain={[series.from, series.to]}
            ticks={timeTicks(series.from, series.to, times.zone)}
            tick={false}
            height={6}
            allowDataOverflow
          />
          <YAxis
            {...axisStyle}
            type="number"
            domain={[-reach, reach]}
            ticks={multiples(-series.reachLb, series.reachLb, series.stepLb).map(weight.shown)}
            tickFormatter={weight.signed}
            interval={0}
            width={weightAxisPx}
            allowDataOverflow
            label={{
              ...labelStyle,
              value: `Scale shows, ${weight.symbol}`,
              angle: -90,
              position: 'insideLeft',
              textAnchor: 'middle',
            }}
          />
          <ReferenceLine y={0} stroke="var(--t-ink-2)" />
          {toleranceLb < series.reachLb &&
            [1, -1].map((side) => (
              <ReferenceLine
                key={side}
                y={side * weight.shown(toleranceLb)}
                stroke="var(--t-ink)"
                strokeDasharray="8 3"
                {...(side === 1
                  ? {
                      label: {
                        value: `tolerance ± ${weight.estimate(toleranceLb)}`,
                        position: 'insideTopLeft' as const,
                        fill: 'var(--t-ink)',
                        fontSize: 12,
                      },
                    }
                  : {})}
              />
            ))}
          <Scatter dataKey="miss" shape={MissMark} isAnimationActive={false}>
            <ErrorBar
              dataKey="error"
              direction="y"
              width={5}
              stroke="var(--t-ink)"
              strokeWidth={1.2}
              isAnimationActive={false}
            />
          </Scatter>
          <Tooltip
            cursor={{ stroke: 'var(--t-ink-2)' }}
            isAnimationActive={false}
            content={({ active, label }) => {
              const point = active ? series.points.find(({ at }) => at === Number(label)) : undefined
              return point ? <CheckReading point={point} /> : null
            }}
          />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
