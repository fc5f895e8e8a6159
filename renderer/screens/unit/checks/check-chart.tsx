import { useMemo } from 'react'
import { ReferenceLine, Scatter, XAxis } from 'recharts'
import { expanded } from '#core/words/coverage.ts'
import { count, decimal, useMeasures } from '#renderer/parts/format.ts'
import {
  Curve,
  Level,
  Plot,
  QuantityAxis,
  ReadAlong,
  ReadOut,
  Spread,
  Tolerance,
  axisStyle,
} from '#renderer/parts/plot.tsx'
import { phrase } from '#core/words/phrase.ts'
import { roundTicks } from '#renderer/parts/round-steps.ts'
import { timeAxis } from '../chart/axis.ts'
import { type EvidenceMark, MarkBeyond, markWords } from '../chart/evidence-marks.tsx'
import { missWords, slipWord } from '../track/track-words.ts'
import type { CheckPoint, CheckSeries } from './check-series.ts'

interface ChartProps {
  readonly series: CheckSeries
  readonly toleranceLb: number
  readonly name: string
}

/** One check with its miss and the sums after it: shown at the pointer, or at the place the arrow keys have reached. */
function Reading({ point: { check, kind } }: { point: CheckPoint }) {
  const measures = useMeasures()
  const { weight, pressure, times } = measures
  return (
    <div className="chart-reading">
      <strong>{times.day(check.at)}</strong> {markWords[kind]}
      {check.slip && `: ${slipWord(check.slip)}`}
      <div className="quiet">
        {phrase('ticket {ticket}, {scale}: {weightLb} at {psi}', {
          ticket: check.ticket,
          scale: check.scale,
          weightLb: weight.text(check.weightLb),
          psi: pressure.text(check.psi),
        })}
      </div>
      <div>
        {missWords(check, measures)}, {weight.plusMinusFigure(check.uMissLb)} (95 %)
      </div>
      <div className="quiet">
        {phrase('sum of misses: {cusumHigh} more, {cusumLow} less', {
          cusumHigh: decimal(check.cusumHigh),
          cusumLow: decimal(check.cusumLow),
        })}
      </div>
    </div>
  )
}

interface DotProps {
  cx?: number | undefined
  cy?: number | undefined
  payload?: { at: number; mark: EvidenceMark; beyond: number }
}

const MissMark = ({ cx = 0, cy = 0, payload }: DotProps) =>
  payload ? <MarkBeyond mark={payload.mark} x={cx} y={cy} beyond={payload.beyond} /> : null

/** How far each check's scale weight lay from what the line and the checks before it led to expect. */
function MissChart({ series, toleranceLb, name }: ChartProps) {
  const { weight, times } = useMeasures()
  const { points, reachLb } = series
  const reach = weight.shown(reachLb)
  const rows = useMemo(
    () =>
      points.map(({ at, kind, check: { missLb, uMissLb } }) => {
        const beyond = Math.abs(missLb) > reachLb ? Math.sign(missLb) : 0
        return {
          at,
          mark: kind,
          beyond,
          miss: weight.shown(beyond === 0 ? missLb : beyond * reachLb * 0.8),
          error: beyond === 0 ? weight.shown(expanded(uMissLb)) : 0,
        }
      }),
    [points, reachLb, weight],
  )
  return (
    <Plot
      name="misses"
      title={phrase(
        'Misses of the check weighings, {name}. The arrow keys go from check to check; the table holds the same numbers.',
        { name },
      )}
      heightPx={170}
      rows={rows}
      sync="checks"
    >
      <XAxis {...axisStyle} {...timeAxis(series, times.zone)} tick={false} height={6} />
      <QuantityAxis
        name={phrase('Scale shows, {weightSymbol}', { weightSymbol: weight.symbol })}
        domain={[-reach, reach]}
        ticks={roundTicks(-reachLb, reachLb, weight, 6)}
        tickFormatter={weight.signed}
        interval={0}
        allowDataOverflow
      />
      <ReferenceLine y={0} stroke="var(--t-ink-2)" />
      {toleranceLb < reachLb && (
        <Tolerance
          reach={weight.shown(toleranceLb)}
          text={phrase('tolerance ± {toleranceLb}', { toleranceLb: weight.estimate(toleranceLb) })}
        />
      )}
      <Scatter dataKey="miss" shape={MissMark} isAnimationActive={false}>
        <Spread dataKey="error" direction="y" width={5} />
      </Scatter>
      <ReadOut rows={points} at={({ at }) => at}>
        {(point) => <Reading point={point} />}
      </ReadOut>
    </Plot>
  )
}

/**
 * The sums of misses to either side: upward where the scale keeps showing more, downward where it keeps showing less.
 */
function CusumChart({ series, name }: ChartProps) {
  const { times } = useMeasures()
  const { points, cusumLimit, cusumReach } = series
  const rows = useMemo(
    () => points.map(({ at, check }) => ({ at, high: check.cusumHigh, low: -check.cusumLow })),
    [points],
  )
  return (
    <Plot
      name="cusum"
      title={phrase('Sums of misses, {name}', { name })}
      heightPx={160}
      rows={rows}
      margin={{ bottom: 2 }}
      sync="checks"
      byKeys={false}
    >
      <XAxis {...axisStyle} {...timeAxis(series, times.zone)} />
      <QuantityAxis
        name={phrase('Sum')}
        domain={[-cusumReach.less, cusumReach.more]}
        ticks={[-cusumLimit, 0, cusumLimit]}
        tickFormatter={(sum: number) => count(Math.abs(sum))}
      />
      <ReferenceLine y={0} stroke="var(--t-ink-2)" />
      <Level
        y={cusumLimit}
        text={phrase('limit {cusumLimit}: the scale keeps showing more', { cusumLimit: count(cusumLimit) })}
        at="insideBottomLeft"
      />
      <Level
        y={-cusumLimit}
        text={phrase('limit {cusumLimit}: the scale keeps showing less', { cusumLimit: count(cusumLimit) })}
      />
      <Curve dataKey="high" strokeWidth={2} dot={{ r: 2, fill: 'var(--t-accent)' }} />
      <Curve
        dataKey="low"
        strokeWidth={2}
        strokeDasharray="6 3"
        dot={{ r: 2, fill: 'var(--t-accent)', strokeDasharray: 'none' }}
      />
      <ReadAlong />
    </Plot>
  )
}

/** The checks of the line in use: each one's miss, and below it whether the misses add up to one side. */
export default function CheckChart(props: ChartProps) {
  return (
    <>
      <MissChart {...props} />
      <CusumChart {...props} />
    </>
  )
}
