import type { CheckTrail } from '#core/evidence/follow-checks.ts'
import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import type { Slip } from '#core/evidence/slips.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'

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

/** Slips among the points and the checks of a line. */
export function lineSlips(history: GroupHistory, { life, slips, steps }: CheckTrail): Finding[] {
  if (slips.size === 0) return []
  const observations = [
    ...life.line.points.map(({ observation }) => observation),
    ...steps.map(({ check }) => check.observation),
  ]
  return observations.flatMap((observation) => {
    const slip = slips.get(observation.readingId)
    return slip === undefined ? [] : [slipFinding(history, observation, slip)]
  })
}
