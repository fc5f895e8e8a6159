import type { MondayRow } from '#core/contracts/heavy.ts'
import type { RateWithin } from '#core/weight/month-rates.ts'
import { share } from '#renderer/parts/format.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** A rate with its 95 % interval. */
export const Rate = ({ of: { rate, low, high } }: { of: RateWithin }) => (
  <>
    {share(rate)} <span className="quiet">{phrase('{low} to {high}', { low: share(low), high: share(high) })}</span>
  </>
)

/** The same of another month, and what became of it since. */
export function Earlier({ of: row }: { of: MondayRow['before'] }) {
  if (row === null) return <span className="quiet">{phrase('not weighed')}</span>
  return (
    <>
      <Rate of={row} />
      <div className={row.change === 'no sure change' ? 'quiet' : 'monday-change'}>
        {row.change === 'no sure change' ? word(row.change) : phrase('{change} now', { change: word(row.change) })}
      </div>
    </>
  )
}
