import { z } from 'zod'
import { describeRange, type Range } from '#core/fleet/range.ts'

/** A number of a range, or the sentence that tells the range. */
export function within(range: Range) {
  const accepted = `${describeRange(range)} is accepted`
  return z.number().min(range.min, accepted).max(range.max, accepted)
}
