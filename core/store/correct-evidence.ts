import type { Change, StoredValue, StoredValues } from '#core/fleet/change.ts'
import { type EvidenceKind, partColumn } from '#core/fleet/evidence-fields.ts'
import { ConflictError, FieldError } from '#core/fleet/problem.ts'
import { conflictsOf, lastHand } from '#core/store/edit-record.ts'
import { type Evidence, listUses, readEvidence } from '#core/store/evidence.ts'
import type { Writer } from '#core/store/open.ts'

/** A correction as typed, by column as in core/fleet/evidence-fields.ts: what the person saw, and what is right. */
export interface Correction {
  readonly kind: EvidenceKind
  readonly id: number
  readonly was: StoredValues
  readonly now: StoredValues
  readonly reason: string | null
}

/** What the log calls a correction; undoing it looks for this word. */
export const correctedAction = 'corrected'

async function setWeight(
  db: Writer,
  ticketId: number,
  { id: groupId, unitId, value: stored }: Evidence['parts'][number],
  value: number | null,
): Promise<void> {
  const rows = db.deleteFrom('ticket_weight').where('ticket_id', '=', ticketId).where('unit_id', '=', unitId)
  if (value !== null && stored !== null) {
    await db
      .updateTable('ticket_weight')
      .set({ weight_lb: value })
      .where('ticket_id', '=', ticketId)
      .where('group_id', '=', groupId)
      .execute()
    return
  }
  await (value === null ? rows.where('group_id', '=', groupId) : rows.where('group_id', 'is', null)).execute()
  const left = await db
    .selectFrom('ticket_weight')
    .select('id')
    .where('ticket_id', '=', ticketId)
    .where('unit_id', '=', unitId)
    .executeTakeFirst()
  // A unit that stood on the scale stays named, with or without a weight of its own.
  if (value !== null || !left)
    await db
      .insertInto('ticket_weight')
      .values({ ticket_id: ticketId, unit_id: unitId, group_id: value === null ? null : groupId, weight_lb: value })
      .execute()
}

async function setPressure(db: Writer, readingId: number, circuitId: number, value: number | null): Promise<void> {
  if (value === null)
    await db
      .deleteFrom('reading_pressure')
      .where('reading_id', '=', readingId)
      .where('circuit_id', '=', circuitId)
      .execute()
  else
    await db
      .insertInto('reading_pressure')
      .values({ reading_id: readingId, circuit_id: circuitId, psi: value })
      .onConflict((conflict) => conflict.columns(['reading_id', 'circuit_id']).doUpdateSet({ psi: value }))
      .execute()
}

/** Refuses to take away what a valid line rests on, and the last pressure of a reading. */
async function refuseRemovals(
  db: Writer,
  { kind, id, parts }: Evidence,
  removed: readonly Evidence['parts'][number][],
): Promise<void> {
  if (removed.length === 0) return
  const column = partColumn[kind]
  const what = kind === 'ticket' ? 'weight' : 'pressure'
  const lines = (await listUses(db, kind, id)).filter(({ voided_at }) => voided_at === null)
  for (const { groupId, place } of removed) {
    const line = lines.find(({ group_id }) => group_id === groupId)
    if (line)
      throw new FieldError(
        'in-use',
        column(place),
        `The line of ${line.unit} ${line.group} of ${line.calibrated_at.slice(0, 10)} rests on this ${what}: type the right one, or void that calibration first. Nothing was saved.`,
      )
  }
  const [first] = removed
  if (kind === 'reading' && first && removed.length === parts.filter(({ value }) => value !== null).length)
    throw new FieldError('empty', column(first.place), 'A reading has one pressure at least. Nothing was saved.')
}

/** The columns of the row itself: a scale by its id. */
async function setRow(db: Writer, { kind, id, scales, values }: Evidence, changed: StoredValues): Promise<void> {
  if (Object.keys(changed).length === 0) return
  if (kind === 'reading') {
    await db
      .updateTable('reading')
      .set(changed as never)
      .where('id', '=', id)
      .execute()
    return
  }
  const { scale, ...columns } = changed
  const scaleId = scales.find(({ name }) => name === (scale ?? values['scale']))?.id as number
  const number = String(columns['number'] ?? values['number'])
  const other = await db
    .selectFrom('ticket')
    .select('id')
    .where('scale_id', '=', scaleId)
    .where('number', '=', number)
    .where('id', '<>', id)
    .executeTakeFirst()
  if (other)
    throw new FieldError(
      'taken',
      'number',
      `Ticket number: ${String(scale ?? values['scale'])} has a ticket ${number} already; another one is accepted. Nothing was saved.`,
    )
  await db
    .updateTable('ticket')
    .set({ ...columns, scale_id: scaleId } as never)
    .where('id', '=', id)
    .execute()
}

/**
 * Corrects a ticket or reading; answers the change to be taken down with `recordChanges`, or none where nothing
 * differs. Values have been held against the fields. Errors: ConflictError where another window changed the same;
 * FieldError `taken`, `in-use`, `empty`; TarelineError `gone`.
 */
export async function correctEvidence(db: Writer, { kind, id, was, now, reason }: Correction): Promise<Change[]> {
  const evidence = await readEvidence(db, kind, id)
  const { key, values, parts, unitIds } = evidence
  const conflicts = conflictsOf({ was, now }, values)
  if (conflicts.length > 0)
    throw new ConflictError(
      `${kind === 'ticket' ? 'Ticket' : 'Reading'} ${key}`,
      conflicts,
      await lastHand(db, kind, id),
    )
  const changed = Object.keys(now).filter(
    (column) => now[column] !== was[column] && (now[column] ?? null) !== (values[column] ?? null),
  )
  if (changed.length === 0) return []
  const pick = (from: StoredValues, columns: readonly string[]): Record<string, StoredValue> =>
    Object.fromEntries(columns.map((column) => [column, from[column] ?? null]))
  const touched = parts.filter(({ place }) => changed.includes(partColumn[kind](place)))
  const typed = ({ place }: Evidence['parts'][number]) => (now[partColumn[kind](place)] ?? null) as number | null
  await refuseRemovals(
    db,
    evidence,
    touched.filter((part) => typed(part) === null),
  )
  const ofParts = new Set(touched.map(({ place }) => partColumn[kind](place)))
  await setRow(
    db,
    evidence,
    pick(
      now,
      changed.filter((column) => !ofParts.has(column)),
    ),
  )
  for (const part of touched)
    await (kind === 'ticket' ? setWeight(db, id, part, typed(part)) : setPressure(db, id, part.id, typed(part)))
  return [
    {
      unitId: unitIds[0] ?? null,
      subject: kind,
      key,
      action: correctedAction,
      recordId: id,
      old: pick(values, changed),
      new: pick(now, changed),
      reason,
    },
  ]
}
