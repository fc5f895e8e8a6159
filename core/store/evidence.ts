import { phrase } from '#core/words/phrase.ts'
import { inOneOrder, pairName, platformPairs } from '#core/evidence/one-platform.ts'
import { conflictsOf, lastHand } from '#core/store/edit-record.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import { frontToBack, scaleTickets, placedGroups, placedCircuits, placedCalibrations } from '#core/store/placed.ts'
import { alikeTicketNumber } from '#core/store/save-weigh-in.ts'
import { readZone } from '#core/store/zone.ts'
import type { Change, StoredValue, StoredValues } from '#core/words/change.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import { at } from '#core/words/lists.ts'
import { tidyName } from '#core/words/names.ts'
import { ConflictError, FieldError, TarelineError } from '#core/words/problem.ts'
import { type EvidenceKind, type RecordFields, evidenceFields, partColumn } from '#core/words/record-fields.ts'

/** A group of a ticket's units, or a circuit of a reading's, with its weight (lb) or pressure (psi). */
interface Part {
  /** Of the group or circuit. */
  readonly id: number
  readonly groupId: number
  /** Of a weight of two groups on one platform, the other one. */
  readonly withGroupId?: number
  readonly unitId: number
  /** `T-101 drive`, `T-101 drive + tag` or `T-101 drive main`. */
  readonly place: string
  /** null: not weighed, or not read. */
  readonly value: number | null
}

/** A ticket or reading with everything that may be corrected in it. */
export interface Evidence {
  readonly kind: EvidenceKind
  readonly id: number
  /** How the change log names it: `30600 of Salt Bend Yard`, `W-20261125-1`. */
  readonly key: string
  /** The same in the language of whoever is spoken to. */
  readonly name: string
  /** In the order of their ids. */
  readonly unitIds: readonly number[]
  readonly units: readonly string[]
  readonly scales: readonly { readonly id: number; readonly name: string }[]
  readonly parts: readonly Part[]
  readonly fields: RecordFields
  readonly values: StoredValues
  /** The ticket that a reading belongs to. */
  readonly ticketId: number | null
}

const isPair = ({ withGroupId }: Part): boolean => withGroupId !== undefined
/** The values of single groups or circuits, and the weights of two groups on one platform. */
export const alone = (parts: readonly Part[]): Part[] => parts.filter((part) => !isPair(part))
export const inPairs = (parts: readonly Part[]): Part[] => parts.filter(isPair)

const gone = (kind: EvidenceKind) =>
  new TarelineError(
    'gone',
    phrase(
      '{kind, select, ticket {This ticket} other {This reading}} is not in the record, or no longer. Look for it in the Scale House.',
      { kind },
    ),
  )

function assemble(
  kind: EvidenceKind,
  own: StoredValues,
  parts: readonly Part[],
  scales: Evidence['scales'],
): Pick<Evidence, 'fields' | 'values' | 'parts' | 'scales'> {
  const column = partColumn[kind]
  return {
    parts,
    scales,
    fields: evidenceFields(
      kind,
      alone(parts).map(({ place }) => place),
      scales.map(({ name }) => name),
      inPairs(parts).map(({ place }) => place),
    ),
    values: { ...own, ...Object.fromEntries(parts.map(({ place, value }) => [column(place), value])) },
  }
}

const listScaleNames = (db: Reader) => db.selectFrom('scale').select(['id', 'name']).orderBy('name').execute()

interface PlacedGroup {
  readonly id: number
  readonly unit_id: number
  readonly name: string
  readonly number: string
}

/**
 * The weights of two groups on one platform that a ticket has or may be given: of each group and the next behind it,
 * and what is stored of others. groups: front to back, unit by unit.
 */
async function readPairs(db: Reader, ticketId: number, groups: readonly PlacedGroup[]): Promise<Part[]> {
  const stored = await db
    .selectFrom('ticket_together')
    .select(['first_group_id', 'second_group_id', 'weight_lb'])
    .where('ticket_id', '=', ticketId)
    .orderBy('id')
    .execute()
  const keyOf = (one: PlacedGroup, other: PlacedGroup) => inOneOrder(one.id, other.id).join(' ')
  const weights = new Map(stored.map((row) => [`${row.first_group_id} ${row.second_group_id}`, row.weight_lb]))
  const pairs = [...Map.groupBy(groups, ({ unit_id: unitId }) => unitId).values()].flatMap((own) => {
    const beside = platformPairs(own)
    const known = new Set(beside.map((pair) => keyOf(...pair)))
    const apart = own.flatMap((one, i) => own.slice(i + 1).map((other) => [one, other] as const))
    return [...beside, ...apart.filter((pair) => !known.has(keyOf(...pair)) && weights.has(keyOf(...pair)))]
  })
  return pairs.map(([one, other]) => ({
    id: one.id,
    groupId: one.id,
    withGroupId: other.id,
    unitId: one.unit_id,
    place: `${one.number} ${pairName(one.name, other.name)}`,
    value: weights.get(keyOf(one, other)) ?? null,
  }))
}

async function readTicket(db: Reader, id: number): Promise<Evidence> {
  const ticket = await scaleTickets(db)
    .select(['t.number', 't.weighed_at', 't.gross_lb', 't.driver', 't.lane', 't.note', 's.name as scale'])
    .where('t.id', '=', id)
    .executeTakeFirst()
  if (!ticket) throw gone('ticket')
  const named = await db
    .selectFrom('ticket_weight as w')
    .innerJoin('unit as u', 'u.id', 'w.unit_id')
    .select(['u.id', 'u.number'])
    .distinct()
    .where('w.ticket_id', '=', id)
    .orderBy('u.id')
    .execute()
  const unitIds = named.map((unit) => unit.id)
  const groups = await placedGroups(db)
    .leftJoin('ticket_weight as w', (join) => join.onRef('w.group_id', '=', 'g.id').on('w.ticket_id', '=', id))
    .select(['g.id', 'g.unit_id', 'g.name', 'u.number', 'w.weight_lb'])
    .where('g.unit_id', 'in', unitIds)
    .orderBy('g.unit_id')
    .orderBy('g.first_axle_ft', frontToBack)
    .orderBy('g.id')
    .execute()
  const parts = groups.map(
    ({ id: groupId, unit_id: unitId, name, number, weight_lb: value }): Part => ({
      id: groupId,
      groupId,
      unitId,
      place: `${number} ${name}`,
      value,
    }),
  )
  return {
    kind: 'ticket',
    id,
    key: `${ticket.number} of ${ticket.scale}`,
    name: phrase('{ticket} of {scale}', { ticket: ticket.number, scale: ticket.scale }),
    unitIds,
    units: named.map(({ number }) => number),
    ticketId: null,
    ...assemble('ticket', ticket, [...parts, ...(await readPairs(db, id, groups))], await listScaleNames(db)),
  }
}

async function readReading(db: Reader, id: number): Promise<Evidence> {
  const reading = await db
    .selectFrom('reading')
    .select(['name', 'taken_at', 'lift', 'elevation_ft', 'temperature_f', 'driver', 'lane', 'note', 'ticket_id'])
    .where('id', '=', id)
    .executeTakeFirst()
  if (!reading) throw gone('reading')
  const { name: key, ticket_id: ticketId, ...own } = reading
  const ofUnits = db
    .selectFrom('reading_pressure as p')
    .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .where('p.reading_id', '=', id)
    .select('g.unit_id')
  const circuits = await placedCircuits(db)
    .leftJoin('reading_pressure as p', (join) => join.onRef('p.circuit_id', '=', 'c.id').on('p.reading_id', '=', id))
    .select(['c.id', 'c.group_id', 'g.unit_id', 'u.number', 'g.name as group', 'c.name', 'p.psi'])
    .where('g.unit_id', 'in', ofUnits)
    .orderBy('g.unit_id')
    .orderBy('g.first_axle_ft', frontToBack)
    .orderBy('c.id')
    .execute()
  const parts = circuits.map(
    ({ id: circuitId, group_id: groupId, unit_id: unitId, number, group, name, psi }): Part => ({
      id: circuitId,
      groupId,
      unitId,
      place: `${number} ${group} ${name}`,
      value: psi,
    }),
  )
  const units = new Map(circuits.map(({ unit_id: unitId, number }) => [unitId, number]))
  return {
    kind: 'reading',
    id,
    key,
    name: key,
    unitIds: [...units.keys()],
    units: [...units.values()],
    ticketId,
    ...assemble('reading', own, parts, []),
  }
}

/** A ticket or reading by its id. Errors: TarelineError `gone`. */
export const readEvidence = (db: Reader, kind: EvidenceKind, id: number): Promise<Evidence> =>
  kind === 'ticket' ? readTicket(db, id) : readReading(db, id)

/** The calibrations with a point on a ticket or reading, newest first. */
export function listUses(db: Reader, kind: EvidenceKind, id: number) {
  return placedCalibrations(db)
    .select(['k.id', 'k.group_id', 'k.calibrated_at', 'k.voided_at', 'u.number as unit', 'g.name as group'])
    .where('k.id', 'in', (eb) =>
      eb
        .selectFrom('calibration_point')
        .select('calibration_id')
        .where(kind === 'ticket' ? 'ticket_id' : 'reading_id', '=', id),
    )
    .orderBy('k.calibrated_at', 'desc')
    .orderBy('k.id', 'desc')
    .execute()
}

/** The readings of a ticket, oldest first. */
export const listTicketReadings = (db: Reader, ticketId: number) =>
  db.selectFrom('reading').select('id').where('ticket_id', '=', ticketId).orderBy('taken_at').orderBy('id').execute()

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
  { id: groupId, withGroupId, unitId, value: stored }: Part,
  value: number | null,
): Promise<void> {
  if (withGroupId !== undefined) {
    const [first, second] = inOneOrder(groupId, withGroupId)
    const row = { ticket_id: ticketId, unit_id: unitId, first_group_id: first, second_group_id: second }
    if (value === null)
      await db
        .deleteFrom('ticket_together')
        .where('ticket_id', '=', ticketId)
        .where('first_group_id', '=', first)
        .where('second_group_id', '=', second)
        .execute()
    else
      await db
        .insertInto('ticket_together')
        .values({ ...row, weight_lb: value })
        .onConflict((conflict) =>
          conflict.columns(['ticket_id', 'first_group_id', 'second_group_id']).doUpdateSet({ weight_lb: value }),
        )
        .execute()
    return
  }
  if (value === null) {
    await db.deleteFrom('ticket_weight').where('ticket_id', '=', ticketId).where('group_id', '=', groupId).execute()
    return
  }
  if (stored === null)
    await db
      .insertInto('ticket_weight')
      .values({ ticket_id: ticketId, unit_id: unitId, group_id: groupId, weight_lb: value })
      .execute()
  else
    await db
      .updateTable('ticket_weight')
      .set({ weight_lb: value })
      .where('ticket_id', '=', ticketId)
      .where('group_id', '=', groupId)
      .execute()
}

/**
 * A unit that stood on the scale stays named: by a row without a group where it has no weight of its own, or one of two
 * groups.
 */
async function nameUnit(db: Writer, ticketId: number, unitId: number): Promise<void> {
  const rows = await db
    .selectFrom('ticket_weight')
    .select('group_id')
    .where('ticket_id', '=', ticketId)
    .where('unit_id', '=', unitId)
    .execute()
  const together = await db
    .selectFrom('ticket_together')
    .select('id')
    .where('ticket_id', '=', ticketId)
    .where('unit_id', '=', unitId)
    .executeTakeFirst()
  const isNamed = rows.some(({ group_id }) => group_id === null)
  const needed = together !== undefined || rows.every(({ group_id }) => group_id === null)
  if (needed && !isNamed)
    await db
      .insertInto('ticket_weight')
      .values({ ticket_id: ticketId, unit_id: unitId, group_id: null, weight_lb: null })
      .execute()
  if (!needed && isNamed)
    await db
      .deleteFrom('ticket_weight')
      .where('ticket_id', '=', ticketId)
      .where('unit_id', '=', unitId)
      .where('group_id', 'is', null)
      .execute()
}

/** Refuses a group that would be weighed alone and together with another, or with two others. */
function refuseTwice(parts: readonly Part[], weightOf: (part: Part) => number | null): void {
  const weighed = new Map<number, Part>()
  for (const part of parts) {
    if (weightOf(part) === null) continue
    for (const groupId of [part.groupId, part.withGroupId]) {
      const other = groupId === undefined ? undefined : weighed.get(groupId)
      if (other)
        throw new FieldError(
          'twice',
          partColumn.ticket(part.place),
          phrase(
            '{place}: the ticket weighs {other} as well; a group is weighed alone, or together with one other on one platform. Empty one of the two. Nothing was saved.',
            { place: part.place, other: other.place },
          ),
        )
      if (groupId !== undefined) weighed.set(groupId, part)
    }
  }
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
  const lines = (await listUses(db, kind, id)).filter(({ voided_at }) => voided_at === null)
  for (const { groupId, place } of removed) {
    const line = lines.find(({ group_id }) => group_id === groupId)
    if (line)
      throw new FieldError(
        'in-use',
        column(place),
        phrase(
          'The line of {unit} {group} of {day} rests on {kind, select, ticket {this weight} other {this pressure}}: type the right one, or void that calibration first. Nothing was saved.',
          {
            unit: line.unit,
            group: line.group,
            day: dayOf(fromStoredInstant(line.calibrated_at), await readZone(db)),
            kind,
          },
        ),
      )
  }
  const [first] = removed
  if (kind === 'reading' && first && removed.length === parts.filter(({ value }) => value !== null).length)
    throw new FieldError(
      'empty',
      column(first.place),
      phrase('A reading has one pressure at least. Nothing was saved.'),
    )
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
  const { id: scaleId } = at(
    scales.filter(({ name }) => name === (scale ?? values['scale'])),
    0,
  )
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
      phrase('Ticket number: {scale} has a ticket {number} already; another one is accepted. Nothing was saved.', {
        scale: String(scale ?? values['scale']),
        number,
      }),
    )
  const alike = 'number' in columns ? await alikeTicketNumber(db, scaleId, [number]) : undefined
  if (alike && alike.stored !== values['number'])
    throw new FieldError(
      'look-alike',
      'number',
      phrase(
        'Ticket number: {number} looks like {stored}, which {scale} has a ticket of already; a number that can be told from it is accepted. Nothing was saved.',
        { number, stored: alike.stored, scale: String(scale ?? values['scale']) },
      ),
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
export async function correctEvidence(
  db: Writer,
  { kind, id, was, now: asked, reason }: Correction,
): Promise<Change[]> {
  const { number } = asked
  const now = typeof number === 'string' && number !== was['number'] ? { ...asked, number: tidyName(number) } : asked
  const evidence = await readEvidence(db, kind, id)
  const { key, name, values, parts, unitIds } = evidence
  const conflicts = conflictsOf({ was, now }, values)
  if (conflicts.length > 0)
    throw new ConflictError(
      kind === 'ticket' ? phrase('Ticket {ticket}', { ticket: name }) : phrase('Reading {key}', { key: name }),
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
  const typed = ({ place }: Evidence['parts'][number]) => {
    const value = now[partColumn[kind](place)]
    return typeof value === 'number' ? value : null
  }
  await refuseRemovals(
    db,
    evidence,
    touched.filter((part) => typed(part) === null && part.withGroupId === undefined),
  )
  if (kind === 'ticket') refuseTwice(parts, (part) => (touched.includes(part) ? typed(part) : part.value))
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
  if (kind === 'ticket')
    for (const unitId of new Set(touched.map((part) => part.unitId))) await nameUnit(db, id, unitId)
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
