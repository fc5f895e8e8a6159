import { refusal } from '#core/api/answer-errors.ts'
import type { Sent } from '#core/contracts/sent.ts'
import type { Store } from '#core/store/open.ts'
import type { listNamedCircuits } from '#core/store/save-weigh-in.ts'
import { type SentSave, digestOf } from '#core/store/sent-saves.ts'
import { unitByNumber } from '#core/store/unit-sheet.ts'
import { toStoredInstant, typedInstantMs } from '#core/words/instant.ts'
import { phrase } from '#core/words/phrase.ts'
import { clockAhead } from '#core/words/sender-clock.ts'

type NamedCircuits = Awaited<ReturnType<typeof listNamedCircuits>>

/** A pressure under the names that people use. */
export interface NamedPressure {
  readonly unit: string
  readonly group: string
  readonly circuit: string
  readonly psi: number
}

/**
 * The pressures of one moment by the ids of their circuits. Refused where a circuit is not among those of the units, or
 * is given twice.
 */
export function pressuresByCircuit(
  circuits: NamedCircuits,
  typed: readonly NamedPressure[],
): { circuitId: number; psi: number }[] {
  const pressures = new Map<number, number>()
  for (const { unit, group, circuit, psi } of typed) {
    const found = circuits.find((each) => each.unit === unit && each.group === group && each.circuit === circuit)
    const place = `${unit} ${group} ${circuit}`
    if (!found)
      throw refusal({
        code: 'no-such-circuit',
        field: 'pressures',
        value: place,
        accepted: phrase('a circuit of one of the units'),
        message: phrase('There is no circuit {place} on the units of this combination. Nothing was saved.', { place }),
      })
    if (pressures.has(found.id))
      throw refusal({
        code: 'twice',
        field: 'pressures',
        value: place,
        accepted: phrase('one pressure a circuit'),
        message: phrase('The pressure of {place} is given twice. Nothing was saved.', { place }),
      })
    pressures.set(found.id, psi)
  }
  return Array.from(pressures, ([circuitId, psi]) => ({ circuitId, psi }))
}

/** The ids of units by their numbers, each once. Errors: TarelineError `no-such-unit`. */
export async function findUnits({ db }: Store, numbers: readonly string[]): Promise<number[]> {
  const ids: number[] = []
  for (const number of new Set(numbers)) ids.push((await unitByNumber(db, number)).id)
  return ids
}

/** A save as it was sent, told from others by all but the moment at which it was sent. */
export const sentSave = <Input extends { readonly sent?: Sent | undefined }>({
  sent,
  ...values
}: Input): SentSave | undefined => sent && { id: sent.id, digest: digestOf(values) }

/**
 * Reads the times of a save by the clock of this machine, where they were taken from that of a sender which goes wrong:
 * what that clock is ahead now, ms, it was ahead when the times were taken. now: ms UTC.
 */
export function bySendersClock(
  sent: Sent | undefined,
  now: number,
): { readonly clockOffMs: number; readonly own: (time: string) => string } {
  const clockOffMs = sent?.byClock ? clockAhead(typedInstantMs(sent.clock), now) : 0
  return {
    clockOffMs,
    own: (time) => (clockOffMs === 0 ? time : toStoredInstant(typedInstantMs(time) - clockOffMs)),
  }
}
