import { toStoredInstant } from '#core/words/instant.ts'
import type { Said } from '#core/words/sentences/findings.ts'

/**
 * What of the record a finding offers to put right, and the value that fits: a weight of a ticket, with another group's
 * where the two are swapped; the pressures of its reading; or since when a sensor has been on its circuit. Offered,
 * never applied by itself.
 */
export type OfferedFix =
  | {
      readonly what: 'weight'
      readonly ticketId: number
      /** Of the ticket's weight: `T-101 drive`. */
      readonly place: string
      readonly typedLb: number
      readonly fitsLb: number
      readonly isSwapped: boolean
    }
  | {
      readonly what: 'pressure'
      readonly ticketId: number
      /** Of the circuits, by how their names begin: `T-101 drive`. */
      readonly place: string
      readonly typedPsi: number
      readonly fitsPsi: number
      readonly unit: string
    }
  | { readonly what: 'mounting'; readonly unit: string; readonly serial: string; readonly since: string }

/** Where a finding belongs, by the names people use. */
interface FindingPlace {
  readonly unit: string | null
  readonly group: string | null
  readonly circuit: string | null
  readonly ticketId: number | null
}

/** The fix that a finding offers; null where it takes more than a value. */
export function offeredFix(
  { code, variant, facts }: Said,
  { unit, group, circuit, ticketId }: FindingPlace,
): OfferedFix | null {
  const number = (name: string) => Number(facts[name])
  if (unit === null || group === null) return null
  const place = `${unit} ${group}`
  if (ticketId !== null && (code === 'digits-transposed' || code === 'groups-swapped'))
    return {
      what: 'weight',
      ticketId,
      place,
      typedLb: number('typedLb'),
      fitsLb: number('fitsLb'),
      isSwapped: code === 'groups-swapped',
    }
  if (ticketId !== null && code === 'wrong-pressure-unit')
    return {
      what: 'pressure',
      ticketId,
      place: circuit === null ? place : `${place} ${circuit}`,
      typedPsi: number('typedPsi'),
      fitsPsi: number('fitsPsi'),
      unit: String(facts['unit']),
    }
  return code === 'event-since-calibration' && variant === 'mounted late'
    ? { what: 'mounting', unit, serial: String(facts['serial']), since: toStoredInstant(number('readAt')) }
    : null
}
