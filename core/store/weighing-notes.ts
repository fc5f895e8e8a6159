import { recordChanges } from '#core/store/change-log.ts'
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
  const row = await db.selectFrom('ticket as t').innerJoin('scale as s', 's.id', 't.scale_id').select(['t.id', 't.number', 't.note'])
    .where('s.name', '=', scale).where('t.number', '=', number).executeTakeFirst()
  return row && { table: 'ticket', id: row.id, name: `${row.number} of ${scale}`, note: row.note }
}

/** Writes a driver's note, or takes it away (null), and takes the change down with what stood there before. */
export async function writeNote(db: Writer, { table, id, name, note: old }: NotedRecord, note: string | null, by: string, at: string): Promise<void> {
  if (note === old) return
  await db.updateTable(table).set({ note }).where('id', '=', id).execute()
  await recordChanges(db, { by, at }, [{ unitId: null, subject: table, key: name, action: 'noted', recordId: id, old: { note: old }, new: { note } }], { harmless: true })
}
