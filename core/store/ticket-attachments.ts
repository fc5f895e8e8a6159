import { phrase } from '#core/words/phrase.ts'
import { recordChanges } from '#core/store/change-log.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { scaleTickets } from '#core/store/placed.ts'
import type { AttachmentType } from '#core/words/attachment-file.ts'
import type { Change, Hand } from '#core/words/change.ts'
import { TarelineError } from '#core/words/problem.ts'

/** What the log calls the two steps. */
export const attached = 'attached'
export const takenOff = 'attachment taken off'

export interface AttachedTicket {
  readonly id: number
  /** How people name it. */
  readonly name: string
  /** The unit that leads its combination. */
  readonly unitId: number | null
}

export interface AttachmentRecord {
  readonly sha256: string
  readonly name: string
  readonly type: AttachmentType
  readonly bytes: number
}

/** Errors: TarelineError `no-such-ticket`. */
export async function findTicket(db: Reader, id: number): Promise<AttachedTicket> {
  const row = await scaleTickets(db).select(['t.number', 's.name as scale']).where('t.id', '=', id).executeTakeFirst()
  if (!row) throw new TarelineError('no-such-ticket', phrase('This ticket is not in the record. Nothing was changed.'))
  const lead = await db
    .selectFrom('ticket_weight as w')
    .innerJoin('unit as u', 'u.id', 'w.unit_id')
    .select('u.id')
    .where('w.ticket_id', '=', id)
    .orderBy(({ eb }) => eb('u.kind', '=', 'trailer'))
    .orderBy('u.id')
    .executeTakeFirst()
  return { id, name: `${row.number} of ${row.scale}`, unitId: lead?.id ?? null }
}

const ofTicket = (db: Reader, ticketId: number) =>
  db
    .selectFrom('ticket_attachment as l')
    .innerJoin('attachment as a', 'a.sha256', 'l.sha256')
    .where('l.ticket_id', '=', ticketId)
    .select(['a.sha256', 'a.file_name as name', 'a.media_type', 'a.size_bytes as bytes'])

const asRecord = <R extends { media_type: string }>({ media_type, ...row }: R) => ({
  ...row,
  type: media_type as AttachmentType,
})

/** One attachment of a ticket; undefined where the ticket has none of that hash. */
export async function findAttachment(
  db: Reader,
  ticketId: number,
  sha256: string,
): Promise<AttachmentRecord | undefined> {
  const row = await ofTicket(db, ticketId).where('a.sha256', '=', sha256).executeTakeFirst()
  return row && asRecord(row)
}

/** The attachments of a ticket by name, each with whoever put it there last, where the log tells. */
export async function listAttachments(
  db: Reader,
  ticketId: number,
): Promise<(AttachmentRecord & { readonly addedAt: string | null; readonly addedBy: string | null })[]> {
  const rows = await ofTicket(db, ticketId).orderBy('a.file_name').orderBy('a.sha256').execute()
  const steps = await db
    .selectFrom('change_log')
    .select(['changed_at', 'changed_by', 'new_value'])
    .where('subject', '=', 'ticket')
    .where('record_id', '=', ticketId)
    .where('new_value', 'is not', null)
    .orderBy('id')
    .execute()
  const hands = new Map<string, Hand>()
  for (const { changed_at: at, changed_by: by, new_value } of steps) {
    const sha256 = hashIn(new_value)
    if (sha256 !== undefined) hands.set(sha256, { by, at })
  }
  return rows.map((row) => ({
    ...asRecord(row),
    addedAt: hands.get(row.sha256)?.at ?? null,
    addedBy: hands.get(row.sha256)?.by ?? null,
  }))
}

/** The hash that a value of the log names; undefined where it tells of no attachment. */
export function hashIn(text: string | null): string | undefined {
  const value: unknown = text === null ? null : JSON.parse(text)
  const hash: unknown = typeof value === 'object' && value !== null ? Reflect.get(value, 'sha256') : undefined
  return typeof hash === 'string' ? hash : undefined
}

const told = ({ name, sha256 }: AttachmentRecord) => ({ attachment: name, sha256 })
const changeOf = ({ id, name, unitId }: AttachedTicket): Pick<Change, 'unitId' | 'subject' | 'key' | 'recordId'> => ({
  unitId,
  subject: 'ticket',
  key: name,
  recordId: id,
})

/** Puts back or makes the link between a ticket and a stored attachment; false where it is there already. */
export async function link(db: Writer, ticketId: number, sha256: string): Promise<boolean> {
  const { numInsertedOrUpdatedRows } = await db
    .insertInto('ticket_attachment')
    .values({ ticket_id: ticketId, sha256 })
    .onConflict((conflict) => conflict.doNothing())
    .executeTakeFirst()
  return numInsertedOrUpdatedRows === 1n
}

/** Takes the link away; false where there is none. The file and its row stay, since copies and the log name them. */
export async function unlink(db: Writer, ticketId: number, sha256: string): Promise<boolean> {
  return (
    (
      await db
        .deleteFrom('ticket_attachment')
        .where('ticket_id', '=', ticketId)
        .where('sha256', '=', sha256)
        .executeTakeFirst()
    ).numDeletedRows === 1n
  )
}

/**
 * Attaches a file that lies in place to a ticket. One that is stored already keeps the name it was first given. Answers
 * whether it is new to the ticket; otherwise nothing is changed.
 */
export async function attach(
  db: Writer,
  ticket: AttachedTicket,
  { sha256, name, type, bytes }: AttachmentRecord,
  hand: Hand,
): Promise<boolean> {
  await db
    .insertInto('attachment')
    .values({ sha256, media_type: type, size_bytes: bytes, file_name: name })
    .onConflict((conflict) => conflict.doNothing())
    .execute()
  if (!(await link(db, ticket.id, sha256))) return false
  const stored = await findAttachment(db, ticket.id, sha256)
  // Neither a judgement nor a weight follows from a picture.
  if (stored) await recordChanges(db, hand, [{ ...changeOf(ticket), action: attached, new: told(stored) }])
  return true
}

/** Takes an attachment off a ticket. Errors: TarelineError `no-such-attachment`. */
export async function takeOff(
  db: Writer,
  ticket: AttachedTicket,
  sha256: string,
  reason: string,
  hand: Hand,
): Promise<AttachmentRecord> {
  const found = await findAttachment(db, ticket.id, sha256)
  if (!found || !(await unlink(db, ticket.id, sha256)))
    throw new TarelineError(
      'no-such-attachment',
      phrase('This is no longer attached to the ticket. Nothing was changed.'),
    )
  await recordChanges(db, hand, [{ ...changeOf(ticket), action: takenOff, old: told(found), reason }])
  return found
}
