import { readVin } from '#core/words/vin.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import type { FormExtra } from '#renderer/parts/record-form.tsx'

/** What the VIN says about itself: a warning and a year to take over, never a refusal. */
export function VinNote({ texts, setText, times }: Pick<FormExtra, 'texts' | 'setText' | 'times'>) {
  const {
    problem,
    modelYears: [year, ...others],
  } = readVin(texts['vin'] ?? '', Number(times.today().slice(0, 4)))
  if (problem !== null)
    return (
      <p className="form-note" role="status">
        <strong>VIN:</strong> {problem} It is kept as typed all the same.
      </p>
    )
  if (year === undefined || texts['model_year'] === String(year)) return null
  return (
    <p className="form-note" role="status">
      The VIN’s tenth character stands for model year {year}
      {others.length > 0 && ` (or ${others.join(', ')})`}.{' '}
      <LinkButton onClick={() => setText('model_year', String(year))}>Take {year}</LinkButton>
    </p>
  )
}
