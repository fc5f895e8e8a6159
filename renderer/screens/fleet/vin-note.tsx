import { readVin } from '#core/words/vin.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import type { FormExtra } from '#renderer/parts/record-form.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

/** What the VIN says about itself: a warning and a year to take over, never a refusal. */
export function VinNote({ texts, setText, times }: Pick<FormExtra, 'texts' | 'setText' | 'times'>) {
  const {
    problem,
    modelYears: [year, ...others],
  } = readVin(texts['vin'] ?? '', Number(times.today().slice(0, 4)))
  if (problem !== null)
    return (
      <p className="form-note" role="status">
        <Phrase
          text="<strong>VIN:</strong> {problem} It is kept as typed all the same."
          with={{ strong: (words) => <strong>{words}</strong>, problem }}
        />
      </p>
    )
  if (year === undefined || texts['model_year'] === String(year)) return null
  return (
    <p className="form-note" role="status">
      <Phrase
        text="The VIN’s tenth character stands for model year {year}{others}. <button>Take {year}</button>"
        with={{
          year,
          others: others.length > 0 && phrase(' (or {others})', { others: others.join(', ') }),
          button: (words) => <LinkButton onClick={() => setText('model_year', String(year))}>{words}</LinkButton>,
        }}
      />
    </p>
  )
}
