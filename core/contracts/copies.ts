import { z } from 'zod'
import { typedPath } from '#core/contracts/within.ts'
import { base, instant } from '#core/contracts/base.ts'

const known = z.number().nullable()

/** What a copy, or the file itself, holds; null: it cannot say. */
export const copyFacts = z.object({
  bytes: z.number(),
  units: known,
  tickets: known,
  readings: known,
  calibrations: known,
  attachments: known,
  lastChangeAt: instant.nullable(),
  newestWeighingAt: instant.nullable(),
})
export type CopyFacts = z.infer<typeof copyFacts>

const listedCopy = copyFacts.extend({
  name: z.string(),
  reason: z.enum(['day', 'before-import', 'before-update', 'before-restore', 'by-hand', 'rescued', 'other']),
  madeAt: instant,
})
export type CopyRow = z.infer<typeof listedCopy>

/** Why no fleet file is open: what lies under the name, in a sentence. */
const trouble = z.object({ code: z.string(), message: z.string() })

export const copiesList = z.object({
  file: z.string(),
  folder: z.string(),
  demo: z.boolean(),
  trouble: trouble.nullable(),
  /** Whether it is open to look at only: then no copy is made and none restored. */
  lookOnly: z.boolean(),
  /** What the open file holds; null while none is open. */
  now: copyFacts.nullable(),
  /** Why the last copy could not be made; null when it was. */
  failure: z.string().nullable(),
  /** The second place of its copies, where a person has chosen one. */
  secondFolder: z.string().nullable(),
  /** Newest first. */
  copies: z.array(listedCopy),
})
export type CopiesList = z.infer<typeof copiesList>

const copyName = z.object({ name: z.string().min(1).max(200) })
export const copyVerdict = z.object({ sound: z.boolean(), message: z.string() })
export type CopyVerdict = z.infer<typeof copyVerdict>

const restoreInput = z.union([copyName, z.object({ path: typedPath })])
const restored = z.object({
  file: z.string(),
  /** Where what was under the name before is now; null where nothing was. */
  keptAs: z.string().nullable(),
  /** Attachments that the restored record names and that are nowhere to be found. */
  missingAttachments: z.number(),
})

export const copiesContract = {
  list: base.output(copiesList),
  /** Reads one copy through. */
  check: base.input(copyName).output(copyVerdict),
  /** Keeps one more copy of the open file. */
  keep: base.output(copyName),
  /** Puts a copy in the place of the fleet file; what lies there is kept under another name. */
  restore: base.input(restoreInput).output(restored),
  /** Sets what lies under the name aside and starts an empty fleet file there; only where none can be opened. */
  startEmpty: base.output(restored),
}
