import type { StoredValues } from '#core/fleet/change.ts'
import { evidenceFields, type EvidenceKind, partColumn } from '#core/fleet/evidence-fields.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import type { RecordFields } from '#core/fleet/record-fields.ts'
import type { Reader } from '#core/store/open.ts'

/** A group of a ticket's units, or a circuit of a reading's, with its weight (lb) or pressure (psi). */
interface Part {
  /** Of the group or circuit. */
  readonly id: number
  readonly groupId: number
  readonly unitId: number
  /** `T-101 drive` or `T-101 drive main`. */
  readonly place: string
  /** null: not weighed, or not read. */
  readonly value: number | null
}

/** A ticket or reading with everything that may be corrected in it. */
export interface Evidence {
  readonly kind: EvidenceKind
  readonly id: number
  /** How people name it: `30600 of Salt Bend Yard`, `W-20261125-1`. */
  readonly key: string
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

const gone = (kind: EvidenceKind) =>
  new TarelineError('gone', `This ${kind} is not in the record, or no longer. Look for it in the Scale House.`)

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
      parts.map(({ place }) => place),
      scales.map(({ name }) => name),
    ),
    values: { ...own, ...Object.fromEntries(parts.map(({ place, value }) => [column(place), value])) },
  }
}

const listScaleNames = (db: Reader) => db.selectFrom('scale').select(['id', 'name']).orderBy('name').execute()

async function readTicket(db: Reader, id: number): Promise<Evidence> {
  const ticket = await db
    .selectFrom('ticket as t')
    .innerJoin('scale as s', 's.id', 't.scale_id')
    .select(['t.number', 't.weighed_at', 't.gross_lb', 't.note', 's.name as scale'])
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
  const groups = await db
    .selectFrom('axle_group as g')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .leftJoin('ticket_weight as w', (join) => join.onRef('w.group_id', '=', 'g.id').on('w.ticket_id', '=', id))
    .select(['g.id', 'g.unit_id', 'g.name', 'u.number', 'w.weight_lb'])
    .where('g.unit_id', 'in', unitIds)
    .orderBy('g.unit_id')
    .orderBy('g.first_axle_ft')
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
    unitIds,
    units: named.map(({ number }) => number),
    ticketId: null,
    ...assemble('ticket', ticket, parts, await listScaleNames(db)),
  }
}

async function readReading(db: Reader, id: number): Promise<Evidence> {
  const reading = await db
    .selectFrom('reading')
    .select(['name', 'taken_at', 'lift', 'elevation_ft', 'temperature_f', 'note', 'ticket_id'])
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
  const circuits = await db
    .selectFrom('circuit as c')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .leftJoin('reading_pressure as p', (join) => join.onRef('p.circuit_id', '=', 'c.id').on('p.reading_id', '=', id))
    .select(['c.id', 'c.group_id', 'g.unit_id', 'u.number', 'g.name as group', 'c.name', 'p.psi'])
    .where('g.unit_id', 'in', ofUnits)
    .orderBy('g.unit_id')
    .orderBy('g.first_axle_ft')
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
  return db
    .selectFrom('calibration as k')
    .innerJoin('axle_group as g', 'g.id', 'k.group_id')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
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
