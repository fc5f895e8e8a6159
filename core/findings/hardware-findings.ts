import type { FleetEstimates } from '#core/findings/evidence/estimates.ts'
import { familyKey } from '#core/findings/evidence/family.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { count, day, lb, times } from '#core/findings/words.ts'
import type { GroupFacts } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { CalibratedLine } from '#core/line/calibrate.ts'

/** Force per psi of all air springs of a group, lb/psi: springs times area; null when either is unknown. */
export function hardwareSlope({ circuits }: GroupFacts): number | null {
  let slope = 0
  for (const { airSprings, springAreaIn2 } of circuits) {
    if (airSprings === null || springAreaIn2 === null) return null
    slope += airSprings * springAreaIn2
  }
  return slope > 0 ? slope : null
}

function implausible(group: GroupFacts, { fit, calibration }: CalibratedLine, rules: HouseRules): Finding[] {
  const hardware = hardwareSlope(group)
  const ratio = hardware === null ? null : fit.b / hardware
  if (fit.b > 0 && (ratio === null || (ratio >= rules.slopeRatioLow && ratio <= rules.slopeRatioHigh))) return []
  const why =
    ratio === null || fit.b <= 0
      ? `The line of ${day(calibration.calibratedAt)} falls as pressure rises (${Math.round(fit.b)} lb per psi)`
      : `The line of ${day(calibration.calibratedAt)} gains ${Math.round(fit.b)} lb per psi, ${times(ratio)} what its air springs can carry per psi`
  return [
    groupFinding(group, 'slope-implausible', {
      since: calibration.calibratedAt,
      numbers: {
        slope_lb_per_psi: fit.b,
        hardware_lb_per_psi: hardware,
        ratio,
        low: rules.slopeRatioLow,
        high: rules.slopeRatioHigh,
      },
      message: `${why}.`,
      nextStep: 'Check the tickets and the pressure unit of this calibration, and the air springs on record.',
    }),
  ]
}

function unlikeFamily(
  group: GroupFacts,
  { fit, calibration }: CalibratedLine,
  rules: HouseRules,
  families: FleetEstimates['families'],
): Finding[] {
  const family = families.get(familyKey(group) ?? '')
  if (!family) return []
  const slope = (fit.b - family.slope.median) / Math.hypot(family.slope.spread, fit.uB)
  const intercept = (fit.a - family.intercept.median) / Math.hypot(family.intercept.spread, fit.uA)
  const worst = Math.abs(slope) >= Math.abs(intercept) ? slope : intercept
  if (Math.abs(worst) <= rules.familyDistance) return []
  const bySlope = worst === slope
  const own = bySlope ? `${Math.round(fit.b)} lb per psi` : lb(fit.a)
  const usual = bySlope ? `${Math.round(family.slope.median)} lb per psi` : lb(family.intercept.median)
  return [
    groupFinding(group, 'line-unlike-family', {
      since: calibration.calibratedAt,
      numbers: {
        slope_lb_per_psi: fit.b,
        family_slope_lb_per_psi: family.slope.median,
        slope_z: slope,
        intercept_lb: fit.a,
        family_intercept_lb: family.intercept.median,
        intercept_z: intercept,
        family_lines: family.lines,
      },
      message: `The line of ${day(calibration.calibratedAt)} ${bySlope ? 'rises by' : 'starts at'} ${own}; ${count(family.lines, 'group')} with the same springs lie around ${usual}.`,
      nextStep:
        'Check the tickets and pressures of this calibration, and whether its air springs are the ones on record.',
    }),
  ]
}

/** A line against what its air springs allow, and against the lines of groups with the same hardware. */
export function hardwareFindings(
  group: GroupFacts,
  line: CalibratedLine,
  rules: HouseRules,
  { families }: FleetEstimates,
): Finding[] {
  return [...implausible(group, line, rules), ...unlikeFamily(group, line, rules, families)]
}
