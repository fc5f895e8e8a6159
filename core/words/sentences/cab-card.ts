import { phrase } from '#core/words/phrase.ts'

interface ReadOff {
  readonly lift: 'raised' | 'lowered' | null
  /** Circuits whose mean is the pressure; empty where there is only one. */
  readonly meanOf: readonly string[]
  readonly isAbsolute: boolean
}

/**
 * What to mind when the pressure of a cab card's table is read, in sentences; the first is the position of the axle.
 */
export function howToRead({ lift, meanOf, isAbsolute }: ReadOff): {
  readonly lift: string | null
  readonly gauges: readonly string[]
} {
  return {
    lift:
      lift === null
        ? null
        : lift === 'raised'
          ? phrase('Read with the lift axle raised, then lower it.')
          : phrase('Read with the lift axle lowered.'),
    gauges: [
      ...(meanOf.length > 0
        ? [phrase('Pressure: mean of the {meanOf} gauges.', { meanOf: meanOf.join(phrase(' and ')) })]
        : []),
      ...(isAbsolute
        ? [phrase('Gauge pressure. Its sensor shows absolute pressure: take the air pressure off first.')]
        : []),
    ],
  }
}

/** When the gauges tell what a card says. */
export const readingConditions = (): string =>
  phrase(
    'Read the gauges on level ground, brakes released, air built up, a minute after stopping. “close”: too close to call. A load may be under on every group and over on gross or a bridge set.',
  )
