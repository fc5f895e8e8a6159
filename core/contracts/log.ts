import { z } from 'zod'
import { changeSubjects } from '#core/words/change.ts'
import { base, name, typedInstant, typedName } from '#core/contracts/base.ts'

/** What the change log asks and is told; times UTC. */
const stored = z.union([z.string(), z.number(), z.null()])

export const logFilter = z.object({
  unit: name.optional(),
  subject: z.enum(changeSubjects).optional(),
  /** Every word must occur in who, what, old, new or why. */
  text: z.string().max(200).optional(),
  /** Both included. */
  from: typedInstant.optional(),
  to: typedInstant.optional(),
})
export type LogFilterInput = z.infer<typeof logFilter>

const logListInput = logFilter.extend({
  /** Only changes older than the one of this id: the last one of the page before. */
  after: z.number().int().optional(),
  limit: z.number().int().min(1).max(500).optional(),
})

const logEntry = z.object({
  id: z.number(),
  at: z.string(),
  by: z.string(),
  unit: z.string().nullable(),
  /** Of the closed list, or a word of a later version. */
  subject: z.string(),
  /** How people name the record. */
  key: z.string(),
  action: z.string(),
  /**
   * The values that differ, by column as stored (weights lb, pressures psi, lengths ft or as named); a lone value has
   * the name ''.
   */
  fields: z.array(z.object({ name: z.string(), old: stored, new: stored })),
  reason: z.string().nullable(),
  /** The save that it was part of; null from before saves were told apart. */
  revision: z.number().nullable(),
  /** The save that it took back. */
  undoes: z.number().nullable(),
})
export type LogEntry = z.infer<typeof logEntry>

/** total: of all pages. next: what to ask `after` for the next page; null on the last. */
const logPage = z.object({ total: z.number(), next: z.number().nullable(), rows: z.array(logEntry) })

const logExport = z.object({ rows: z.number(), file: z.file() })

/** The last save: its first changes, how many more, and why it cannot be undone, as a sentence. */
export const logLast = z
  .object({
    revision: z.number(),
    at: z.string(),
    by: z.string(),
    entries: z.array(logEntry),
    more: z.number(),
    problem: z.string().nullable(),
  })
  .nullable()
const logUndoInput = z.object({ revision: z.number().int(), by: z.string().trim().min(1).max(200) })
export type LogLast = z.infer<typeof logLast>

/** A few hundred kilobytes hold the longest form; what is longer is no draft. */
const deskText = z.string().max(1_000_000)
const deskName = z.string().min(1).max(300)

export const logContract = {
  list: base.input(logListInput).output(logPage),
  export: base.input(logFilter).output(logExport),
  /** The last save that can be undone, or why it cannot. */
  last: base.output(logLast),
  /** Takes a save back, as a save of its own. */
  undo: base.input(logUndoInput).output(z.object({ undone: z.literal(true) })),
  /** Who has made changes, the latest first. */
  people: base.output(z.array(z.string())),
}

/** Typed and not yet saved, so that neither a closed window nor a crash loses it. */
export const deskContract = {
  read: base.input(z.object({ name: deskName })).output(z.object({ text: z.string().nullable() })),
  leave: base.input(z.object({ name: deskName, text: deskText.nullable() })).output(z.object({ left: z.boolean() })),
  /**
   * Says that a form is open here, by the name of its draft, again and again while it is; or that it is closed. Who
   * else has it open is news of the file.
   */
  present: base
    .input(z.object({ form: deskName, open: z.boolean(), by: typedName }))
    .output(z.object({ open: z.boolean() })),
}
