import type { Say } from '#core/words/say.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** How a unit stands on the scale: empty, or loaded near the limit. */
export const loads = ['empty', 'loaded'] as const
export type Load = (typeof loads)[number]

/** Why a weighing would teach much, as data; times ms UTC. */
export type WhyWeigh =
  | readonly [reason: 'moved']
  | readonly [reason: 'suspected']
  /** workedAt: the work that the life of the line began with; null where none is on record. */
  | readonly [reason: 'never', facts: { readonly load: Load; readonly workedAt: number | null }]
  | readonly [reason: 'one scale']
  | readonly [reason: 'last', facts: { readonly load: Load; readonly on: number }]
  | readonly [reason: 'few', facts: { readonly weighings: number; readonly workedAt: number | null }]

/** Why a weighing would teach much, in a few words. */
export function sayWhyWeigh([reason, facts]: WhyWeigh, say: Say): string {
  switch (reason) {
    case 'moved':
      return phrase('its line has moved')
    case 'suspected':
      return phrase('a change is suspected')
    case 'never':
      return facts.workedAt === null
        ? phrase('never weighed {load}', { load: word(facts.load) })
        : phrase('not weighed {load} since the work of {workedAt}', {
            load: word(facts.load),
            workedAt: say.day(facts.workedAt),
          })
    case 'one scale':
      return phrase('only one scale so far')
    case 'last':
      return phrase('not weighed {load} since {on}', { load: word(facts.load), on: say.day(facts.on) })
    case 'few':
      return phrase('only {weighings} {workedAt}', {
        weighings:
          facts.weighings === 1
            ? phrase('one weighing')
            : phrase('{weighings} weighings', { weighings: say.number(facts.weighings) }),
        workedAt:
          facts.workedAt === null
            ? phrase('so far')
            : phrase('since the work of {workedAt}', { workedAt: say.day(facts.workedAt) }),
      })
  }
}

/** How to weigh, with the state of the lift axle where the line holds in one only. */
export const sayLoad = (load: Load, lift: LiftState | null): string =>
  lift === 'raised' || lift === 'lowered'
    ? phrase('{load} with the lift axle {lift}', { load: word(load), lift: word(lift) })
    : word(load)

/** How much surer a weighing makes the best weight at the limit: `± 1,420 lb becomes ± 980 lb at the limit`. */
export const sayTaught = ({ uNowLb, uAfterLb }: { readonly uNowLb: number; readonly uAfterLb: number }, say: Say) =>
  phrase('{uNowLb} becomes {uAfterLb} at the limit', {
    uNowLb: say.plusMinus(uNowLb),
    uAfterLb: say.plusMinus(uAfterLb),
  })

/** What one weighing would bring a group. */
export const sayWeighNext = (
  facts: {
    readonly load: Load
    readonly lift: LiftState | null
    readonly scale: string
    readonly uNowLb: number
    readonly uAfterLb: number
    readonly why: WhyWeigh
  },
  say: Say,
): string =>
  phrase(
    'One weighing {load} on {scale} would make its best weight at the limit good to {uAfterLb}, now {uNowLb}: {why}.',
    {
      load: sayLoad(facts.load, facts.lift),
      scale: facts.scale,
      uAfterLb: say.plusMinus(facts.uAfterLb),
      uNowLb: say.plusMinus(facts.uNowLb),
      why: sayWhyWeigh(facts.why, say),
    },
  )
