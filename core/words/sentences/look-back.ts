import type { Say } from '#core/words/say.ts'
import { wordOf } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** Why a verdict that was said is no longer held, as facts; times ms UTC. */
export type WhyChanged =
  | { readonly why: 'line moved'; readonly group: string; readonly since: number }
  | { readonly why: 'provisional'; readonly group: string | null }
  | { readonly why: 'record changed' }
  | { readonly why: 'all evidence' }

/** The same as a sentence. */
export function sayWhyChanged(changed: WhyChanged, say: Say): string {
  switch (changed.why) {
    case 'line moved':
      return phrase('The line of {group} has been off since about {since}.', {
        group: changed.group,
        since: say.day(changed.since),
      })
    case 'provisional':
      return phrase('Work was done since the last calibration; the weighings after it put the line elsewhere.')
    case 'record changed':
      return phrase('What is on record has been corrected or added to since.')
    case 'all evidence':
      return phrase('All weighings together, later ones too, put the line elsewhere than its calibration did.')
  }
}

/** What was said then and what is held now: `called over, now under`. */
export const sayThenNow = (said: string, now: string): string =>
  phrase('called {said}, now {now}', { said: wordOf(said), now: wordOf(now) })
