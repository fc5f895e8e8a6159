import type { LocalDay } from '#core/words/day.ts'
import type { Say } from '#core/words/say.ts'
import { count } from '#core/words/text.ts'

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

const share = (percent: number): string => (percent < 1 ? 'under 1 %' : `${Math.round(percent)} %`)

function whyCell(cell: CellReason, say: Say): string {
  const { ageDays, deadSince, halfFailedDays, riskPercent, limitPercent, nextVisitAt, dueAt } = cell
  if (deadSince !== null) return `Its sensor has been silent since ${say.day(deadSince)}: the cell is most likely dead.`
  const age = `In for ${count(ageDays, 'day')}`
  if (ageDays >= halfFailedDays) return `${age}: half of such cells have failed by day ${say.number(halfFailedDays)}.`
  return riskPercent > limitPercent
    ? `${age}: ${share(riskPercent)} of such cells fail before the next visit, on ${say.day(nextVisitAt)}; ` +
        `the House Rules allow ${limitPercent} %.`
    : `${age}: from ${say.day(dueAt)} on, waiting risks more than the House Rules’ ${limitPercent} %.`
}

export const cellReason = (cell: CellReason, say: Say): WorkReason => ({
  why: whyCell(cell, say),
  next: 'Swap it and mark it swapped; the sensor is then heard again within minutes.',
})

/** The first calibration of a group, or one whose line runs out on a day. */
export const lineReason = (dueOn: LocalDay | null): WorkReason => ({
  why: dueOn === null ? 'It has no calibration line yet, and so no weights.' : `Its line is good until ${dueOn}.`,
  next: 'Weigh the unit empty and loaded, and enter the tickets with the pressures in the Weigh-in.',
})

/** A recalibration that follows the repair which moves the line. */
export const afterRepair: WorkReason = {
  why: 'The repair on this group changes its line.',
  next: 'Recalibrate after the repair, not before.',
}

/** A finding to look into. since: ms UTC, null where its beginning is unknown; next: what the finding says to do. */
export const repairReason = (since: number | null, changesLine: boolean, next: string, say: Say): WorkReason => ({
  why:
    `Found ${since === null ? 'in the latest readings' : `in what was weighed since ${say.day(since)}`}; the group’s ` +
    `weights ${changesLine ? 'are off until it is mended' : 'may be off until somebody has looked'}.`,
  next,
})
