import type { RosterRow } from '#core/api/contract.ts'
import { findingTitle } from '#renderer/parts/words.ts'

/** When a unit must be seen to, and why: at once where its trust is gone, else on its due date. */
export interface NextDue {
  readonly now: boolean
  readonly on: string | null
  readonly why: string
}

type DueFacts = Pick<RosterRow, 'trust' | 'worstFinding' | 'findingCodes' | 'dueOn'>

export function nextDue({ trust, worstFinding, findingCodes, dueOn }: DueFacts): NextDue | null {
  if (trust === null) return null
  if (trust === 'uncalibrated') return { now: true, on: null, why: 'no line' }
  if (trust === 'upset') return { now: true, on: null, why: 'work since calibration' }
  if (trust === 'doubtful')
    return { now: true, on: null, why: worstFinding ? findingTitle(worstFinding).toLowerCase() : 'line in doubt' }
  return dueOn === null
    ? null
    : { now: false, on: dueOn, why: findingCodes.includes('uncertainty-over-tolerance') ? 'uncertainty' : 'age' }
}

/** Orders by urgency: what is due now first, then by date. */
export const dueKey = (row: DueFacts): string | undefined => {
  const due = nextDue(row)
  return due === null ? undefined : due.now ? '' : (due.on ?? undefined)
}
