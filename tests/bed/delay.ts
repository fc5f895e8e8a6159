import { fittingCodes } from '#tests/bed/fault-kinds.ts'
import type { FindingRow } from '#tests/bed/reports.ts'
import type { FleetTruth } from '#tests/bed/truth.ts'

export interface DelayScore {
  readonly planted: number
  /** Flagged after so many check weighings since the fault began: index 0 is the first check. */
  readonly flaggedAfter: readonly number[]
  /** Flagged already before the fault began: false, and not counted as found. */
  readonly early: number
  readonly never: number
}

/** One look at the record, as of a moment (ms UTC, the last one known). */
export interface Look {
  readonly asOf: number
  readonly findings: readonly FindingRow[]
}

/**
 * How many check weighings pass from a fault's start until the first look that names it. Looks are in order of time and
 * close enough together (under the shortest time between two checks) for the count to be exact.
 */
export function scoreDelay(truth: FleetTruth, looks: readonly Look[]): DelayScore {
  const flaggedAfter: number[] = []
  let early = 0
  let never = 0
  const faults = truth.planted.filter(({ kind }) => kind === 'offset-1000-lb')
  for (const fault of faults) {
    const start = Date.parse(fault.startedAt)
    const checks = truth.groups.find(({ unit, group }) => unit === fault.unit && group === fault.group)?.checks ?? []
    const first = looks.find(({ findings }) =>
      findings.some(
        (finding) =>
          finding.unit === fault.unit &&
          finding.group === fault.group &&
          fittingCodes[fault.kind].fitting.includes(finding.code),
      ),
    )
    const passed = first === undefined ? 0 : checks.filter((at) => at > start && at <= first.asOf).length
    if (first === undefined) never += 1
    else if (passed === 0) early += 1
    else flaggedAfter[passed - 1] = (flaggedAfter[passed - 1] ?? 0) + 1
  }
  return { planted: faults.length, early, never, flaggedAfter: Array.from(flaggedAfter, (count) => count ?? 0) }
}

/** The share flagged within so many checks. */
export const flaggedWithin = ({ planted, flaggedAfter }: DelayScore, checks: number): number =>
  flaggedAfter.slice(0, checks).reduce((sum, count) => sum + count, 0) / Math.max(1, planted)
