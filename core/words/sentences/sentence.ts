import type { Say } from '#core/words/say.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * What a sentence is about, in stored units (lb, psi, ft, ms UTC): plain data, so that it can be stored and said again
 * in other measures.
 */
export type Facts = Readonly<Record<string, string | number | null>>

/** What the evidence says, and what to do about it. */
export interface Advice {
  readonly message: string
  readonly nextStep: string
}

/** One thing to say: from its facts and the measures in use, the words for a person. */
export type Entry<F extends Facts, Words> = (facts: F, say: Say) => Words

/** The facts that an entry asks for. */
export type FactsOf<E> = E extends Entry<infer F, unknown> ? F : never

/** Work that ended a line, as a clause; serial: of the sensor that came onto a circuit. */
export function workDone(kind: string, serial: string | null): string {
  if (serial !== null) return phrase('sensor {serial} was mounted', { serial })
  switch (kind) {
    case 'valve replaced':
      return phrase('a leveling valve was replaced')
    case 'height set':
      return phrase('the ride height was set')
    case 'spring replaced':
      return phrase('an air spring was replaced')
    case 'sensor swapped':
      return phrase('a sensor was swapped')
    case 'axle work':
      return phrase('work was done on the axle')
    default:
      return kind
  }
}
