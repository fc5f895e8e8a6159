import { useMemo } from 'react'
import { Line, ReferenceArea, ReferenceLine, XAxis } from 'recharts'
import { type Measures, count, useMeasures } from '#renderer/parts/format.ts'
import { Band, Curve, Level, Plot, QuantityAxis, ReadOut, axisStyle } from '#renderer/parts/plot.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { roundTicks } from '#renderer/parts/round-steps.ts'
import { timeAxis } from '../chart/axis.ts'
import { type EvidenceMark, MarkAt, MarkBeyond } from '../chart/evidence-marks.tsx'
import type { Happening, Instant, TrackSeries } from './track-series.ts'
import { changeSpan, happeningWords, markOf, missWords } from './track-words.ts'

function figures(happening: Happening, measures: Measures): string[] {
  const { weight, pressure } = measures
  if (happening.what === 'event') return happening.event.note ? [happening.event.note] : []
  if (happening.what === 'change') return [changeSpan(happening.change, measures)]
  if (happening.what === 'forecast')
    return [phrase('line good to {plusMinus} (95 %)', { plusMinus: weight.plusMinus(happening.u) })]
  const track = phrase('best weight {weightLb} {plusMinusFigure} (95 %)', {
    weightLb: weight.estimate(happening.weightLb),
    plusMinusFigure: weight.plusMinusFigure(happening.u),
  })
  if (happening.what === 'calibration')
    return [phrase('line reads {lineLb}', { lineLb: weight.estimate(happening.lineLb) }), track]
  if (happening.what === 'end') return [track]
  const { check } = happening
  return [
    phrase('ticket {ticket}, {scale}: {weightLb} at {psi}', {
      ticket: check.ticket,
      scale: check.scale,
      weightLb: weight.text(check.weightLb),
      psi: pressure.text(check.psi),
    }),
    `${missWords(check, measures)}, ${weight.plusMinusFigure(check.uMissLb)} (95 %)`,
    phrase('stands for {atFixedLb}; {track}', { atFixedLb: weight.estimate(check.atFixedLb), track }),
  ]
}

/** What happened at one time: shown at the pointer, or at the place the arrow keys have reached. */
function Reading({ instant }: { instant: Instant }) {
  const measures = useMeasures()
  return (
    <div className="chart-reading">
      <strong>{measures.times.day(new Date(instant.at).toISOString())}</strong>
      {instant.happenings.map((happening) => (
        <div key={`${happening.what} ${'life' in happening ? happening.life : ''}`}>
          {happeningWords(happening)}
          {figures(happening, measures).map((text) => (
            <div key={text} className="quiet">
              {text}
            </div>
          ))}
        </div>
      ))}
    </div>
  )
}

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
    if (happening.breaks) row.said = word(happening.event.kind)
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

const Mark = ({ cx, cy, payload }: DotProps) =>
  payload?.mark && cx !== undefined && typeof cy === 'number' && payload.place !== undefined ? (
    <MarkBeyond key={payload.at} mark={payload.mark} x={cx} y={cy} beyond={payload.beyond ?? 0} />
  ) : (
    <g key={payload?.at} />
  )

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
  const { instants, lines, toleranceLb, from, to, asOf, due, lowLb, highLb } = series
  const rows = useMemo(
    () =>
      instants.map((instant): Row => {
        const row: Row = { at: instant.at, instant }
        for (const happening of instant.happenings) addTo(row, happening, weight.shown, series)
        return row
      }),
    [instants, series, weight],
  )
  const current = lines.at(-1)
  // Its tolerance is of use as long as the line is: until it was broken, else as far as the chart goes.
  const trusted = current?.broken ? current.to : to
  const level = (start: number, end: number, lb: number) =>
    [
      { x: start, y: weight.shown(lb) },
      { x: end, y: weight.shown(lb) },
    ] as const
  const works = rows.filter(({ topMark }) => topMark !== undefined)
  return (
    <Plot
      name="track"
      title={phrase(
        'Weight at {fixedPsi} over time, {name}. The arrow keys go from one happening to the next; the table holds the same numbers.',
        { fixedPsi: pressure.text(series.fixedPsi), name },
      )}
      heightPx={260}
      rows={rows}
      margin={{ bottom: 2 }}
    >
      <XAxis {...axisStyle} {...timeAxis(series, times.zone)} />
      <QuantityAxis
        name={phrase('At {pressure}, {weightSymbol}', {
          pressure: pressure.text(series.fixedPsi),
          weightSymbol: weight.symbol,
        })}
        domain={[weight.shown(lowLb), weight.shown(highLb)]}
        ticks={roundTicks(lowLb, highLb, weight, 6)}
        tickFormatter={count}
        allowDataOverflow
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
          <Level key={side} segment={level(current.from, trusted, current.lineLb + side * toleranceLb)} />
        ))}
      {lines.map(({ lineLb, from: start, to: end }) => (
        <Level
          key={start}
          stroke="var(--t-ink-2)"
          strokeWidth={1.4}
          strokeDasharray="2 3"
          segment={level(start, Math.max(end, start), lineLb)}
        />
      ))}
      {works.map(({ at, topMark, said }) =>
        topMark === 'break' ? (
          <Level
            key={at}
            x={at}
            stroke="var(--t-upset)"
            strokeWidth={2}
            strokeDasharray="none"
            text={said}
            at={at > (from + to) / 2 ? 'insideTopRight' : 'insideTopLeft'}
            offset={12}
          />
        ) : (
          <ReferenceLine key={at} x={at} stroke="var(--t-line-strong)" />
        ),
      )}
      {lines.map(({ from: start }, life) => (
        <Band key={start} dataKey={`band${life}`} connectNulls />
      ))}
      <Band dataKey="forecast" stroke="var(--t-accent)" strokeDasharray="3 3" fillOpacity={0.1} connectNulls />
      {lines.map(({ from: start }, life) => (
        <Curve key={start} dataKey={`track${life}`} strokeWidth={life === lines.length - 1 ? 2.4 : 1.4} connectNulls />
      ))}
      {due !== null && due.at > asOf && due.at <= to && (
        <>
          <Level
            x={due.at}
            strokeWidth={1.4}
            strokeDasharray="none"
            text={phrase('due {on}', { on: due.on })}
            at="insideBottomRight"
          />
          <Level
            x={asOf}
            stroke="var(--t-line-strong)"
            strokeDasharray="none"
            text={phrase('today')}
            at="insideBottomRight"
          />
        </>
      )}
      <Line dataKey="place" stroke="none" dot={Mark} activeDot={false} isAnimationActive={false} />
      <Line dataKey="onTop" stroke="none" dot={TopMark} activeDot={false} isAnimationActive={false} />
      <ReadOut rows={instants} at={({ at }) => at}>
        {(instant) => <Reading instant={instant} />}
      </ReadOut>
    </Plot>
  )
}
