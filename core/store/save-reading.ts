import type { Change } from '#core/fleet/change.ts'
import type { LiftState } from '#core/fleet/vocabulary.ts'
import type { Reader, Writer } from '#core/store/open.ts'

/** A reading as typed: pressures by circuit, psi as the sensor shows them. takenAt: stored instant. */
export interface TypedReading {
  readonly takenAt: string
  readonly localZone: string | null
  readonly elevationFt: number | null
  readonly temperatureF: number | null
  readonly lift: LiftState | null
  readonly note: string | null
  readonly pressures: readonly { readonly circuitId: number; readonly psi: number }[]
}

/** The circuits of units under the names people use. */
export function listNamedCircuits(db: Reader, unitIds: readonly number[]) {
  return db
    .selectFrom('circuit as c')
    .innerJoin('axle_group as g', 'g.id', 'c.group_id')
    .innerJoin('unit as u', 'u.id', 'g.unit_id')
    .select(['c.id', 'c.name as circuit', 'g.name as group', 'u.number as unit'])
    .where('u.id', 'in', unitIds)
    .orderBy('c.id')
    .execute()
}

/** The first free name of a day: W-20261125-1 and on. */
async function freeReadingName(db: Reader, takenAt: string): Promise<string> {
  const head = `W-${takenAt.slice(0, 10).replaceAll('-', '')}-`
  const rows = await db
    .selectFrom('reading')
    .select('name')
    .where('name', '>=', head)
    .where('name', '<', `${head}:`)
    .execute()
  const taken = rows.map(({ name }) => Number(name.slice(head.length))).filter((number) => Number.isInteger(number))
  return `${head}${Math.max(0, ...taken) + 1}`
}

/** Where a reading comes from, and the ticket that was weighed at the same moment. */
export interface ReadingOrigin {
  readonly source: 'weigh now' | 'weigh-in'
  readonly ticket: { readonly id: number; readonly number: string } | null
}

/** Adds a reading with its pressures; answers its name and the change, which is the caller's to take down. */
export async function addReading(
  db: Writer,
  unitId: number | null,
  { takenAt, localZone, elevationFt, temperatureF, lift, note, pressures }: TypedReading,
  { source, ticket }: ReadingOrigin,
): Promise<{ id: number; name: string; change: Change }> {
  const name = await freeReadingName(db, takenAt)
  const { id } = await db
    .insertInto('reading')
    .values({
      name,
      taken_at: takenAt,
      local_zone: localZone,
      ticket_id: ticket?.id ?? null,
      elevation_ft: elevationFt,
      temperature_f: temperatureF,
      lift,
      source,
      note,
    })
    .returning('id')
    .executeTakeFirstOrThrow()
  await db
    .insertInto('reading_pressure')
    .values(pressures.map(({ circuitId, psi }) => ({ reading_id: id, circuit_id: circuitId, psi })))
    .execute()
  const change: Change = {
    unitId,
    subject: 'reading',
    key: name,
    action: 'added',
    recordId: id,
    new: {
      taken_at: takenAt,
      ...(ticket && { ticket: ticket.number }),
      lift,
      elevation_ft: elevationFt,
      temperature_f: temperatureF,
      note,
      pressures: pressures.map(({ circuitId, psi }) => ({ circuit_id: circuitId, psi })),
    },
  }
  return { id, name, change }
}
