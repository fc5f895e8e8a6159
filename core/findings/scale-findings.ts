import type { FleetEstimates } from '#core/findings/evidence/estimates.ts'
import { type Finding, findingSeverities } from '#core/findings/finding.ts'
import { count, day, finePercent, lb } from '#core/findings/words.ts'
import type { ScaleFacts } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import { toleranceOf } from '#core/line/budget.ts'

const certainZ = 3
const loadLb = 34_000

/** Scales whose bias against the fleet is beyond a multiple of their tolerance, and beyond doubt. */
export function scaleFindings(
  scales: ReadonlyMap<number, ScaleFacts>,
  rules: HouseRules,
  estimates: FleetEstimates,
): Finding[] {
  const findings: Finding[] = []
  for (const { scaleId, gain, u, weighings, groups, since } of estimates.scales.values()) {
    const scale = scales.get(scaleId)
    const tolerance = toleranceOf(scale, rules) / 100
    if (Math.abs(gain) <= rules.scaleBiasTolerances * tolerance + certainZ * u) continue
    findings.push({
      code: 'scale-biased',
      severity: findingSeverities['scale-biased'],
      unitId: null,
      groupId: null,
      circuitId: null,
      scaleId,
      ticketId: null,
      since,
      evidence: String(weighings),
      numbers: { bias_percent: 100 * gain, u_percent: 100 * u, tolerance_percent: 100 * tolerance, weighings, groups },
      message: `Scale ${scale?.name ?? ''} shows ${finePercent(100 * Math.abs(gain))} too ${gain > 0 ? 'much' : 'little'} (about ${lb(Math.abs(gain) * loadLb)} on a loaded tandem) against the fleet's other scales: ${count(weighings, 'weighing')} of ${count(groups, 'group')} since ${day(since)} say so.`,
      nextStep: "Ask the scale's owner for its last certification, and calibrate on another scale until it is settled.",
    })
  }
  return findings
}
