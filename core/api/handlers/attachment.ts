import { refusal } from '#core/api/answer-errors.ts'
import { procedures } from '#core/api/procedures.ts'
import { checkAttachment, keptName, plainName, sizeProblem } from '#core/fleet/attachment-file.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { keepAttachment, readAttachment } from '#core/store/attachments.ts'
import type { Store } from '#core/store/open.ts'
import { attach, findAttachment, findTicket, listAttachments, takeOff } from '#core/store/ticket-attachments.ts'

/** Keeps a file, then names it: a row is written only once its file is in place. */
async function add(store: Store, ticketId: number, file: File, by: string) {
  const given = plainName(file.name)
  const unfit = sizeProblem(given, file.size)
  if (unfit) throw refusal(unfit)
  const ticket = await findTicket(store.db, ticketId)
  const bytes = new Uint8Array(await file.arrayBuffer())
  const checked = checkAttachment(given, bytes)
  if (!checked.ok) throw refusal(checked.problem)
  const { type, warning } = checked.value
  const record = {
    sha256: keepAttachment(store.file, bytes),
    name: keptName(given, type),
    type,
    bytes: bytes.byteLength,
  }
  const added = await store.db
    .transaction()
    .execute((db) => attach(db, ticket, record, { by, at: toStoredInstant(Date.now()) }))
  const stored = await findAttachment(store.db, ticketId, record.sha256)
  return { added, sha256: record.sha256, name: stored?.name ?? record.name, warning }
}

export const attachmentHandlers = {
  list: procedures.attachment.list.handler(({ input, context }) =>
    context.fleet.use(async ({ db }) => await listAttachments(db, (await findTicket(db, input.ticketId)).id)),
  ),
  add: procedures.attachment.add.handler(({ input: { ticketId, file, by }, context }) =>
    context.fleet.use((store) => add(store, ticketId, file, by)),
  ),
  read: procedures.attachment.read.handler(({ input: { ticketId, sha256 }, context }) =>
    context.fleet.use(async ({ db, file }) => {
      const found = await findAttachment(db, ticketId, sha256)
      if (!found) throw new TarelineError('no-such-attachment', 'This is not, or no longer, attached to the ticket.')
      return new File([readAttachment(file, found)], keptName(found.name, found.type), { type: found.type })
    }),
  ),
  takeOff: procedures.attachment.takeOff.handler(({ input: { ticketId, sha256, reason, by }, context }) =>
    context.fleet.use(({ db }) =>
      db.transaction().execute(async (writer) => {
        const { name } = await takeOff(writer, await findTicket(writer, ticketId), sha256, reason, {
          by,
          at: toStoredInstant(Date.now()),
        })
        return { name }
      }),
    ),
  ),
}
