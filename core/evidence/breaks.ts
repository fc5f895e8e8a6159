import type { GroupHistory } from '#core/evidence/history.ts'
import { type EventKind, lineBreakingEvents } from '#core/words/vocabulary.ts'

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
