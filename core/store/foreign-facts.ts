import type { ForeignFacts } from '#core/fleet/foreign-facts.ts'
import { fromStoredInstant } from '#core/fleet/instant.ts'
import type { Reader } from '#core/store/open.ts'

/** The named places of the fleet and the mounts of its sensors: four questions, however large the fleet. */
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
