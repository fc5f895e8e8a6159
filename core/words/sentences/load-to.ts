import type { Say } from '#core/words/say.ts'
import { type WhyUnweighed, sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { phrase } from '#core/words/phrase.ts'

/** Why a group has no pressure to load to, as data. name: of the unit and the group. */
export type WhyNoLoad =
  | readonly [reason: 'no line', why: WhyUnweighed]
  | readonly [reason: 'suspect', facts: { readonly name: string }]
  | readonly [
      reason: 'too uncertain',
      facts: { readonly name: string; readonly percent: number; readonly provisional: boolean },
    ]

/** Why there is no pressure to load to, in the measures in use. */
export function sayNoLoad([reason, facts]: WhyNoLoad, say: Say): string {
  switch (reason) {
    case 'no line':
      return sayUnweighed(facts, say)
    case 'suspect':
      return phrase(
        'No pressure to load {name} to: its newest weighings do not agree with its line, and too few tell yet what is wrong. Weigh it again.',
        { name: facts.name },
      )
    case 'too uncertain':
      return facts.provisional
        ? phrase(
            'No pressure to load {name} to: the few weighings since the work on it leave its line too uncertain. Weigh it loaded once more.',
            { name: facts.name },
          )
        : phrase(
            'No pressure to load {name} to: not even the lightest load is under the limit with {percent} % confidence.',
            { name: facts.name, percent: facts.percent },
          )
  }
}
