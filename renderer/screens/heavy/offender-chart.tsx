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
import { axisStyle, labelStyle, plotMargin } from '#renderer/parts/chart-or-table.tsx'
import { count, share } from '#renderer/parts/format.ts'
import { type Offenders, chartedOffenders } from './heavy-counts.ts'

const rowPx = 26
const axesPx = 64

type Row = Offenders['rows'][number]

function Reading({ row }: { row: Row }) {
  return (
    <div className="chart-reading">
      <strong>{row.unit}</strong>
      {row.yard !== null && <span className="quiet">, {row.yard}</span>}
      <div>
        {share(row.shrunkRate)} ± {share(expanded(row.uShrunkRate))} (95 %)
      </div>
      <div className="quiet">
        as counted {share(row.rate)}: {count(row.over)} of {count(row.weighings)} weighings over
      </div>
    </div>
  )
}

/** The rates of the units that were over most often by the fair ranking, against the fleet’s own. */
export default function OffenderChart({ offenders: { rows, fleetRate } }: { offenders: Offenders }) {
  const shown = useMemo(() => rows.slice(0, chartedOffenders), [rows])
  const points = useMemo(
    () =>
      shown.map(({ unit, rate, shrunkRate, uShrunkRate }) => ({
        unit,
        drawn: 100 * shrunkRate,
        counted: 100 * rate,
        spread: [Math.min(200 * uShrunkRate, 100 * shrunkRate), Math.min(200 * uShrunkRate, 100 * (1 - shrunkRate))],
      })),
    [shown],
  )
  return (
    <div className="chart-plot" data-plot="offenders" style={{ height: axesPx + rowPx * shown.length }}>
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          layout="vertical"
          data={points}
          margin={{ ...plotMargin, top: 20, bottom: 18 }}
          title="Rates of the worst offenders. The arrow keys go from unit to unit; the table holds the same numbers."
        >
          <CartesianGrid stroke="var(--t-line)" />
          <XAxis
            {...axisStyle}
            type="number"
            domain={[0, 'auto']}
            tickFormatter={(percent: number) => count(percent)}
            label={{ ...labelStyle, value: 'Weighings over a limit, %', position: 'insideBottom', offset: -12 }}
          />
          <YAxis
            {...axisStyle}
            type="category"
            dataKey="unit"
            width={74}
            interval={0}
            padding={{ top: 12, bottom: 12 }}
          />
          <ReferenceLine
            x={100 * fleetRate}
            stroke="var(--t-ink)"
            strokeDasharray="8 3"
            label={{ value: `fleet ${share(fleetRate)}`, position: 'top', fill: 'var(--t-ink)', fontSize: 12 }}
          />
          <Scatter dataKey="counted" shape="diamond" fill="none" stroke="var(--t-ink-2)" isAnimationActive={false} />
          <Scatter dataKey="drawn" fill="var(--t-accent)" isAnimationActive={false}>
            <ErrorBar
              dataKey="spread"
              direction="x"
              width={6}
              stroke="var(--t-ink)"
              strokeWidth={1.2}
              isAnimationActive={false}
            />
          </Scatter>
          <Tooltip
            cursor={{ stroke: 'var(--t-ink-2)' }}
            isAnimationActive={false}
            content={({ active, label }) => {
              const row = active ? shown.find(({ unit }) => unit === label) : undefined
              return row ? <Reading row={row} /> : null
            }}
          />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
