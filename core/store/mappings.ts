import { phrase } from '#core/words/phrase.ts'
import { type ForeignFacts, type ForeignMapping, foreignMapping } from '#core/foreign/mapping/mapping.ts'
import { recordChanges } from '#core/store/change-log.ts'
import { addRecord, editRecord, findRecord } from '#core/store/edit-record.ts'
import { readMeasures } from '#core/store/house-rules.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import type { Hand } from '#core/words/change.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import { FieldError, TarelineError } from '#core/words/problem.ts'

export interface NamedMapping {
  readonly id: number
  readonly name: string
  readonly mapping: ForeignMapping
}

/** Saved mappings by name; one that a later version wrote and this one cannot read is left out. */
export async function listMappings(db: Reader): Promise<NamedMapping[]> {
  const rows = await db.selectFrom('mapping').selectAll().orderBy('name').execute()
  return rows.flatMap(({ id, name, settings }) => {
    const read = foreignMapping.safeParse(JSON.parse(settings))
    return read.success ? [{ id, name, mapping: read.data }] : []
  })
}

const place = (key: string) => ({ subject: 'mapping', key, unitId: null }) as const

/**
 * Saves a mapping under a name: a new one (id null), or in place of what it was. Errors: FieldError `taken` where
 * another has the name; TarelineError `gone`.
 */
export async function saveMapping(
  db: Writer,
  { id, name, mapping }: Omit<NamedMapping, 'id'> & { readonly id: number | null },
  hand: Hand,
): Promise<number> {
  const other = await db.selectFrom('mapping').select('id').where('name', '=', name).executeTakeFirst()
  if (other && other.id !== id)
    throw new FieldError(
      'taken',
      'name',
      phrase(
        'There is a mapping named {name} already. Another name is accepted, or choose that mapping and change it.',
        { name },
      ),
    )
  const values = { name, settings: JSON.stringify(mapping) }
  if (id === null) {
    const { id: added, change } = await addRecord(db, place(name), values)
    await recordChanges(db, hand, [change])
    return added
  }
  const stored = await findRecord(db, 'mapping', id)
  if (!stored)
    throw new TarelineError(
      'gone',
      phrase('The mapping {name} is no longer there: another window removed it. Save it as a new one.', { name }),
    )
  const was = { name: stored['name'] ?? null, settings: stored['settings'] ?? null }
  await recordChanges(db, hand, await editRecord(db, { ...place(String(was.name)), id, was, now: values }))
  return id
}

/** Errors: TarelineError `gone`. */
export async function removeMapping(db: Writer, id: number, hand: Hand): Promise<void> {
  const gone = await db.deleteFrom('mapping').where('id', '=', id).returningAll().executeTakeFirst()
  if (!gone) throw new TarelineError('gone', phrase('The mapping is no longer there: another window removed it.'))
  const { name, settings } = gone
  await recordChanges(db, hand, [{ ...place(name), action: 'removed', recordId: id, old: { name, settings } }])
}

/** The named places of the fleet, the mounts of its sensors and its measures: as many questions however large it is. */
export async function readForeignFacts(db: Reader): Promise<ForeignFacts> {
  const scales = await db.selectFrom('scale').select('name').execute()
  const groups = await db
    .selectFrom('unit as u')
    .leftJoin('axle_group as g', 'g.unit_id', 'u.id')
    .select(['u.number as unit', 'g.id', 'g.name', 'g.role'])
    .orderBy('g.id')
    .execute()
  const circuits = await db.selectFrom('circuit').select(['group_id', 'name']).orderBy('id').execute()
  const mounts = await db
    .selectFrom('sensor as s')
    .leftJoin('mount as m', 'm.sensor_id', 's.id')
    .leftJoin('circuit as c', 'c.id', 'm.circuit_id')
    .leftJoin('axle_group as g', 'g.id', 'c.group_id')
    .leftJoin('unit as u', 'u.id', 'g.unit_id')
    .select(['s.serial', 'u.number as unit', 'g.name as group', 'c.name as circuit', 'm.mounted_at', 'm.removed_at'])
    .execute()
  const circuitsOf = Map.groupBy(circuits, ({ group_id }) => group_id)
  return {
    measures: await readMeasures(db),
    scales: new Set(scales.map(({ name }) => name)),
    units: new Map(
      Array.from(
        Map.groupBy(groups, ({ unit }) => unit),
        ([unit, rows]) => [
          unit,
          rows.flatMap(({ id, name, role }) =>
            id === null || name === null || role === null
              ? []
              : [{ name, role, circuits: (circuitsOf.get(id) ?? []).map((circuit) => circuit.name) }],
          ),
        ],
      ),
    ),
    mounts: new Map(
      Array.from(
        Map.groupBy(mounts, ({ serial }) => serial),
        ([serial, rows]) => [
          serial,
          rows.flatMap(({ unit, group, circuit, mounted_at: from, removed_at: until }) =>
            unit === null || group === null || circuit === null || from === null
              ? []
              : [
                  {
                    unit,
                    group,
                    circuit,
                    fromMs: fromStoredInstant(from),
                    untilMs: until === null ? Number.POSITIVE_INFINITY : fromStoredInstant(until),
                  },
                ],
          ),
        ],
      ),
    ),
  }
}
