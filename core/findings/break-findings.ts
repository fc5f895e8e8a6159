import { lineBreaks } from '#core/evidence/breaks.ts'
import { settledAt } from '#core/evidence/calibrate.ts'
import type { CalibrationFacts, GroupHistory } from '#core/evidence/history.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

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
      {
        since: first.at,
        restsOn: `${calibration.calibrationId}/${breaks.length}`,
        circuitId: first.circuitId,
        numbers: { event: first.kind, events: breaks.length, calibrated_on: dayOf(calibratedAt, rules.zone) },
      },
    ),
  ]
}
