import type { AssessmentContext } from '#core/findings/assessment.ts'
import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { count, day, lb, percent, psi, ticketLb } from '#core/findings/words.ts'
import type { GroupFacts } from '#core/fleet/history.ts'
import type { CalibratedLine } from '#core/line/calibrate.ts'
import { chiSquaredQuantile } from '#core/line/quantile.ts'

/** The point that fits worst: the largest residual in units of its own uncertainty, as a place in `points`. */
export function worstPoint({ points, fit }: CalibratedLine): { place: number; residualLb: number } {
  let place = 0
  let worst = -1
  let residualLb = 0
  points.forEach(({ x, y, ux, uy }, i) => {
    const residual = y - fit.a - fit.b * x
    const score = Math.abs(residual) / Math.hypot(uy, fit.b * ux)
    if (score > worst) {
      worst = score
      place = i
      residualLb = residual
    }
  })
  return { place, residualLb }
}

function twoPointLine(group: GroupFacts, line: CalibratedLine): Finding[] {
  if (line.points.length > 2) return []
  return [
    groupFinding(group, 'two-point-line', {
      since: line.calibration.calibratedAt,
      numbers: { points: line.points.length },
      message: `The line of ${day(line.calibration.calibratedAt)} has two points only: it fits them exactly and cannot show a slip.`,
      nextStep: 'Next time weigh at three or more loads.',
    }),
  ]
}

function shortSpan(group: GroupFacts, line: CalibratedLine, limitLb: number, { rules }: AssessmentContext): Finding[] {
  const weights = line.points.map(({ y }) => y)
  const top = Math.max(...weights)
  const span = top - Math.min(...weights)
  const smallSpan = span < (rules.shortSpanPercent / 100) * limitLb
  const lowTop = top < (rules.topLoadPercent / 100) * limitLb
  if (!smallSpan && !lowTop) return []
  const why = smallSpan
    ? `The calibration weights lie only ${ticketLb(span)} apart; ${percent(rules.shortSpanPercent)} of the ${ticketLb(limitLb)} limit is asked for`
    : `The heaviest calibration weight is ${ticketLb(top)}, far below the ${ticketLb(limitLb)} limit`
  return [
    groupFinding(group, 'short-span', {
      since: line.calibration.calibratedAt,
      numbers: {
        span_lb: span,
        heaviest_lb: top,
        limit_lb: limitLb,
        span_asked_percent: rules.shortSpanPercent,
        top_asked_percent: rules.topLoadPercent,
      },
      message: `${why}, so weights near the limit are a guess beyond the points.`,
      nextStep: 'Weigh once loaded near the limit and once empty, and calibrate with both.',
    }),
  ]
}

function pointsDisagree(group: GroupFacts, line: CalibratedLine, { rules }: AssessmentContext): Finding[] {
  const { fit, points } = line
  if (fit.chi2Limit95 === null) return []
  const bound = chiSquaredQuantile(rules.disagreeConfidence / 100, fit.dof)
  if (fit.chi2 <= bound) return []
  const { place, residualLb } = worstPoint(line)
  const point = points[place] as (typeof points)[number]
  const side = residualLb > 0 ? 'above' : 'below'
  return [
    groupFinding(group, 'points-disagree', {
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
      message: `The ${count(points.length, 'point')} of the line of ${day(line.calibration.calibratedAt)} do not lie on one line: ${ticketLb(point.y)} at ${psi(point.x)} is ${lb(Math.abs(residualLb))} ${side} it.`,
      nextStep: 'Compare that ticket and its pressure with the paper; if both are right, weigh and calibrate again.',
    }),
  ]
}

/** What a line says about itself: too few points, too short a span, points that do not agree. */
export function lineFindings(
  group: GroupFacts,
  line: CalibratedLine,
  limitLb: number,
  context: AssessmentContext,
): Finding[] {
  return [
    ...pointsDisagree(group, line, context),
    ...shortSpan(group, line, limitLb, context),
    ...twoPointLine(group, line),
  ]
}
