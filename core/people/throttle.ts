import { phrase } from '#core/words/phrase.ts'

/** How often may be tried before one has to wait, and for how long: twice as long after each further try. */
export interface Patience {
  readonly free: number
  readonly firstWaitMs: number
  readonly longestWaitMs: number
  /** After so long without a try all is forgotten. */
  readonly forgetMs: number
  /** So many names or addresses are kept in mind; of more the one that has been quiet longest is forgotten. */
  readonly most: number
}

const minute = 60_000
export const namePatience: Patience = {
  free: 5,
  firstWaitMs: 5000,
  longestWaitMs: 15 * minute,
  forgetMs: 60 * minute,
  most: 2000,
}
/** Several people may sit behind one address. */
export const addressPatience: Patience = { ...namePatience, free: 20 }

interface Tries {
  readonly count: number
  /** By the clock that counts durations, ms. */
  readonly lastAt: number
}

const waitAfter = (tries: number, { free, firstWaitMs, longestWaitMs }: Patience): number =>
  tries < free ? 0 : Math.min(longestWaitMs, firstWaitMs * 2 ** Math.min(40, tries - free))

/**
 * Counts tries under a key. A try is counted when it begins, so that many at once are no way around, and forgiven when
 * it came to a good end; one that has to wait is not counted. now: of a clock that counts durations, ms.
 */
export function makeThrottle(patience: Patience) {
  const known = new Map<string, Tries>()
  const triesOf = (key: string, now: number): Tries | undefined => {
    const tries = known.get(key)
    return tries && now - tries.lastAt < patience.forgetMs ? tries : undefined
  }
  return {
    /** How long the next try has to wait, ms; 0 where it may begin. */
    wait: (key: string, now: number): number => {
      const tries = triesOf(key, now)
      return tries ? Math.max(0, tries.lastAt + waitAfter(tries.count, patience) - now) : 0
    },
    begin: (key: string, now: number): void => {
      const count = (triesOf(key, now)?.count ?? 0) + 1
      // Put anew, so that the map is in the order of the last tries.
      known.delete(key)
      known.set(key, { count, lastAt: now })
      const [oldest] = known.keys()
      if (known.size > patience.most && oldest !== undefined) known.delete(oldest)
    },
    forgive: (key: string): void => {
      known.delete(key)
    },
    size: () => known.size,
  }
}

/** `12 seconds`, `3 minutes`: a wait as it is told, never shorter than it is. */
export function waitText(ms: number): string {
  const seconds = Math.max(1, Math.ceil(ms / 1000))
  return seconds < 120
    ? phrase('{seconds, plural, one {# second} other {# seconds}}', { seconds })
    : phrase('{minutes, plural, one {# minute} other {# minutes}}', { minutes: Math.ceil(seconds / 60) })
}
