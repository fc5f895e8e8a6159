import type { Hand } from '#core/fleet/change.ts'
import { recordChanges } from '#core/store/change-log.ts'
import { editRecord } from '#core/store/edit-record.ts'
import type { Reader, Writer } from '#core/store/open.ts'

/** What a driver's note stands with. */
export interface NotedRecord {
  readonly table: 'reading' | 'ticket'
  readonly id: number
  /** How people name it. */
  readonly name: string
  readonly note: string | null
}

export async function findNotedReading(db: Reader, name: string): Promise<NotedRecord | undefined> {
  const row = await db.selectFrom('reading').select(['id', 'name', 'note']).where('name', '=', name).executeTakeFirst()
  return row && { table: 'reading', ...row }
}

export async function findNotedTicket(db: Reader, scale: string, number: string): Promise<NotedRecord | undefined> {
  const row = await db
    .selectFrom('ticket as t')
    .innerJoin('scale as s', 's.id', 't.scale_id')
    .select(['t.id', 't.number', 't.note'])
    .where('s.name', '=', scale)
    .where('t.number', '=', number)
    .executeTakeFirst()
  return row && { table: 'ticket', id: row.id, name: `${row.number} of ${scale}`, note: row.note }
}

/**
 * Writes a driver's note, or takes it away (null), and takes the change down with what stood there before. was: the
 * note that the person saw. Errors: ConflictError where another one is stored by now; TarelineError `gone`.
 */
export async function writeNote(
  db: Writer,
  { table, id, name }: NotedRecord,
  { was, note }: { readonly was: string | null; readonly note: string | null },
  hand: Hand,
): Promise<void> {
  const changes = await editRecord(db, {
    subject: table,
    key: name,
    unitId: null,
    id,
    was: { note: was },
    now: { note },
    action: 'noted',
  })
  await recordChanges(db, hand, changes, { harmless: true })
}
