import { dayWords } from '#core/bench/bench-days.ts'
import { phrase } from '#core/words/phrase.ts'

/** What is known of a plan when a list of it is empty. Days YYYY-MM-DD. */
export interface PlanFacts {
  readonly lastDay: string
  readonly sensors: number
  readonly groups: number
  /** In the order of the plan. */
  readonly visits: readonly { readonly yard: string | null; readonly day: string }[]
  /** What the plan does not reach yet, by yard, the first of each. */
  readonly later: readonly { readonly yard: string | null; readonly unit: string; readonly dueOn: string }[]
}

const first = <T>(rows: readonly T[], day: (row: T) => string): T | undefined =>
  rows.reduce<T | undefined>(
    (soonest, row) => (soonest === undefined || day(row) < day(soonest) ? row : soonest),
    undefined,
  )

/**
 * Why a list of visits is empty, in sentences. yard: undefined, all of them; span: what the list's span of time is
 * called, null for the whole plan.
 */
export function whyEmpty(plan: PlanFacts, yard: string | null | undefined, span: string | null): string {
  if (plan.groups === 0)
    return phrase('No unit in service has an axle group yet: add units under Fleet, or import a fleet folder.')
  const here = ({ yard: of }: { readonly yard: string | null }) => yard === undefined || of === yard
  const place =
    yard === undefined ? '' : yard === null ? phrase(' on units without a yard') : phrase(' at {yard}', { yard })
  const said = [
    phrase('Nothing to do {span}{place}.', {
      span: span ?? phrase('through {lastDay}', { lastDay: plan.lastDay }),
      place,
    }),
  ]
  const own = plan.visits.filter(here)
  const nextVisit = first(own, ({ day }) => day)
  const nextJob = first(plan.later.filter(here), ({ dueOn }) => dueOn)
  if (nextVisit) said.push(phrase('The first visit is on {day}.', { day: dayWords(nextVisit.day) }))
  else if (nextJob)
    said.push(phrase('The next job is due on {dueOn}, on unit {unit}.', { dueOn: nextJob.dueOn, unit: nextJob.unit }))
  else if (plan.sensors === 0) said.push(phrase('No sensor sits on a unit in service, so no cell runs out.'))
  else said.push(phrase('No cell, calibration line or finding asks for work.'))
  const elsewhere = plan.visits.length - own.length
  if (!nextVisit && elsewhere > 0)
    said.push(phrase('Other yards have {elsewhere, plural, one {# visit} other {# visits}}.', { elsewhere }))
  return said.join(' ')
}
