import { decimal, useMeasures } from '#renderer/parts/format.ts'
import { markWords } from '#renderer/screens/unit/chart/evidence-marks.tsx'
import { missWords, slipWord } from '#renderer/screens/unit/track/track-words.ts'
import type { CheckPoint } from './check-series.ts'

/** One check with its miss and the sums after it: shown at the pointer, or at the place the arrow keys have reached. */
export function CheckReading({ point: { check, kind } }: { point: CheckPoint }) {
  const measures = useMeasures()
  const { weight, pressure } = measures
  return (
    <div className="chart-reading">
      <strong>{measures.times.day(check.at)}</strong> {markWords[kind]}
      {check.slip && `: ${slipWord(check.slip)}`}
      <div className="quiet">
        ticket {check.ticket}, {check.scale}: {weight.text(check.weightLb)} at {pressure.text(check.psi)}
      </div>
      <div>
        {missWords(check, measures)}, {weight.plusMinusFigure(check.uMissLb)} (95 %)
      </div>
      <div className="quiet">
        sum of misses: {decimal(check.cusumHigh)} more, {decimal(check.cusumLow)} less
      </div>
    </div>
  )
}
