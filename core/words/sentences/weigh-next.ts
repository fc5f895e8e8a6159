import type { Say } from '#core/words/say.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

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
      return 'its line has moved'
    case 'suspected':
      return 'a change is suspected'
    case 'never':
      return facts.workedAt === null
        ? `never weighed ${facts.load}`
        : `not weighed ${facts.load} since the work of ${say.day(facts.workedAt)}`
    case 'one scale':
      return 'only one scale so far'
    case 'last':
      return `not weighed ${facts.load} since ${say.day(facts.on)}`
    case 'few':
      return `only ${facts.weighings === 1 ? 'one weighing' : `${say.number(facts.weighings)} weighings`} ${
        facts.workedAt === null ? 'so far' : `since the work of ${say.day(facts.workedAt)}`
      }`
  }
}

/** How to weigh, with the state of the lift axle where the line holds in one only. */
export const sayLoad = (load: Load, lift: LiftState | null): string =>
  lift === 'raised' || lift === 'lowered' ? `${load} with the lift axle ${lift}` : load

/** How much surer a weighing makes the best weight at the limit: `± 1,420 lb becomes ± 980 lb at the limit`. */
export const sayTaught = ({ uNowLb, uAfterLb }: { readonly uNowLb: number; readonly uAfterLb: number }, say: Say) =>
  `${say.plusMinus(uNowLb)} becomes ${say.plusMinus(uAfterLb)} at the limit`

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
  `One weighing ${sayLoad(facts.load, facts.lift)} on ${facts.scale} would make its best weight at the ` +
  `limit good to ${say.plusMinus(facts.uAfterLb)}, now ${say.plusMinus(facts.uNowLb)}: ` +
  `${sayWhyWeigh(facts.why, say)}.`
