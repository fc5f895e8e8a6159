import { phrase } from '#core/words/phrase.ts'
import type { Trust } from '#core/findings/finding.ts'

/** The states of trust in which a group has to be seen to at once, whatever the age of its line. */
const atOnce: ReadonlySet<Trust> = new Set(['uncalibrated', 'upset', 'doubtful'])

/**
 * When a group, or a unit by the worst of its groups, must be seen to: at once where its line cannot be trusted, else
 * on the day on which its line runs out; null where it has none to run out. The one rule for lists, sheets and cards.
 */
export const nextDue = <D extends string>(trust: Trust, dueOn: D | null): 'now' | D | null =>
  atOnce.has(trust) ? 'now' : dueOn

/** The same in words: the day, or that it is due now; nothing where nothing is due. */
export const sayDue = (due: string | null): string => (due === 'now' ? phrase('now') : (due ?? ''))

/** The same of work on the shop's bench, whose day keeps its order there: what is to be done at once is due now. */
export const sayWorkDue = ({ dueNow, dueOn }: { readonly dueNow: boolean; readonly dueOn: string }): string =>
  sayDue(dueNow ? 'now' : dueOn)
