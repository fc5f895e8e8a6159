import { phrase } from '#core/words/phrase.ts'
import { z } from 'zod'
import { attachmentTypes } from '#core/words/attachment-file.ts'
import { base, person } from '#core/contracts/base.ts'
import { sentId } from '#core/contracts/sent.ts'

/** What is asked and told about the scans and photos kept with a ticket; times UTC. */
const ticketId = z.number().int().min(1)
const sha256 = z
  .string()
  .regex(/^[0-9a-f]{64}$/, { error: () => phrase('A SHA-256 in 64 small hexadecimal digits is accepted') })

const attachmentListInput = z.object({ ticketId })
const attachmentInput = z.object({ ticketId, sha256 })
/** What the file is, its own bytes tell: neither its name nor its type is believed. */
export const addAttachmentInput = z.object({ ticketId, file: z.file(), by: person, sentId: sentId.optional() })
const takeOffInput = z.object({ ticketId, sha256, reason: z.string().trim().min(1).max(2000), by: person })

const attachment = z.object({
  sha256: z.string(),
  name: z.string(),
  type: z.enum(attachmentTypes),
  bytes: z.number(),
  /** null: it came with a fleet folder. */
  addedAt: z.string().nullable(),
  addedBy: z.string().nullable(),
})
export type AttachmentView = z.infer<typeof attachment>

const attachmentList = z.array(attachment)

/**
 * added: false where the ticket has that very file already, under the name told. warning: that it may have been cut
 * off, as a sentence.
 */
const addedAttachment = z.object({
  added: z.boolean(),
  sha256: z.string(),
  name: z.string(),
  warning: z.string().nullable(),
})

/** Scans and photos kept with a ticket. */
export const attachmentContract = {
  list: base.input(attachmentListInput).output(attachmentList),
  add: base.input(addAttachmentInput).output(addedAttachment),
  /** Of the type that its bytes have, and checked against its hash. */
  read: base.input(attachmentInput).output(z.file()),
  /** The file itself is kept, since copies name it. */
  takeOff: base.input(takeOffInput).output(z.object({ name: z.string() })),
}
