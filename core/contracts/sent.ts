import { z } from 'zod'
import { typedInstant } from '#core/contracts/base.ts'

/**
 * Names a save for good, made where it was typed: the same save sent again, because its answer was lost on the way, is
 * answered as the first was, and saved once. Capitals do not tell two apart.
 */
export const sentId = z.uuid().toLowerCase()

/** What a save says of its way here, where it waited in a queue until the house could be reached. */
export const sent = z.object({
  id: sentId,
  /** What the clock of the sender says as it sends. */
  clock: typedInstant,
  /** Whether the times of the save are of that clock, and were not typed by a person. */
  byClock: z.boolean(),
})
export type Sent = z.infer<typeof sent>

/** By how much the sender's clock is ahead of the one that saves, ms; 0 where the times were kept as they came. */
export const clockOffMs = z.number()
