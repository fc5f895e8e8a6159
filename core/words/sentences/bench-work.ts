import type { LocalDay } from '#core/words/day.ts'
import type { Say } from '#core/words/say.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'

/** Why the bench has a piece of work, and what to do next, in a sentence each. */
export interface WorkReason {
  readonly why: string
  readonly next: string
}

/** A cell to swap, as far as its reason needs it. Times ms UTC. */
export interface CellReason {
  readonly ageDays: number
  /** Its sensor has been silent since then; null: it is thought to be alive. */
  readonly deadSince: number | null
  /** Half of such cells have failed by this age. */
  readonly halfFailedDays: number
  /** Chance, 0 to 100, that it fails before the next visit, and the House Rules' limit. */
  readonly riskPercent: number
  readonly limitPercent: number
  readonly nextVisitAt: number
  /** When the risk reaches that limit. */
  readonly dueAt: number
}

const share = (percent: number): string => (percent < 1 ? phrase('under 1\u00a0%') : `${Math.round(percent)} %`)

function whyCell(cell: CellReason, say: Say): string {
  const { ageDays, deadSince, halfFailedDays, riskPercent, limitPercent, nextVisitAt, dueAt } = cell
  if (deadSince !== null)
    return phrase('Its sensor has been silent since {deadSince}: the cell is most likely dead.', {
      deadSince: say.day(deadSince),
    })
  const age = phrase('In for {ageDays, plural, one {# day} other {# days}}', { ageDays })
  if (ageDays >= halfFailedDays)
    return phrase('{age}: half of such cells have failed by day {halfFailedDays}.', {
      age,
      halfFailedDays: say.number(halfFailedDays),
    })
  return riskPercent > limitPercent
    ? phrase(
        '{age}: {riskPercent} of such cells fail before the next visit, on {nextVisitAt}; the House Rules allow {limitPercent} %.',
        { age, riskPercent: share(riskPercent), nextVisitAt: say.day(nextVisitAt), limitPercent },
      )
    : phrase('{age}: from {dueAt} on, waiting risks more than the House Rules’ {limitPercent} %.', {
        age,
        dueAt: say.day(dueAt),
        limitPercent,
      })
}

export const cellReason = (cell: CellReason, say: Say): WorkReason => ({
  why: whyCell(cell, say),
  next: phrase('Swap it and mark it swapped; the sensor is then heard again within minutes.'),
})

/** The first calibration of a group, or one whose line runs out on a day. */
export const lineReason = (dueOn: LocalDay | null): WorkReason => ({
  why:
    dueOn === null
      ? phrase('It has no calibration line yet, and so no weights.')
      : phrase('Its line is good until {dueOn}.', { dueOn }),
  next: phrase('Weigh the unit empty and loaded, and enter the tickets with the pressures in the Weigh-in.'),
})

/** A recalibration that follows the repair which moves the line. */
export const afterRepair: WorkReason = spoken({
  why: phraseLater('The repair on this group changes its line.'),
  next: phraseLater('Recalibrate after the repair, not before.'),
})

/** In what a finding was found, and on which day where that is later than what it tells of. */
function foundIn(since: number | null, knownAt: number | null, say: Say): string {
  if (since === null || knownAt === null) return phrase('in the latest readings')
  const [began, known] = [say.day(since), say.day(knownAt)]
  return known > began
    ? phrase('on {known} in what was weighed since {since}', { known, since: began })
    : phrase('in what was weighed since {since}', { since: began })
}

/**
 * A finding to look into. since, knownAt: ms UTC, when what it tells of began and when it could be known, null where
 * that is unknown; next: what the finding says to do.
 */
export const repairReason = (
  since: number | null,
  knownAt: number | null,
  changesLine: boolean,
  next: string,
  say: Say,
): WorkReason => ({
  why: phrase('Found {since}; the group’s weights {changesLine}.', {
    since: foundIn(since, knownAt, say),
    changesLine: changesLine ? phrase('are off until it is fixed') : phrase('may be off until somebody has looked'),
  }),
  next,
})
