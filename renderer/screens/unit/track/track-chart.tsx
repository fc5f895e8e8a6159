import { useMemo } from 'react'
import {
  Area,
  CartesianGrid,
  ComposedChart,
  Line,
  ReferenceArea,
  ReferenceLine,
  ResponsiveContainer,
  Tooltip,
  XAxis,
  YAxis,
} from 'recharts'
import { axisStyle, labelStyle, plotMargin, weightAxisPx } from '#renderer/parts/chart-or-table.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { multiples, niceStep, tickLabel, timeTicks } from '../chart/axis.ts'
import { type EvidenceMark, MarkAt } from '../chart/evidence-marks.tsx'
import { TrackReading } from './track-reading.tsx'
import type { Happening, Instant, TrackSeries } from './track-series.ts'
import { markOf } from './track-words.ts'

const markLabel = { fill: 'var(--t-ink)', fontSize: 12 } as const

/** A row of the chart's data: marks stand where `place` and `onTop` say, each life has its own keys. */
interface Row {
  at: number
  instant: Instant
  place?: number
  beyond?: -1 | 0 | 1
  mark?: EvidenceMark
  onTop?: number
  topMark?: EvidenceMark
  said?: string
  [key: string]: unknown
}

function addTo(row: Row, happening: Happening, shown: (lb: number) => number, { lowLb, highLb }: TrackSeries): void {
  const edge = (highLb - lowLb) * 0.055
  if (happening.what === 'event') {
    row.onTop = shown(highLb - edge)
    if (row.topMark !== 'break') row.topMark = markOf(happening) as EvidenceMark
    if (happening.breaks) row.said = happening.event.kind
    return
  }
  if (happening.what === 'change') return
  if (happening.what === 'forecast') {
    row['forecast'] = [shown(happening.lineLb - 2 * happening.u), shown(happening.lineLb + 2 * happening.u)]
    return
  }
  row[`track${happening.life}`] = shown(happening.weightLb)
  row[`band${happening.life}`] = [
    shown(happening.weightLb - 2 * happening.u),
    shown(happening.weightLb + 2 * happening.u),
  ]
  const mark = markOf(happening)
  if (mark === null) return
  const weightLb = happening.what === 'check' ? happening.check.atFixedLb : happening.weightLb
  row.mark = mark
  row.beyond = weightLb < lowLb ? -1 : weightLb > highLb ? 1 : 0
  // One too far off stands inside the edge it passed, with an arrow.
  row.place = shown(row.beyond === 0 ? weightLb : row.beyond > 0 ? highLb - 1.6 * edge : lowLb + 1.6 * edge)
}

interface DotProps {
  cx?: number
  cy?: number
  payload?: Row
  key?: unknown
}

const Mark = ({ cx, cy, payload }: DotProps) => {
  if (!payload?.mark || cx === undefined || typeof cy !== 'number' || payload.place === undefined)
    return <g key={payload?.at} />
  return (
    <g key={payload.at}>
      <MarkAt mark={payload.mark} x={cx} y={cy} />
      {payload.beyond !== undefined && payload.beyond !== 0 && (
        <path
          d={payload.beyond > 0 ? 'M-3-10h6L0-15Z' : 'M-3 10h6L0 15Z'}
          transform={`translate(${cx} ${cy})`}
          fill="var(--t-ink)"
        />
      )}
    </g>
  )
}

const TopMark = ({ cx, cy, payload }: DotProps) =>
  payload?.topMark && cx !== undefined && typeof cy === 'number' ? (
    <MarkAt key={payload.at} mark={payload.topMark} x={cx} y={cy} />
  ) : (
    <g key={payload?.at} />
  )

/**
 * The weight that one pressure stands for, over time: one stretch a line, what tested it, what was done to the group,
 * and how far the line can be trusted from now on.
 */
export default function TrackChart({ series, name }: { series: TrackSeries; name: string }) {
  const { weight, pressure, times } = useMeasures()
  const { instants, lines, toleranceLb, from, to, asOf, due } = series
  const rows = useMemo(
    () =>
      instants.map((instant): Row => {
        const row: Row = { at: instant.at, instant }
        for (const happening of instant.happenings) addTo(row, happening, weight.shown, series)
        return row
      }),
    [instants, series, weight],
  )
  const ticks = timeTicks(from, to, times.zone)
  const weights = multiples(series.lowLb, series.highLb, niceStep(series.highLb - series.lowLb, 6)).map(weight.shown)
  const current = lines.at(-1)
  // Its tolerance is of use as long as the line is: until it was broken, else as far as the chart goes.
  const trusted = current?.broken ? current.to : to
  const works = rows.filter(({ topMark }) => topMark !== undefined)
  return (
    <div className="chart-plot" data-plot="track">
      <ResponsiveContainer width="100%" height="100%">
        <ComposedChart
          data={rows}
          margin={{ ...plotMargin, bottom: 2 }}
          title={`Weight at ${pressure.text(series.fixedPsi)} over time, ${name}. The arrow keys go from one happening to the next; the table holds the same numbers.`}
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
            domain={[weight.shown(series.lowLb), weight.shown(series.highLb)]}
            ticks={weights}
            tickFormatter={count}
            width={weightAxisPx}
            allowDataOverflow
            label={{
              ...labelStyle,
              value: `At ${pressure.text(series.fixedPsi)}, ${weight.symbol}`,
              angle: -90,
              position: 'insideLeft',
              textAnchor: 'middle',
            }}
          />
          {series.spans.map((span) => (
            <ReferenceArea
              key={span.from}
              x1={span.from}
              x2={span.until}
              fill="var(--t-doubtful)"
              fillOpacity={0.2}
              stroke="var(--t-doubtful)"
              strokeDasharray="2 2"
              ifOverflow="hidden"
            />
          ))}
          {current && (
            <ReferenceArea
              x1={current.from}
              x2={trusted}
              y1={weight.shown(current.lineLb - toleranceLb)}
              y2={weight.shown(current.lineLb + toleranceLb)}
              fill="var(--t-line)"
              fillOpacity={0.35}
              stroke="none"
              ifOverflow="hidden"
            />
          )}
          {current &&
            [1, -1].map((side) => (
              <ReferenceLine
                key={side}
                stroke="var(--t-ink)"
                strokeDasharray="8 3"
                segment={[
                  { x: current.from, y: weight.shown(current.lineLb + side * toleranceLb) },
                  { x: trusted, y: weight.shown(current.lineLb + side * toleranceLb) },
                ]}
              />
            ))}
          {lines.map(({ lineLb, from: start, to: end }) => (
            <ReferenceLine
              key={start}
              stroke="var(--t-ink-2)"
              strokeWidth={1.4}
              strokeDasharray="2 3"
              segment={[
                { x: start, y: weight.shown(lineLb) },
                { x: Math.max(end, start), y: weight.shown(lineLb) },
              ]}
            />
          ))}
          {works.map(({ at, topMark, said }) => (
            <ReferenceLine
              key={at}
              x={at}
              stroke={topMark === 'break' ? 'var(--t-upset)' : 'var(--t-line-strong)'}
              strokeWidth={topMark === 'break' ? 2 : 1}
              {...(topMark === 'break'
                ? {
                    label: {
                      ...markLabel,
                      value: said,
                      position: at > (from + to) / 2 ? ('insideTopRight' as const) : ('insideTopLeft' as const),
                      offset: 12,
                    },
                  }
                : {})}
            />
          ))}
          {lines.map(({ from: start }, life) => (
            <Area
              key={start}
              dataKey={`band${life}`}
              stroke="none"
              fill="var(--t-accent)"
              fillOpacity={0.25}
              connectNulls
              activeDot={false}
              isAnimationActive={false}
            />
          ))}
          <Area
            dataKey="forecast"
            stroke="var(--t-accent)"
            strokeDasharray="3 3"
            fill="var(--t-accent)"
            fillOpacity={0.1}
            connectNulls
            activeDot={false}
            isAnimationActive={false}
          />
          {lines.map(({ from: start }, life) => (
            <Line
              key={start}
              dataKey={`track${life}`}
              stroke="var(--t-accent)"
              strokeWidth={life === lines.length - 1 ? 2.4 : 1.4}
              connectNulls
              dot={false}
              activeDot={false}
              isAnimationActive={false}
            />
          ))}
          {due !== null && due.at > asOf && due.at <= to && (
            <>
              <ReferenceLine
                x={due.at}
                stroke="var(--t-ink)"
                strokeWidth={1.4}
                label={{ ...markLabel, value: `due ${due.on}`, position: 'insideBottomRight' }}
              />
              <ReferenceLine
                x={asOf}
                stroke="var(--t-line-strong)"
                label={{ ...markLabel, value: 'today', position: 'insideBottomRight' }}
              />
            </>
          )}
          <Line dataKey="place" stroke="none" dot={Mark} activeDot={false} isAnimationActive={false} />
          <Line dataKey="onTop" stroke="none" dot={TopMark} activeDot={false} isAnimationActive={false} />
          <Tooltip
            cursor={{ stroke: 'var(--t-ink-2)' }}
            isAnimationActive={false}
            content={({ active, label }) => {
              const instant = active ? instants.find(({ at }) => at === Number(label)) : undefined
              return instant ? <TrackReading instant={instant} /> : null
            }}
          />
        </ComposedChart>
      </ResponsiveContainer>
    </div>
  )
}
