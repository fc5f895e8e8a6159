import { type Measures, useMeasures } from '#renderer/parts/format.ts'
import type { Happening, Instant } from './track-series.ts'
import { changeSpan, happeningWords, missWords } from './track-words.ts'

function figures(happening: Happening, measures: Measures): string[] {
  const { weight, pressure } = measures
  if (happening.what === 'event') return happening.event.note ? [happening.event.note] : []
  if (happening.what === 'change') return [changeSpan(happening.change, measures)]
  if (happening.what === 'forecast') return [`line good to ${weight.plusMinus(happening.u)} (95 %)`]
  const track = `best weight ${weight.estimate(happening.weightLb)} ${weight.plusMinusFigure(happening.u)} (95 %)`
  if (happening.what === 'calibration') return [`line reads ${weight.estimate(happening.lineLb)}`, track]
  if (happening.what === 'end') return [track]
  const { check } = happening
  return [
    `ticket ${check.ticket}, ${check.scale}: ${weight.text(check.weightLb)} at ${pressure.text(check.psi)}`,
    `${missWords(check, measures)}, ${weight.plusMinusFigure(check.uMissLb)} (95 %)`,
    `stands for ${weight.estimate(check.atFixedLb)}; ${track}`,
  ]
}

/** What happened at one time: shown at the pointer, or at the place the arrow keys have reached. */
export function TrackReading({ instant }: { instant: Instant }) {
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
