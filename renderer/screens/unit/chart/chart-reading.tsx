import { useMeasures } from '#renderer/parts/format.ts'
import { type LineSeries, lineName, sampleAt } from '#renderer/screens/unit/line/line-series.ts'

/** What the lines say at one pressure: shown at the pointer, or at the place the arrow keys have reached. */
export function ChartReading({ series, psi }: { series: LineSeries; psi: number }) {
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
