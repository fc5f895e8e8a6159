import type { BenchPlanView } from '#core/api/bench-contract.ts'
import { count } from '#renderer/parts/format.ts'
import { missedBy } from './shop-view.ts'

const mostShown = 100

function Told({ title, unmet }: { title: string; unmet: BenchPlanView['notMet'] }) {
  if (unmet.length === 0) return null
  return (
    <details className="shop-unmet">
      <summary>{title}</summary>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a list that scrolls must be reachable by keyboard */}
      <ul tabIndex={0}>
        {unmet.slice(0, mostShown).map(({ unit, dueOn, message }) => (
          <li key={`${unit} ${dueOn} ${message}`}>{message}</li>
        ))}
        {unmet.length > mostShown && <li>and {count(unmet.length - mostShown)} more, all of them in the CSV file</li>}
      </ul>
    </details>
  )
}

const dates = (number: number) => (number === 1 ? '1 date' : `${count(number)} dates`)

/** Dates that the plan cannot meet, by why: most of a fleet's first ones had passed before anyone planned. */
export function Unmet({ plan, yard }: { plan: BenchPlanView; yard: string | null | undefined }) {
  const { past, noRoom, noBench } = missedBy(plan, yard)
  return (
    <>
      <Told
        title={`${dates(past.length)} had passed before this plan; each is done as soon as there is room`}
        unmet={past}
      />
      <Told title={`${dates(noRoom.length)} cannot be met: the bench is full before`} unmet={noRoom} />
      <Told title={`${dates(noBench.length)} cannot be met: the yard has no bench time`} unmet={noBench} />
    </>
  )
}
