import { type LineLife, liftsAgree } from '#core/findings/evidence/line-life.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { count, day } from '#core/findings/words.ts'
import type { GroupHistory } from '#core/fleet/history.ts'

/** Readings taken with the lift axle otherwise than any line of the group knows, and points of one line that differ. */
export function liftFindings(history: GroupHistory, current: LineLife, lives: readonly LineLife[]): Finding[] {
  const { line, lift } = current
  const mixed = line.points.filter(({ observation }) => !liftsAgree(observation.lift, lift))
  const findings: Finding[] = []
  if (mixed.length > 0) {
    findings.push(
      groupFinding(history, 'lift-state-mismatch', {
        severity: 'warn',
        since: line.calibration.calibratedAt,
        numbers: { points: mixed.length, calibrated_with: lift },
        message: `${count(mixed.length, 'point')} of the line of ${day(line.calibration.calibratedAt)} ${mixed.length === 1 ? 'was' : 'were'} taken with the lift axle ${mixed[0]?.observation.lift}, the rest with it ${lift}.`,
        nextStep: 'Calibrate again with the lift axle in one state at every load.',
      }),
    )
  }
  const { calibratedAt } = line.calibration
  const others = history.observations.filter(
    ({ takenAt, lift: state }) =>
      state !== lift &&
      takenAt > calibratedAt &&
      !liftsAgree(state, lift) &&
      !lives.some((life) => liftsAgree(state, life.lift)),
  )
  const [first] = others
  if (first) {
    findings.push(
      groupFinding(history, 'lift-state-mismatch', {
        since: first.takenAt,
        numbers: { readings: others.length, calibrated_with: lift, read_with: first.lift },
        message: `${count(others.length, 'reading')} since ${day(first.takenAt)} ${others.length === 1 ? 'was' : 'were'} taken with the lift axle ${first.lift}; the line was calibrated with it ${lift}, so ${others.length === 1 ? 'it' : 'they'} cannot be weighed.`,
        nextStep: `Read the pressure with the lift axle ${lift}, then move it; or calibrate once with it ${first.lift}.`,
      }),
    )
  }
  return findings
}
