import type { StoredPlaces } from '#core/store/folder-ledger.ts'
import { ByName } from '#core/words/names.ts'

/**
 * Stands for the id of something that a faulty row names: known by name, so that what refers to it is not faulty too.
 */
export const faulty = 0

export interface GroupPlace {
  readonly id: number
  readonly circuits: Map<string, number>
}

export interface UnitPlace {
  readonly id: number
  readonly groups: Map<string, GroupPlace>
}

/** What the rows of a folder refer to by name: ids of what is stored and of what this import has added. */
export interface Places {
  readonly yards: Map<string, number>
  readonly scales: Map<string, number>
  readonly sensors: Map<string, number>
  readonly units: Map<string, UnitPlace>
}

export function placesOf(stored: StoredPlaces): Places {
  const units = new ByName(stored.units.map(([name, id]): [string, UnitPlace] => [name, { id, groups: new ByName() }]))
  const unitById = new Map([...units.values()].map((unit) => [unit.id, unit]))
  const groupById = new Map<number, GroupPlace>()
  for (const [unitId, name, id] of stored.groups) {
    const group: GroupPlace = { id, circuits: new ByName() }
    groupById.set(id, group)
    unitById.get(unitId)?.groups.set(name, group)
  }
  for (const [groupId, name, id] of stored.circuits) groupById.get(groupId)?.circuits.set(name, id)
  return {
    yards: new ByName(stored.yards),
    scales: new ByName(stored.scales),
    sensors: new ByName(stored.sensors),
    units,
  }
}
