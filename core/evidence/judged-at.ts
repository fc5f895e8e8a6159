import { dayOf, endOfDay } from '#core/words/day.ts'

/**
 * Up to when evidence counts at a time (ms UTC), whoever asks: the end of its day in the fleet's zone, so that all
 * judgements and weights of a day are of the same moment and know everything that came in on it. What is dated later,
 * by a clock that goes wrong or a mistyped year, is on record and counts for nothing else until its day has come.
 */
export const judgedAt = (now: number, zone: string): number => endOfDay(dayOf(now, zone), zone)
