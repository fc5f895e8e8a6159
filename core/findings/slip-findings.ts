import type { CheckTrail } from '#core/evidence/follow-checks.ts'
import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import { type Slip, type SlipFacts, slipCandidates } from '#core/evidence/slips.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { type Point, fitLine } from '#core/line/fit.ts'
import { chiSquaredQuantile } from '#core/line/statistics.ts'

function slipFinding(history: GroupHistory, observation: Observation, slip: Slip): Finding {
  const at = observation.takenAt
  const fits = slip.code === 'wrong-pressure-unit' ? `${slip.fitsPsi.toFixed(1)}psi` : `${slip.fitsLb}lb`
  const base = {
    since: at,
    ticketId: observation.ticketId,
    scaleId: observation.scaleId,
    restsOn: `${observation.readingId}/${observation.psi.join('/')}/${observation.weightLb}/${fits}`,
  }
  if (slip.code === 'wrong-pressure-unit') {
    const { unit, circuitId, typedPsi, fitsPsi } = slip
    return groupFinding(
      history,
      slip.code,
      circuitId === null && history.circuits.length > 1 ? 'all' : 'one',
      { at, typedPsi, fitsPsi, unit },
      { ...base, circuitId, numbers: { typed_psi: typedPsi, fits_psi: fitsPsi, unit } },
    )
  }
  const { typedLb, fitsLb } = slip
  return groupFinding(
    history,
    slip.code,
    'ticket',
    { at, typedLb, fitsLb },
    { ...base, numbers: { typed_lb: typedLb, fits_lb: fitsLb } },
  )
}

/** Slips among the checks of a line. */
export function checkSlips(history: GroupHistory, { steps }: CheckTrail): Finding[] {
  return steps.flatMap(({ slip, check }) => (slip === null ? [] : [slipFinding(history, check.observation, slip)]))
}

/** The points with one of them changed as a slip says. */
function mended(points: readonly Point[], place: number, slip: Slip): Point[] {
  return points.map((point, i) => {
    if (i !== place) return point
    return slip.code === 'wrong-pressure-unit' ? { ...point, x: slip.groupPsi } : { ...point, y: slip.fitsLb }
  })
}

/**
 * A slip in one point of a calibration whose points disagree: the change that makes all of them agree again, the best
 * of those found. With three points almost any change mends a line, so there it must have support of its own.
 */
export function calibrationSlips(history: GroupHistory, { line }: LineLife, context: SlipFacts): Finding[] {
  const { fit, points } = line
  if (fit.chi2Limit95 === null || fit.chi2 <= chiSquaredQuantile(context.rules.disagreeConfidence / 100, fit.dof))
    return []
  let best: { observation: Observation; slip: Slip; chi2: number } | undefined
  for (const [place, point] of points.entries()) {
    const rest = fitLine(points.filter((_, i) => i !== place))
    if (!rest.ok) continue
    const { a, b, uA, uB, covAB } = rest.value
    const { observation } = point
    const candidates = slipCandidates(
      {
        history,
        line,
        observation,
        psi: point.x,
        distance: (weightLb, psiAt) =>
          Math.abs(weightLb - a - b * psiAt) /
          Math.sqrt(point.uy ** 2 + (b * point.ux) ** 2 + Math.max(0, uA * uA + 2 * psiAt * covAB + (psiAt * uB) ** 2)),
      },
      context,
    )
    for (const { slip, sure } of candidates) {
      if (!sure && points.length < 4) continue
      const refit = fitLine(mended(points, place, slip))
      if (refit.ok && refit.value.chi2 <= fit.chi2Limit95 && (best === undefined || refit.value.chi2 < best.chi2)) {
        best = { observation, slip, chi2: refit.value.chi2 }
      }
    }
  }
  return best ? [slipFinding(history, best.observation, best.slip)] : []
}
