import type { BenchPlanView } from '#core/api/bench-contract.ts'
import { count } from '#renderer/parts/format.ts'
import { yardName } from './shop-view.ts'

const weekday = new Intl.DateTimeFormat('en-US', { weekday: 'short', timeZone: 'UTC' })

/** How full each worked day of a yard's bench is, as a bar and in minutes. */
export function BenchDays({ bench: { yard, days } }: { bench: BenchPlanView['benches'][number] }) {
  return (
    <section className="shop-bench" aria-label={`Bench of ${yardName(yard)}`}>
      <h2>{yardName(yard)}</h2>
      <ol>
        {days.map(({ day, minutes, used }) => (
          <li key={day} title={`${day}: ${count(used)} of ${count(minutes)} bench minutes taken`}>
            <span className="shop-bar" aria-hidden="true">
              <span style={{ height: `${Math.min(100, (100 * used) / minutes)}%` }} />
            </span>
            <span aria-hidden="true">{weekday.format(new Date(`${day}T00:00:00Z`)).slice(0, 2)}</span>
            <span className="unheard">
              {day}: {count(used)} of {count(minutes)} minutes
            </span>
          </li>
        ))}
      </ol>
    </section>
  )
}
