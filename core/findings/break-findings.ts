import type { Finding } from '#core/findings/finding.ts'
import { groupFinding } from '#core/findings/group-finding.ts'
import { day } from '#core/findings/words.ts'
import type { CalibrationFacts, GroupHistory } from '#core/fleet/history.ts'
import { type EventKind, lineBreakingEvents } from '#core/fleet/vocabulary.ts'
import { settledAt } from '#core/line/calibrate.ts'

/** Something that ended a line: recorded work, or a sensor that came onto a circuit. */
export interface LineBreak {
  readonly at: number
  readonly circuitId: number | null
  readonly kind: EventKind
  readonly what: string
}

const spoken: Partial<Record<EventKind, string>> = {
  'valve replaced': 'a leveling valve was replaced',
  'height set': 'the ride height was set',
  'spring replaced': 'an air spring was replaced',
  'sensor swapped': 'a sensor was swapped',
  'axle work': 'work was done on the axle',
}

/** Every break of a group's line after `after` (ms), oldest first: recorded events and sensors mounted since. */
export function lineBreaks(history: GroupHistory, after: number): LineBreak[] {
  const breaks: LineBreak[] = []
  for (const { happenedAt, kind, circuitId } of history.events) {
    if (happenedAt > after && lineBreakingEvents.has(kind))
      breaks.push({ at: happenedAt, circuitId, kind, what: spoken[kind] ?? kind })
  }
  for (const circuit of history.circuits) {
    for (const mount of circuit.mounts) {
      if (mount.mountedAt <= after) continue
      breaks.push({
        at: mount.mountedAt,
        circuitId: circuit.circuitId,
        kind: 'sensor swapped',
        what: `sensor ${mount.serial} was mounted`,
      })
    }
  }
  return breaks.sort((a, b) => a.at - b.at)
}

/** One finding for all the work done since the calibration: the first of it broke the line. */
export function breakFindings(history: GroupHistory, calibration: CalibrationFacts): Finding[] {
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
      circuitId: first.circuitId,
      numbers: { event: first.kind, events: breaks.length, calibrated_on: day(calibratedAt) },
      message: `On ${day(first.at)} ${first.what}${place}${more}, after the calibration of ${day(calibratedAt)}: the line no longer describes the group.`,
      nextStep: 'Weigh empty and loaded with readings, and calibrate again before trusting its weights.',
    }),
  ]
}
