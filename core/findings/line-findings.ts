import type { CalibratedLine } from '#core/evidence/calibrate.ts'
import { type FleetEstimates, familyKey } from '#core/evidence/estimates.ts'
import type { GroupFacts } from '#core/evidence/history.ts'
import { type CheckTrail, firstPointAt, lastPointAt } from '#core/evidence/follow-checks.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import { type SinceWhen, sinceWhen } from '#core/evidence/state/best-weight.ts'
import { noiseOf } from '#core/evidence/state/life-states.ts'
import type { LineNoise } from '#core/evidence/state/series.ts'
import { type TemperatureEffect, atReference } from '#core/evidence/state/temperature.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { sinceNumbers } from '#core/findings/check-findings.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { doublings } from '#core/findings/set-aside.ts'
import { fitLine } from '#core/line/fit.ts'
import { chiSquaredQuantile } from '#core/line/statistics.ts'
import { type LineDifference, compareLines, wanderCovariance, weightsAt } from '#core/line/track.ts'
import { dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** What a finding about a line rests on: its points, as they would be read out. */
const pointsText = ({ calibration, points }: CalibratedLine): string =>
  [calibration.calibrationId, ...points.map(({ x, y }) => `${Math.round(y)}@${x.toFixed(1)}`)].join('/')

/** The point that fits worst: the largest residual in units of its own uncertainty, as a place in `points`. */
export function worstPoint({ points, fit }: CalibratedLine): { place: number; residualLb: number } {
  let place = 0
  let worst = -1
  let residualLb = 0
  for (const [i, { x, y, ux, uy }] of points.entries()) {
    const residual = y - fit.a - fit.b * x
    const score = Math.abs(residual) / Math.hypot(uy, fit.b * ux)
    if (score > worst) {
      worst = score
      place = i
      residualLb = residual
    }
  }
  return { place, residualLb }
}

/** Two points fit their line exactly: until a check has tested it, nothing would show a slip in either. */
function twoPointLine(group: GroupFacts, { life: { line }, steps }: CheckTrail): Finding[] {
  if (line.points.length > 2) return []
  const { calibratedAt } = line.calibration
  const tested = steps.some(({ slip }) => slip === null)
  const told = {
    severity: tested ? ('note' as const) : ('warn' as const),
    restsOn: pointsText(line),
    since: calibratedAt,
    numbers: { points: line.points.length },
  }
  return [groupFinding(group, 'two-point-line', tested ? 'line' : 'untested', { calibratedAt }, told)]
}

function shortSpan(group: GroupFacts, line: CalibratedLine, limitLb: number, { rules }: AssessmentContext): Finding[] {
  const weights = line.points.map(({ y }) => y)
  const top = Math.max(...weights)
  const span = top - Math.min(...weights)
  const smallSpan = span < (rules.shortSpanPercent / 100) * limitLb
  const lowTop = top < (rules.topLoadPercent / 100) * limitLb
  if (!smallSpan && !lowTop) return []
  const told = {
    restsOn: pointsText(line),
    since: line.calibration.calibratedAt,
    numbers: {
      span_lb: span,
      heaviest_lb: top,
      limit_lb: limitLb,
      span_asked_percent: rules.shortSpanPercent,
      top_asked_percent: rules.topLoadPercent,
    },
  }
  return [
    smallSpan
      ? groupFinding(group, 'short-span', 'span', { spanLb: span, askedPercent: rules.shortSpanPercent, limitLb }, told)
      : groupFinding(group, 'short-span', 'top', { topLb: top, limitLb }, told),
  ]
}

/**
 * The chi-squared of residuals about lines that noise passes with a probability of `chance` at most: half of it
 * granted to ordinary settlings, half to one of the tail among them, where the fleet has any. Of n points and f
 * degrees of freedom that one counts λ = 1 + (s² - 1) f/n fold, and χ²(f - 1) + λ χ²(1) is taken as the χ² of the same
 * mean and variance.
 *
 * Source: F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110, for the last (from memory).
 */
export function tailBound(chance: number, points: number, dof: number, { tailShare, tailScale }: LineNoise): number {
  const anyTail = 1 - (1 - tailShare) ** points
  const ordinary = chiSquaredQuantile(1 - chance / 2, dof)
  if (anyTail <= chance / 2) return ordinary
  const fold = 1 + ((tailScale * tailScale - 1) * dof) / points
  const mean = dof - 1 + fold
  const variance = 2 * (dof - 1 + fold * fold)
  const scale = variance / (2 * mean)
  return Math.max(ordinary, scale * chiSquaredQuantile(1 - chance / 2 / anyTail, mean / scale))
}

/**
 * Whether points agree within a bound of chi-squared once they are brought to one temperature, as the sensor follows
 * it.
 */
function agreeInWeather({ points }: CalibratedLine, weather: TemperatureEffect, bound: number): boolean {
  if (weather.psiPerDegree === 0) return false
  const fitted = fitLine(
    points.map(({ x, y, ux, uy, observation: { temperatureF } }) => {
      const { psi, variance } = atReference(weather, x, temperatureF)
      return { x: psi, y, ux: Math.hypot(ux, Math.sqrt(variance)), uy }
    }),
  )
  return fitted.ok && fitted.value.chi2 <= bound
}

function pointsDisagree(
  group: GroupFacts,
  { life: { line }, physical }: CheckTrail,
  { rules, estimates }: AssessmentContext,
): Finding[] {
  const { fit, points } = line
  if (fit.chi2Limit95 === null) return []
  const chance = 1 - rules.disagreeConfidence / 100
  // Half the chance at most 5 %, the bound is no lower than the 95 % quantile, within which nearly all lines lie.
  if (chance <= 0.1 && fit.chi2 <= fit.chi2Limit95) return []
  const bound = tailBound(chance, points.length, fit.dof, noiseOf(group, estimates))
  if (fit.chi2 <= bound || (physical !== undefined && agreeInWeather(line, physical.weather, bound))) return []
  const { place, residualLb } = worstPoint(line)
  const point = points[place] as (typeof points)[number]
  return [
    groupFinding(
      group,
      'points-disagree',
      'line',
      {
        points: points.length,
        calibratedAt: line.calibration.calibratedAt,
        weightLb: point.y,
        psi: point.x,
        residualLb,
      },
      {
        restsOn: pointsText(line),
        since: line.calibration.calibratedAt,
        ticketId: point.observation.ticketId,
        scaleId: point.observation.scaleId,
        numbers: {
          chi2: fit.chi2,
          chi2_limit: bound,
          chi2_95: fit.chi2Limit95,
          dof: fit.dof,
          widened_by: line.widenedBy,
          worst_residual_lb: residualLb,
          worst_weight_lb: point.y,
          worst_pressure_psi: point.x,
        },
      },
    ),
  ]
}

/** What a line says about itself: too few points, too short a span, points that do not agree. */
export function lineFindings(
  group: GroupFacts,
  trail: CheckTrail,
  limitLb: number,
  context: AssessmentContext,
): Finding[] {
  const { line } = trail.life
  return [
    ...pointsDisagree(group, trail, context),
    ...shortSpan(group, line, limitLb, context),
    ...twoPointLine(group, trail),
  ]
}

/** Force per psi of all air springs of a group, lb/psi: springs times area; null when either is unknown. */
export function hardwareSlope({ circuits }: GroupFacts): number | null {
  let slope = 0
  for (const { airSprings, springAreaIn2 } of circuits) {
    if (airSprings === null || springAreaIn2 === null) return null
    slope += airSprings * springAreaIn2
  }
  return slope > 0 ? slope : null
}

function implausible(group: GroupFacts, line: CalibratedLine, rules: HouseRules): Finding[] {
  const { fit, calibration } = line
  const hardware = hardwareSlope(group)
  const ratio = hardware === null ? null : fit.b / hardware
  if (fit.b > 0 && (ratio === null || (ratio >= rules.slopeRatioLow && ratio <= rules.slopeRatioHigh))) return []
  const { calibratedAt } = calibration
  const told = {
    restsOn: `${pointsText(line)}/${hardware}`,
    since: calibration.calibratedAt,
    numbers: {
      slope_lb_per_psi: fit.b,
      hardware_lb_per_psi: hardware,
      ratio,
      low: rules.slopeRatioLow,
      high: rules.slopeRatioHigh,
    },
  }
  return [
    ratio === null || fit.b <= 0
      ? groupFinding(group, 'slope-implausible', 'falls', { calibratedAt, slopeLbPerPsi: fit.b }, told)
      : groupFinding(group, 'slope-implausible', 'springs', { calibratedAt, slopeLbPerPsi: fit.b, ratio }, told),
  ]
}

function unlikeFamily(
  group: GroupFacts,
  line: CalibratedLine,
  rules: HouseRules,
  families: FleetEstimates['families'],
): Finding[] {
  const { fit, calibration } = line
  const family = families.get(familyKey(group) ?? '')
  if (!family) return []
  const slope = (fit.b - family.slope.median) / Math.hypot(family.slope.spread, fit.uB)
  const intercept = (fit.a - family.intercept.median) / Math.hypot(family.intercept.spread, fit.uA)
  const worst = Math.abs(slope) >= Math.abs(intercept) ? slope : intercept
  if (Math.abs(worst) <= rules.familyDistance) return []
  const facts = { calibratedAt: calibration.calibratedAt, groups: family.lines }
  const told = {
    restsOn: `${pointsText(line)}/${doublings(worst, rules.familyDistance)}`,
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
  }
  return [
    worst === slope
      ? groupFinding(
          group,
          'line-unlike-family',
          'slope',
          { ...facts, slopeLbPerPsi: fit.b, usualLbPerPsi: family.slope.median },
          told,
        )
      : groupFinding(
          group,
          'line-unlike-family',
          'start',
          { ...facts, startLb: fit.a, usualLb: family.intercept.median },
          told,
        ),
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

/**
 * How far the later of two lines lies from the earlier at the earlier's empty and limit pressure, with the wander to be
 * expected between them: the as-found error of the recalibration.
 */
export function compareLives(earlier: LineLife, later: LineLife): LineDifference {
  const widened = (life: LineLife) => {
    const { line, fit } = life.line
    // The two may have been weighed on different scales: their known biases are taken off, their own errors counted.
    const gain = 1 - life.scaleGain
    return weightsAt({ ...line, a: fit.a * gain, b: fit.b * gain }, earlier.emptyPsi, earlier.limitPsi)
  }
  return compareLines(
    widened(earlier),
    widened(later),
    wanderCovariance(earlier.wander, later.line.calibration.calibratedAt - earlier.line.calibration.calibratedAt),
  )
}

/** What changed between the calibrations of two lines, by the state of the life that both belong to. */
function changeBetween({ life, physical }: CheckTrail, later: CheckTrail): SinceWhen | null {
  return physical === undefined || physical !== later.physical
    ? null
    : sinceWhen(physical.state, { after: lastPointAt(life), until: firstPointAt(later.life) })
}

/**
 * The line in use against the one before it, unless recorded work between them explains a move. The state that follows
 * both must say too that something changed, unless not even a settling out of the ordinary sets lines so far apart.
 */
export function movedFindings(group: GroupFacts, before: CheckTrail, after: CheckTrail, rules: HouseRules): Finding[] {
  const earlier = before.life
  const later = after.life
  if (earlier.brokenAt !== null) return []
  const difference = compareLives(earlier, later)
  const chance = 1 - rules.movedConfidence / 100
  if (difference.chi2 <= chiSquaredQuantile(1 - chance, 2)) return []
  const change = changeBetween(before, after)
  const points = earlier.line.points.length + later.line.points.length
  if (!change?.established && after.physical !== undefined) {
    const { noise, weather } = after.physical
    // Where the pressure follows the weather, two calibrations lie apart by that: only the state knows better.
    if (weather.psiPerDegree !== 0 || difference.chi2 <= tailBound(chance, points, 2, noise)) return []
  }
  const calibratedOn = dayOf(later.line.calibration.calibratedAt, rules.zone)
  const beforeOn = dayOf(earlier.line.calibration.calibratedAt, rules.zone)
  const atLimit =
    Math.abs(difference.atLimitLb / difference.uLimitLb) >= Math.abs(difference.atEmptyLb / difference.uEmptyLb)
  const shift = atLimit ? difference.atLimitLb : difference.atEmptyLb
  const u = atLimit ? difference.uLimitLb : difference.uEmptyLb
  return [
    groupFinding(
      group,
      'line-moved',
      'unexplained',
      {
        laterAt: later.line.calibration.calibratedAt,
        earlierAt: earlier.line.calibration.calibratedAt,
        shiftLb: shift,
        near: atLimit ? 'limit' : 'empty',
        times: Math.abs(shift / u),
      },
      {
        restsOn: `${pointsText(earlier.line)}/${pointsText(later.line)}`,
        since: change?.at ?? earlier.line.calibration.calibratedAt,
        numbers: {
          at_empty_lb: difference.atEmptyLb,
          u_empty_lb: difference.uEmptyLb,
          at_limit_lb: difference.atLimitLb,
          u_limit_lb: difference.uLimitLb,
          chi2: difference.chi2,
          calibrated_on: calibratedOn,
          before_on: beforeOn,
          ...(change === null ? {} : sinceNumbers(change)),
        },
      },
    ),
  ]
}
