import { type LineBreak, lineBreaks } from '#core/evidence/breaks.ts'
import { settledAt } from '#core/evidence/calibrate.ts'
import type { CalibrationFacts, GroupHistory } from '#core/evidence/history.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/**
 * When a circuit was first read for a calibration though its first sensor is said to have come only afterwards, ms UTC;
 * null where the break is another. Nobody reads a circuit without a sensor, unless off a gauge: the date is what is
 * wrong.
 */
function readBeforeMounted(
  { circuits }: GroupHistory,
  { points }: CalibrationFacts,
  { circuitId, serial, at }: LineBreak,
): number | null {
  const place = circuits.findIndex((circuit) => circuit.circuitId === circuitId)
  const mounts = circuits[place]?.mounts ?? []
  if (serial === null || mounts.some(({ mountedAt }) => mountedAt < at)) return null
  const read = points.filter(({ psi }) => (psi[place] ?? null) !== null).map(({ takenAt }) => takenAt)
  return read.length === 0 ? null : Math.min(...read)
}

/** One finding for all the work done since the calibration: the first of it broke the line. */
export function breakFindings(history: GroupHistory, calibration: CalibrationFacts, rules: HouseRules): Finding[] {
  const { calibratedAt } = calibration
  const breaks = lineBreaks(history, settledAt(calibration))
  const first = breaks[0]
  if (!first) return []
  const circuit =
    history.circuits.length > 1
      ? history.circuits.find(({ circuitId }) => circuitId === first.circuitId)?.name
      : undefined
  const told = {
    since: first.at,
    restsOn: `${calibration.calibrationId}/${breaks.length}`,
    circuitId: first.circuitId,
    numbers: { event: first.kind, events: breaks.length, calibrated_on: dayOf(calibratedAt, rules.zone) },
  }
  const readAt = readBeforeMounted(history, calibration, first)
  if (first.serial !== null && readAt !== null)
    return [
      groupFinding(
        history,
        'event-since-calibration',
        'mounted late',
        { at: first.at, serial: first.serial, readAt, circuit: circuit ?? null, calibratedAt },
        told,
      ),
    ]
  return [
    groupFinding(
      history,
      'event-since-calibration',
      'work',
      {
        at: first.at,
        kind: first.kind,
        serial: first.serial,
        circuit: circuit ?? null,
        more: breaks.length - 1,
        calibratedAt,
      },
      told,
    ),
  ]
}
