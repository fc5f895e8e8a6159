import type { Store } from '#core/store/open.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { SimulatedFleet } from '#tests/unit/battery-fleet.ts'

const sensorsPerUnit = 2

/** Stores a simulated fleet: two sensors a unit, each on a group of its own, the units spread over three yards. */
export function insertSimulatedFleet({ raw }: Store, { histories }: Pick<SimulatedFleet, 'histories'>): void {
  raw.transaction(() => {
    const yard = raw.prepare('insert into yard (name) values (?)')
    const yards = ['North yard', 'East yard', 'South yard'].map((name) => Number(yard.run(name).lastInsertRowid))
    const unit = raw.prepare("insert into unit (number, kind, yard_id) values (?, 'tractor', ?)")
    const group = raw.prepare(
      "insert into axle_group (unit_id, name, role, axles, measured_by) values (?, ?, 'drive', 2, 'circuit')",
    )
    const circuit = raw.prepare("insert into circuit (group_id, name, air_springs) values (?, 'main', 4)")
    const sensor = raw.prepare("insert into sensor (serial, reference, cell, report_every_s) values (?, 'gauge', ?, ?)")
    const mount = raw.prepare('insert into mount (sensor_id, circuit_id, mounted_at, removed_at) values (?, ?, ?, ?)')
    const change = raw.prepare('insert into battery_change (sensor_id, changed_at, reason, cell) values (?, ?, ?, ?)')
    let unitId = 0
    histories.forEach(({ serial, cell, reportEveryS, mounts, changes }, i) => {
      if (i % sensorsPerUnit === 0)
        unitId = Number(
          unit.run(`U-${10_000 + i / sensorsPerUnit}`, yards[(i / sensorsPerUnit) % yards.length]).lastInsertRowid,
        )
      const groupId = group.run(unitId, `G${i % sensorsPerUnit}`).lastInsertRowid
      const circuitId = circuit.run(groupId).lastInsertRowid
      const sensorId = sensor.run(serial, cell, reportEveryS).lastInsertRowid
      for (const { mountedAt, removedAt } of mounts)
        mount.run(
          sensorId,
          circuitId,
          toStoredInstant(mountedAt),
          removedAt === null ? null : toStoredInstant(removedAt),
        )
      for (const { changedAt, reason, cell: put } of changes)
        change.run(sensorId, toStoredInstant(changedAt), reason, put)
    })
    raw.prepare('update ledger set revision = revision + 1').run()
  })()
}
