import { fleetWork } from '#core/words/touch.ts'
import { z } from 'zod'

/** What imports tell, of fleet folders and of foreign files. */
/** Rows of one file. */
export const rowCounts = z.object({
  file: z.string(),
  read: z.number(),
  added: z.number(),
  completed: z.number(),
  same: z.number(),
})

export const rowProblem = z.object({
  file: z.string(),
  line: z.number().nullable(),
  column: z.string().nullable(),
  value: z.string(),
  accepted: z.string(),
  message: z.string(),
})
export type RowProblemView = z.infer<typeof rowProblem>

export const importProgress = z.object({
  stage: z.string(),
  /** What is done for the whole fleet by now; left out where it is something else. */
  work: z.enum(fleetWork).optional(),
  rows: z.number(),
  rowsPerSecond: z.number(),
  share: z.number().min(0).max(1).nullable(),
})

export type ImportProgress = z.infer<typeof importProgress>

export const storedImport = z.object({
  outcome: z.literal('stored'),
  files: z.array(rowCounts),
  notes: z.array(z.string()),
  seconds: z.number(),
})
export const refusedImport = z.object({
  outcome: z.literal('refused'),
  problems: z.array(rowProblem),
  more: z.boolean(),
})
export const importOutcome = z.discriminatedUnion('outcome', [storedImport, refusedImport])
export type ImportOutcome = z.infer<typeof importOutcome>
