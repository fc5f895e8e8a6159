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
import { axisStyle, labelStyle, plotMargin, weightAxisPx } from '#renderer/parts/chart-or-table.tsx'
import { chance, count } from '#renderer/parts/format.ts'
import { type LifeRow, type LifeStratum, lifeRows, stratumName } from './life-words.ts'

const markLabel = { fill: 'var(--t-ink)', fontSize: 12 } as const

function Reading({ row }: { row: LifeRow }) {
  return (
    <div className="chart-reading">
      <strong>{count(row.days)} days</strong>
      {row.seen !== undefined && <div>{chance(row.seen)} still alive on record</div>}
      {row.law !== undefined && (
        <div>
          {chance(row.law)} by the law
          {row.lawBand && (
            <span className="quiet">
              {' '}
              ({chance(row.lawBand[0])} to {chance(row.lawBand[1])})
            </span>
          )}
        </div>
      )}
    </div>
  )
}

/** Share of cells still alive by age: as steps from the record, as a curve from the law behind the swap dates. */
export default function LifeChart({ stratum }: { stratum: LifeStratum }) {
  const rows = useMemo(() => lifeRows(stratum), [stratum])
  const { swapAgeDays, predictedLifeDays } = stratum
  return (
    <div className="chart-plot" data-plot="life">
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={rows}
          margin={{ ...plotMargin, bottom: 16 }}
          title={`Cells still alive by age, ${stratumName(stratum)}. The arrow keys go along the ages; the table holds the numbers.`}
        >
          <CartesianGrid stroke="var(--t-line)" />
          <XAxis
            {...axisStyle}
            dataKey="days"
            type="number"
            domain={[0, 'dataMax']}
            tickFormatter={count}
            label={{ ...labelStyle, value: 'Age, days', position: 'insideBottom', offset: -8 }}
          />
          <YAxis
            {...axisStyle}
            type="number"
            domain={[0, 1]}
            ticks={[0, 0.25, 0.5, 0.75, 1]}
            tickFormatter={(share: number) => `${count(100 * share)} %`}
            width={weightAxisPx}
            label={{ ...labelStyle, value: 'Still alive', angle: -90, position: 'insideLeft', textAnchor: 'middle' }}
          />
          <Area
            dataKey="lawBand"
            stroke="none"
            fill="var(--t-accent)"
            fillOpacity={0.2}
            connectNulls
            activeDot={false}
            isAnimationActive={false}
          />
          <Area
            dataKey="seenBand"
            type="stepAfter"
            stroke="var(--t-line-strong)"
            strokeDasharray="2 3"
            fill="none"
            connectNulls
            activeDot={false}
            isAnimationActive={false}
          />
          <Line
            dataKey="law"
            stroke="var(--t-accent)"
            strokeWidth={2.4}
            dot={false}
            activeDot={false}
            connectNulls
            isAnimationActive={false}
          />
          <Line
            dataKey="seen"
            type="stepAfter"
            stroke="var(--t-ink)"
            strokeWidth={1.6}
            dot={false}
            activeDot={false}
            connectNulls
            isAnimationActive={false}
          />
          <ReferenceLine
            x={swapAgeDays}
            stroke="var(--t-ink)"
            strokeDasharray="8 3"
            label={{ ...markLabel, value: `swap a new one by ${count(swapAgeDays)} d`, position: 'insideBottomRight' }}
          />
          <ReferenceLine
            x={predictedLifeDays}
            stroke="var(--t-line-strong)"
            label={{ ...markLabel, value: `half dead by ${count(predictedLifeDays)} d`, position: 'insideTopLeft' }}
          />
          <Tooltip
            cursor={{ stroke: 'var(--t-ink-2)' }}
            isAnimationActive={false}
            content={({ active, label }) => {
              const row = active ? rows.find(({ days }) => days === Number(label)) : undefined
              return row ? <Reading row={row} /> : null
            }}
          />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
