import type { GroupHistory } from '#core/evidence/history.ts'
import { type EventKind, lineBreakingEvents } from '#core/words/vocabulary.ts'

/** Something that ended a line: recorded work, or a sensor that came onto a circuit. */
export interface LineBreak {
  readonly at: number
  readonly circuitId: number | null
  readonly kind: EventKind
  /** Of the sensor that was mounted; null for recorded work. */
  readonly serial: string | null
}

/** Every break of a group's line after `after` (ms), oldest first: recorded events and sensors mounted since. */
export function lineBreaks(history: GroupHistory, after: number): LineBreak[] {
  const breaks: LineBreak[] = []
  for (const { happenedAt, kind, circuitId } of history.events) {
    if (happenedAt > after && lineBreakingEvents.has(kind))
      breaks.push({ at: happenedAt, circuitId, kind, serial: null })
  }
  for (const circuit of history.circuits) {
    for (const mount of circuit.mounts) {
      if (mount.mountedAt <= after) continue
      breaks.push({
        at: mount.mountedAt,
        circuitId: circuit.circuitId,
        kind: 'sensor swapped',
        serial: mount.serial,
      })
    }
  }
  return breaks.sort((a, b) => a.at - b.at)
}
