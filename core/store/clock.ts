/**
 * The program's one clock: whatever the record, its documents or its judgement call now is this. Durations and
 * patience are measured elsewhere, by clocks that nobody sets.
 *
 * TARELINE_CLOCK, a time with its offset, starts it at another time when the program starts, and it runs on from
 * there; TARELINE_ZONE gives the machine another zone. Both are for tests, whose outcome must not depend on the day
 * and the place they run in.
 */
import { isZone } from '#core/words/day.ts'
import { parseInstant } from '#core/words/instant.ts'

/** The time now, ms UTC. */
export function timeNow(): number {
  const start = process.env['TARELINE_CLOCK']
  if (start === undefined) return Date.now()
  const at = parseInstant(start)
  if (at === undefined)
    throw new RangeError(
      `TARELINE_CLOCK is "${start}"; a time with its offset, such as 2026-03-01T12:00:00Z, is needed.`,
    )
  // Of the whole process: its threads see the same time.
  return at + Math.floor(process.uptime() * 1000)
}

/** The name of this machine's zone in the IANA time zone database, in which a new fleet file counts its days. */
export function machineZone(): string {
  const zone = process.env['TARELINE_ZONE'] ?? Intl.DateTimeFormat().resolvedOptions().timeZone
  if (!isZone(zone)) throw new RangeError(`"${zone}" is no time zone; a name such as America/Denver is needed.`)
  return zone
}
