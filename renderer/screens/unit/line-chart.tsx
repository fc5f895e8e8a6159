import { useMemo } from 'react'
import { Area, CartesianGrid, ComposedChart, ErrorBar, Line, ReferenceLine, ResponsiveContainer, Scatter, Tooltip, XAxis, YAxis } from 'recharts'
import type { GroupView } from '#core/api/contract.ts'
import { count, day, useMeasures } from '#renderer/parts/format.ts'
import { dashOf, LineKey } from './line-key.tsx'
import { type LineSeries, sampleAt, sampleEvery } from './line-series.ts'
import './line-chart.css'

function Reading({ series, psi }: { series: LineSeries; psi: number }) {
  const { pressure, weight } = useMeasures()
  const { current, earlier } = sampleAt(series, psi)
  return (
    <div className="chart-reading">
      <strong>{pressure.text(psi)}</strong>
      {current && <div>{weight.estimate(current.value)} {weight.plusMinusFigure(current.u)} (95 %)</div>}
      {earlier.map((weightLb, i) => (
        <div key={series.earlier[i]?.id} className="quiet">{day(series.earlier[i]?.calibratedAt ?? '')}: {weight.estimate(weightLb)}</div>
      ))}
    </div>
  )
}

/** The group's calibration lines, weight over pressure; the hover or the arrow keys read the line in force psi by psi. */
export default function LineChart({ group, series }: { group: GroupView; series: LineSeries }) {
  const { pressure, weight } = useMeasures()
  const samples = useMemo(() => sampleEvery(series, 1).map(({ psi, current, earlier }) => ({
    psi: pressure.shown(psi),
    current: current && weight.shown(current.value),
    band: current && [weight.shown(current.value - 2 * current.u), weight.shown(current.value + 2 * current.u)],
    ...Object.fromEntries(earlier.map((weightLb, i) => [`earlier${i}`, weight.shown(weightLb)])),
  })), [series, pressure, weight])
  const points = useMemo(() => (series.current?.points ?? []).map(({ psi, uPsi, weightLb, uLb }) => ({
    psi: pressure.shown(psi), weight: weight.shown(weightLb), psiError: pressure.shown(2 * uPsi), weightError: weight.shown(2 * uLb),
  })), [series, pressure, weight])
  const axis = { tick: { fill: 'var(--t-ink-2)', fontSize: 12 }, stroke: 'var(--t-line-strong)', tickLine: false } as const

  return (
    <figure className="chart">
      <div className="chart-plot">
        <ResponsiveContainer width="100%" height="100%">
          <ComposedChart data={samples} margin={{ top: 18, right: 14, bottom: 20, left: 10 }} title={`Weight over pressure, ${group.name}. The arrow keys read the line; the table view holds the same numbers.`}>
            <CartesianGrid stroke="var(--t-line)" />
            <XAxis
              {...axis} dataKey="psi" type="number" domain={[pressure.shown(series.fromPsi), pressure.shown(series.toPsi)]} tickCount={9} allowDecimals={false}
              label={{ value: `Pressure, ${pressure.symbol} gauge`, position: 'insideBottom', offset: -12, fill: 'var(--t-ink-2)', fontSize: 12 }}
            />
            <YAxis
              {...axis} type="number" domain={[0, weight.shown(series.topLb)]} tickFormatter={count} width={70} allowDataOverflow
              label={{ value: `Weight, ${weight.symbol}`, angle: -90, position: 'insideLeft', offset: 0, fill: 'var(--t-ink-2)', fontSize: 12 }}
            />
            {series.earlier.map(({ id }, i) => (
              <Line key={id} dataKey={`earlier${i}`} stroke="var(--t-ink-2)" strokeWidth={1.2} strokeDasharray={dashOf(i)} dot={false} activeDot={false} isAnimationActive={false} />
            ))}
            <Area dataKey="band" stroke="none" fill="var(--t-accent)" fillOpacity={0.2} activeDot={false} isAnimationActive={false} />
            <Line dataKey="current" stroke="var(--t-accent)" strokeWidth={2.4} dot={false} isAnimationActive={false} />
            <ReferenceLine
              y={weight.shown(group.limitLb)} stroke="var(--t-ink)" strokeDasharray="8 3"
              label={{ value: `limit ${weight.text(group.limitLb)}`, position: 'insideTopLeft', fill: 'var(--t-ink)', fontSize: 12 }}
            />
            {group.targetPsi && (
              <ReferenceLine
                x={pressure.shown(group.targetPsi.value)} stroke="var(--t-ink)" strokeDasharray="2 3"
                label={{ value: `load to ${pressure.text(group.targetPsi.value)}`, position: 'insideBottomRight', angle: 0, fill: 'var(--t-ink)', fontSize: 12 }}
              />
            )}
            <Scatter data={points} dataKey="weight" fill="var(--t-surface)" stroke="var(--t-accent)" strokeWidth={2} isAnimationActive={false}>
              <ErrorBar dataKey="weightError" direction="y" width={5} stroke="var(--t-ink)" strokeWidth={1.2} isAnimationActive={false} />
              <ErrorBar dataKey="psiError" direction="x" width={5} stroke="var(--t-ink)" strokeWidth={1.2} isAnimationActive={false} />
            </Scatter>
            <Tooltip
              cursor={{ stroke: 'var(--t-ink-2)' }} isAnimationActive={false}
              content={({ active, label }) => (active && label !== undefined ? <Reading series={series} psi={Number(label) / pressure.shown(1)} /> : null)}
            />
          </ComposedChart>
        </ResponsiveContainer>
      </div>
      <LineKey series={series} />
    </figure>
  )
}
