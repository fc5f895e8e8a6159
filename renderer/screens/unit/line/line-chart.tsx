import { useMemo } from 'react'
import { XAxis } from 'recharts'
import type { GroupView } from '#core/contracts/unit.ts'
import { expanded } from '#core/words/coverage.ts'
import { figures } from '#core/words/numbers.ts'
import { type Measures, count, useMeasures } from '#renderer/parts/format.ts'
import {
  Band,
  Curve,
  Level,
  Plot,
  QuantityAxis,
  ReadAlong,
  ReadOut,
  Tolerance,
  axisStyle,
  labelStyle,
} from '#renderer/parts/plot.tsx'
import { roundTicks } from '#renderer/parts/round-steps.ts'
import { phrase } from '#core/words/phrase.ts'
import { PointMarks } from '../chart/point-marks.tsx'
import { type LineSeries, dashOf, differenceReachLb, lineName, residual, sampleAt, sampleEvery } from './line-series.ts'

interface ChartProps {
  readonly group: GroupView
  readonly series: LineSeries
}

/** Both charts share it, so that the same pressure stands at the same place. */
const pressureAxis = ({ fromPsi, toPsi }: LineSeries, { pressure }: Measures) => ({
  ...axisStyle,
  dataKey: 'psi',
  type: 'number' as const,
  domain: [pressure.shown(fromPsi), pressure.shown(toPsi)],
  ticks: roundTicks(fromPsi, toPsi, pressure, 12),
  tickFormatter: figures({ maximumFractionDigits: 1 }),
})

/** What the lines say at one pressure: shown at the pointer, or at the place the arrow keys have reached. */
function Reading({ series, psi }: { series: LineSeries; psi: number }) {
  const { pressure, weight, times } = useMeasures()
  const { current, earlier } = sampleAt(series, psi)
  return (
    <div className="chart-reading">
      <strong>{pressure.text(psi)}</strong>
      {current && (
        <div>
          {weight.estimate(current.value)} {weight.plusMinusFigure(current.u)} (95 %)
        </div>
      )}
      {series.earlier.map((line, i) => {
        const weightLb = earlier[i] ?? 0
        return (
          <div key={line.id} className="quiet">
            {lineName(series, line, times)}: {weight.estimate(weightLb)}
            {current && ` (${weight.difference(weightLb - current.value)})`}
          </div>
        )
      })}
    </div>
  )
}

const earlierCurves = ({ earlier }: LineSeries, strokeWidth: number) =>
  earlier.map(({ id }, i) => (
    <Curve
      key={id}
      dataKey={`earlier${i}`}
      stroke="var(--t-ink-2)"
      strokeWidth={strokeWidth}
      strokeDasharray={dashOf(i)}
    />
  ))

/**
 * Weight over pressure: every line, the one in force with its band and tickets, the limit and the pressure that reaches
 * it.
 */
function WeightChart({ group, series }: ChartProps) {
  const measures = useMeasures()
  // By the best weight, which lies off a line that was broken or has moved: there it is no point of this chart.
  const drawsLoadTo = group.trust !== 'upset' && group.trust !== 'doubtful'
  const { pressure, weight, say } = measures
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
  return (
    <Plot
      name="weight"
      title={phrase('Weight over pressure, {name}. The arrow keys read the lines; the table holds the same numbers.', {
        name: group.name,
      })}
      heightPx={232}
      rows={samples}
      sync="lines"
    >
      <XAxis {...pressureAxis(series, measures)} tick={false} height={6} />
      <QuantityAxis
        name={phrase('Weight, {weightSymbol}', { weightSymbol: weight.symbol })}
        domain={[0, weight.shown(series.topLb)]}
        ticks={roundTicks(0, series.topLb, weight, 6)}
        tickFormatter={count}
        allowDataOverflow
      />
      {earlierCurves(series, 1.2)}
      <Band dataKey="band" />
      <Curve dataKey="current" activeDot />
      <Level
        y={weight.shown(group.limitLb)}
        text={phrase('limit {limitLb}', { limitLb: weight.text(group.limitLb) })}
      />
      {drawsLoadTo && group.loadTo && 'psi' in group.loadTo && (
        <Level
          x={pressure.shown(group.loadTo.psi)}
          strokeDasharray="2 3"
          text={phrase('load to {psi}', { psi: say.loadTo(group.loadTo.psi) })}
          at="insideBottomRight"
        />
      )}
      <PointMarks points={points} />
      <ReadOut rows={samples} at={({ psi }) => psi}>
        {({ psi }) => <Reading series={series} psi={psi / pressure.shown(1)} />}
      </ReadOut>
    </Plot>
  )
}

/** How far earlier lines and tickets lie from the line in force: what the weight chart is too tall to show. */
function DifferenceChart({ group, series }: ChartProps & { series: { current: NonNullable<LineSeries['current']> } }) {
  const measures = useMeasures()
  const { pressure, weight } = measures
  const reachLb = differenceReachLb(series, group.toleranceLb)
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
    <Plot
      name="difference"
      title={phrase('Difference from the line in force, {name}', { name: group.name })}
      heightPx={186}
      rows={samples}
      margin={{ bottom: 18 }}
      sync="lines"
      byKeys={false}
    >
      <XAxis
        {...pressureAxis(series, measures)}
        label={{
          ...labelStyle,
          value: phrase('Pressure, {pressureSymbol} gauge', { pressureSymbol: pressure.symbol }),
          position: 'insideBottom',
          offset: -12,
        }}
      />
      <QuantityAxis
        name={phrase('Off the line, {weightSymbol}', { weightSymbol: weight.symbol })}
        domain={[weight.shown(-reachLb), weight.shown(reachLb)]}
        ticks={roundTicks(-reachLb, reachLb, weight, 6)}
        tickFormatter={weight.signed}
        allowDataOverflow
      />
      <Tolerance
        reach={weight.shown(group.toleranceLb)}
        text={phrase('tolerance ± {toleranceLb}', { toleranceLb: weight.estimate(group.toleranceLb) })}
      />
      {earlierCurves(series, 1.4)}
      <Band dataKey="band" />
      <Curve dataKey="current" />
      <PointMarks points={points} />
      <ReadAlong />
    </Plot>
  )
}

/** The group's calibration lines: weight over pressure, and below it how far apart the lines are. */
export default function LineChart({ group, series }: ChartProps) {
  const { current } = series
  return (
    <>
      <WeightChart group={group} series={series} />
      {current && <DifferenceChart group={group} series={{ ...series, current }} />}
    </>
  )
}
