import { lineBreaks } from '#core/evidence/breaks.ts'
import { settledAt } from '#core/evidence/calibrate.ts'
import type { CalibrationFacts, GroupHistory } from '#core/evidence/history.ts'
import { type Finding, groupFinding } from '#core/findings/finding.ts'
import { day } from '#core/findings/words.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** One finding for all the work done since the calibration: the first of it broke the line. */
export function breakFindings(history: GroupHistory, calibration: CalibrationFacts, rules: HouseRules): Finding[] {
  const { calibratedAt } = calibration
  const breaks = lineBreaks(history, settledAt(calibration))
  const first = breaks[0]
  if (!first) return []
  const more = breaks.length > 1 ? ` (and ${breaks.length - 1} more since)` : ''
  const name =
    history.circuits.length > 1
      ? history.circuits.find(({ circuitId }) => circuitId === first.circuitId)?.name
      : undefined
  const place = name === undefined ? '' : ` on circuit ${name}`
  return [
    groupFinding(history, 'event-since-calibration', {
      since: first.at,
      restsOn: `${calibration.calibrationId}/${breaks.length}`,
      circuitId: first.circuitId,
      numbers: { event: first.kind, events: breaks.length, calibrated_on: day(calibratedAt, rules) },
      message: `On ${day(first.at, rules)} ${first.what}${place}${more}, after the calibration of ${day(calibratedAt, rules)}: the line no longer describes the group.`,
      nextStep: 'Weigh empty and loaded with readings, and calibrate again before trusting its weights.',
    }),
  ]
}
