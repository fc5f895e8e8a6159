import type { ChangeSubject } from '#core/words/change.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { recordChanges } from '#core/store/change-log.ts'
import { type RecordSubject, findRecord, lastHand, recordTables } from '#core/store/edit-record.ts'
import { correctEvidence, correctedAction } from '#core/store/evidence.ts'
import { readZone } from '#core/store/zone.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { voidedAction } from '#core/store/save-weigh-in.ts'
import type { Schema } from '#core/store/schema.ts'
import { attached, hashIn, link, takenOff, unlink } from '#core/store/ticket-attachments.ts'
import type { Change, Hand, StoredValues } from '#core/words/change.ts'
import { dayOf } from '#core/words/day.ts'
import { type HouseRuleName, houseRuleNames } from '#core/words/house-rules.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import { codeOf, ConflictError, TarelineError } from '#core/words/problem.ts'

type LogRow = { id: number } & Omit<Schema['change_log'], 'id'>

/** One save: the changes that it made, oldest first. */
export interface Step {
  readonly revision: number
  readonly at: string
  readonly by: string
  readonly changes: readonly LogRow[]
}

/** Rows that go with a record when it is taken away: its own parts, and derived ones, which are made anew. */
const goesWith: Readonly<Record<string, readonly (readonly [table: keyof Schema, column: string])[]>> = {
  unit: [
    ['finding', 'unit_id'],
    ['group_standing', 'unit_id'],
    ['heavy', 'unit_id'],
    ['heavy', 'lead_unit_id'],
    ['weighed_unit', 'unit_id'],
    ['behind_unit', 'unit_id'],
    ['judged_with', 'unit_id'],
  ],
  axle_group: [
    ['finding', 'group_id'],
    ['group_standing', 'group_id'],
    ['heavy', 'group_id'],
  ],
  circuit: [['finding', 'circuit_id']],
  scale: [['finding', 'scale_id']],
  ticket: [
    ['finding', 'ticket_id'],
    ['heavy', 'ticket_id'],
    ['ticket_weight', 'ticket_id'],
    ['ticket_together', 'ticket_id'],
  ],
  reading: [
    ['heavy', 'reading_id'],
    ['reading_pressure', 'reading_id'],
  ],
}

const hasTable = (subject: string): subject is RecordSubject => Object.hasOwn(recordTables, subject)
const parse = (text: string | null): unknown => (text === null ? undefined : JSON.parse(text))
const isValues = (value: unknown): value is StoredValues =>
  typeof value === 'object' && value !== null && !Array.isArray(value)

/** Parts of a record that are told under its columns but stand in tables of their own. */
const onlyColumns = (values: StoredValues): StoredValues =>
  Object.fromEntries(Object.entries(values).filter(([, value]) => typeof value !== 'object' || value === null))

const refused = (key: string, why: string) =>
  new TarelineError('cannot-undo', phrase('{key}: {why} Nothing was undone.', { key, why }))

async function readStep(db: Reader, revision: number): Promise<Step | undefined> {
  const changes = await db.selectFrom('change_log').selectAll().where('revision', '=', revision).orderBy('id').execute()
  const [first] = changes
  return first && { revision, at: first.changed_at, by: first.changed_by, changes }
}

/**
 * The last save that is not undone yet and is no undoing itself, of one person where a name is given; undefined where
 * there is none.
 */
export async function lastStep(db: Reader, by?: string): Promise<Step | undefined> {
  const row = await db
    .selectFrom('change_log as c')
    .select('c.revision')
    .where('c.revision', 'is not', null)
    .where('c.undoes', 'is', null)
    .$if(by !== undefined, (query) => query.where('c.changed_by', '=', by ?? ''))
    .where(({ not, exists, selectFrom }) =>
      not(exists(selectFrom('change_log as u').select('u.id').whereRef('u.undoes', '=', 'c.revision'))),
    )
    .orderBy('c.revision', 'desc')
    .executeTakeFirst()
  return row?.revision == null ? undefined : readStep(db, row.revision)
}

/** Why a save cannot be undone whatever stands in the record, as a sentence; null where it can be tried. */
export function undoProblem({ changes }: Step): string | null {
  for (const { subject } of changes) {
    if (subject === 'fleet folder')
      return phrase('A fleet folder that was imported is not undone: restore the copy that was kept before it.')
    if (subject === 'foreign CSV')
      return phrase('A foreign CSV file that was imported is not undone: restore the copy that was kept before it.')
    if (subject === 'finding')
      return phrase('A finding that was set aside comes back by itself with new evidence; it is not undone.')
    if (subject !== 'house rule' && !hasTable(subject))
      return phrase('What was done to the {subject} cannot be undone by this version.', {
        subject: word(subject as ChangeSubject),
      })
  }
  return null
}

/** The record of a change whose stored columns still stand as it left them. */
async function untouchedSince(
  db: Writer,
  { subject, subject_key: key, record_id: id, revision }: LogRow,
  left: StoredValues,
): Promise<number> {
  if (!hasTable(subject) || id === null) throw refused(key, phrase('the log does not tell which record it was.'))
  const stored = await findRecord(db, subject, id)
  if (!stored) throw refused(key, phrase('it is no longer there.'))
  // What the log tells beside the columns, such as the number of a reading's ticket, is not compared.
  if (Object.entries(left).some(([column, value]) => Object.hasOwn(stored, column) && stored[column] !== value)) {
    const other = await lastHand(db, subject, id)
    const last =
      other && revision !== null
        ? phrase(', last by {by} on {day}', {
            by: other.by,
            day: dayOf(fromStoredInstant(other.at), await readZone(db)),
          })
        : ''
    throw refused(key, phrase('it was changed again since{last}. Undo or change that first.', { last }))
  }
  return id
}

async function takeAway(db: Writer, row: LogRow, left: StoredValues): Promise<void> {
  const id = await untouchedSince(db, row, left)
  const table = recordTables[row.subject as RecordSubject]
  try {
    for (const [other, column] of goesWith[table] ?? [])
      await db
        .deleteFrom(other as 'finding')
        .where(column as 'unit_id', '=', id)
        .execute()
    await db
      .deleteFrom(table as 'yard')
      .where('id', '=', id)
      .execute()
  } catch (error) {
    if (codeOf(error) !== 'SQLITE_CONSTRAINT_FOREIGNKEY') throw error
    throw new TarelineError(
      'cannot-undo',
      phrase('{key}: other records rest on it by now, such as readings, tickets or calibrations. Nothing was undone.', {
        key: row.subject_key,
      }),
      { cause: error },
    )
  }
}

async function setBack(db: Writer, row: LogRow, old: StoredValues, now: StoredValues): Promise<void> {
  const id = await untouchedSince(db, row, now)
  await db
    .updateTable(recordTables[row.subject as RecordSubject] as 'yard')
    .set(old as never)
    .where('id', '=', id)
    .execute()
}

async function setZoneBack(db: Writer, { subject_key: name, old_value, new_value }: LogRow): Promise<void> {
  if ((await readZone(db)) !== parse(new_value))
    throw refused(name, phrase('the zone was changed again since. Undo or change that first.'))
  await db
    .updateTable('house_setting')
    .set({ value: parse(old_value) as string })
    .where('name', '=', 'zone')
    .execute()
}

async function setRuleBack(db: Writer, row: LogRow): Promise<void> {
  const { subject_key: name, old_value, new_value } = row
  if (name === 'zone') return setZoneBack(db, row)
  const stored = await db.selectFrom('house_rule').select('value').where('name', '=', name).executeTakeFirst()
  if (!houseRuleNames.includes(name as HouseRuleName) || stored?.value !== parse(new_value))
    throw refused(name, phrase('the rule was changed again since. Undo or change that first.'))
  await db
    .updateTable('house_rule')
    .set({ value: Number(parse(old_value)) })
    .where('name', '=', name)
    .execute()
}

/** A calibration is never deleted: its undoing is a voiding. */
async function voidAgain(db: Writer, { record_id: id, subject_key: key }: LogRow, { by, at }: Hand): Promise<void> {
  const result = await db
    .updateTable('calibration')
    .set({ voided_at: at, voided_by: by, void_reason: 'Its entry was undone' })
    .where('id', '=', id)
    .where('voided_at', 'is', null)
    .executeTakeFirst()
  if (result.numUpdatedRows === 0n) throw refused(key, phrase('it is voided already.'))
}

/** A void is undone by making the calibration valid again, unless another one of that very time is by now. */
async function makeValid(db: Writer, { record_id: id, subject_key: key, changed_at }: LogRow): Promise<void> {
  const found = await db
    .selectFrom('calibration')
    .select(['group_id', 'calibrated_at'])
    .where('id', '=', id)
    .where('voided_at', '=', changed_at)
    .executeTakeFirst()
  if (!found) throw refused(key, phrase('its void was undone since.'))
  const other = await db
    .selectFrom('calibration')
    .select('id')
    .where('group_id', '=', found.group_id)
    .where('calibrated_at', '=', found.calibrated_at)
    .where('voided_at', 'is', null)
    .executeTakeFirst()
  if (other) throw refused(key, phrase('another valid calibration has that very time by now. Void that first.'))
  await db
    .updateTable('calibration')
    .set({ voided_at: null, voided_by: null, void_reason: null })
    .where('id', '=', id)
    .execute()
}

/** A correction is undone by correcting back. */
async function uncorrect(
  db: Writer,
  { subject, record_id: id, subject_key: key, old_value, new_value }: LogRow,
  told: Omit<Change, 'action'>,
): Promise<Change[]> {
  if (id === null || (subject !== 'ticket' && subject !== 'reading'))
    throw refused(key, phrase('the log does not tell which record it was.'))
  try {
    await correctEvidence(db, {
      kind: subject,
      id,
      was: parse(new_value) as StoredValues,
      now: parse(old_value) as StoredValues,
      reason: null,
    })
  } catch (error) {
    if (error instanceof ConflictError)
      throw new TarelineError(
        'cannot-undo',
        phrase('{key}: it was changed again since. Undo or change that first. Nothing was undone.', { key }),
        { cause: error },
      )
    throw error
  }
  return [{ ...told, action: 'undone' }]
}

/** What was attached comes off, and what was taken off comes back: its file is always kept. */
async function turnAttachment(
  db: Writer,
  { action, subject_key: key, record_id: id, old_value, new_value }: LogRow,
): Promise<void> {
  const sha256 = hashIn(new_value ?? old_value)
  if (id === null || sha256 === undefined) throw refused(key, phrase('the log does not tell which attachment it was.'))
  if (action === attached && !(await unlink(db, id, sha256)))
    throw refused(key, phrase('the attachment was taken off since.'))
  if (action === takenOff) {
    if (!(await findRecord(db, 'ticket', id))) throw refused(key, phrase('the ticket is no longer there.'))
    if (!(await link(db, id, sha256))) throw refused(key, phrase('the attachment was added again since.'))
  }
}

/** Takes one change back; answers how the log tells it, or none where the record has to keep it. */
async function undoChange(
  db: Writer,
  row: LogRow,
  unitIds: readonly number[],
  hand: Hand,
  keeps: boolean,
): Promise<Change[]> {
  const [old, now] = [parse(row.old_value), parse(row.new_value)]
  const told = {
    unitId: row.unit_id,
    unitIds,
    subject: row.subject as Change['subject'],
    key: row.subject_key,
    ...(row.record_id === null ? {} : { recordId: row.record_id }),
    ...(now === undefined ? {} : { old: now }),
    ...(old === undefined ? {} : { new: old }),
  }
  if (row.subject === 'house rule') await setRuleBack(db, row)
  else if (row.action === correctedAction) return uncorrect(db, row, told)
  else if (row.action === attached || row.action === takenOff) await turnAttachment(db, row)
  else if (row.subject === 'calibration' && row.action === voidedAction) await makeValid(db, row)
  else if (row.subject === 'calibration') {
    await voidAgain(db, row, hand)
    return [{ ...told, action: voidedAction, new: { void_reason: 'Its entry was undone' } }]
  } else if (!isValues(now))
    await db
      .insertInto(recordTables[row.subject as RecordSubject] as 'yard')
      .values({
        id: row.record_id,
        ...(row.unit_id === null ? {} : { unit_id: row.unit_id }),
        ...(old as object),
      } as never)
      .execute()
  else if (old === undefined || row.subject === 'battery') {
    // The points of a voided calibration rest on its tickets and readings, which therefore stay.
    if (keeps && (row.subject === 'ticket' || row.subject === 'reading')) return []
    await takeAway(db, row, onlyColumns(now))
  } else await setBack(db, row, old as StoredValues, now)
  return [{ ...told, action: 'undone' }]
}

/**
 * Takes back what one save did, newest change first, and records that as a save of its own.
 *
 * Errors: TarelineError `cannot-undo` where something later rests on it, or `gone`; then nothing is undone.
 */
export async function undoStep(db: Writer, revision: number, hand: Hand): Promise<void> {
  const step = await readStep(db, revision)
  if (!step) throw new TarelineError('gone', phrase('The log knows no such step. Nothing was undone.'))
  const undone = await db
    .selectFrom('change_log')
    .select('changed_by')
    .where('undoes', '=', revision)
    .executeTakeFirst()
  if (undone) throw new TarelineError('cannot-undo', phrase('{by} has undone this already.', { by: undone.changed_by }))
  const problem = undoProblem(step)
  if (problem !== null) throw new TarelineError('cannot-undo', problem)
  const keeps = step.changes.some(({ subject, action }) => subject === 'calibration' && action === 'added')
  // A record that is taken away no longer tells which units it was about; the log does.
  const units = Map.groupBy(
    await db
      .selectFrom('change_unit')
      .selectAll()
      .where(
        'change_id',
        'in',
        step.changes.map(({ id }) => id),
      )
      .execute(),
    (row) => row.change_id,
  )
  const changes: Change[] = []
  for (const row of step.changes.toReversed()) {
    const unitIds = (units.get(row.id) ?? []).map(({ unit_id }) => unit_id)
    changes.push(...(await undoChange(db, row, unitIds, hand, keeps)))
  }
  await recordChanges(db, hand, changes, { undoes: revision })
}
