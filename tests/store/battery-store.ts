import type { Store } from '#core/store/open.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { addRow } from '#tests/fleet/rows.ts'
import type { SimulatedFleet } from '#tests/unit/battery-fleet.ts'
import type { BatteryReason } from '#core/words/vocabulary.ts'

const sensorsPerUnit = 2
const stored = (at: number | null) => (at === null ? null : toStoredInstant(at))

/** Stores a simulated fleet: two sensors a unit, each on a group of its own, the units spread over three yards. */
export function insertSimulatedFleet(store: Store, { histories }: Pick<SimulatedFleet, 'histories'>): void {
  store.raw.transaction(() => {
    const yards = ['North yard', 'East yard', 'South yard'].map((name) => addRow(store, 'yard', { name }))
    let unitId = 0
    for (const [i, { serial, cell, reportEveryS, mounts, changes }] of histories.entries()) {
      const place = i / sensorsPerUnit
      if (Number.isInteger(place))
        unitId = addRow(store, 'unit', {
          number: `U-${10_000 + place}`,
          yard_id: yards[place % yards.length] as number,
        })
      const groupId = addRow(store, 'axle_group', { unit_id: unitId, name: `G${i % sensorsPerUnit}` })
      const circuitId = addRow(store, 'circuit', { group_id: groupId })
      const sensorId = addRow(store, 'sensor', { serial, cell, report_every_s: reportEveryS })
      for (const { mountedAt, removedAt } of mounts)
        addRow(store, 'mount', {
          sensor_id: sensorId,
          circuit_id: circuitId,
          mounted_at: toStoredInstant(mountedAt),
          removed_at: stored(removedAt),
        })
      for (const { changedAt, reason, cell: put } of changes)
        addRow(store, 'battery_change', {
          sensor_id: sensorId,
          changed_at: toStoredInstant(changedAt),
          reason: reason as BatteryReason | null,
          cell: put,
        })
    }
    store.raw.prepare('update ledger set revision = revision + 1').run()
  })()
}
