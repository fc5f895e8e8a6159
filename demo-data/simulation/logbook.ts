import type { EventKind } from '#core/words/vocabulary.ts'
import { type BatteryChange, cellHistory } from './battery.ts'
import { stamp } from './clock.ts'
import type { FolderWriter } from './folder-writer.ts'
import type { Random } from './random.ts'
import type { Sensor } from './sensor.ts'
import { type SimGroup, type SimUnit, writeSensor } from './unit.ts'

interface Mount {
  readonly sensor: Sensor
  readonly unit: SimUnit
  readonly group: SimGroup
  readonly circuit: string
  readonly mountedAt: number
  removedAt: number | null
  changes: BatteryChange[]
  silent: { readonly from: number; readonly until: number }[]
}

/** Sensors, their cells and the work done on units: what is written once the simulated time has passed. */
export class Logbook {
  readonly #mounts: Mount[] = []
  readonly #events: {
    unit: SimUnit
    group: SimGroup | null
    circuit: string | null
    at: number
    kind: EventKind
    note: string | null
  }[] = []
  readonly #until: number
  readonly #dieOnRoad: number
  readonly #random: Random

  constructor(until: number, dieOnRoad: number, random: Random) {
    this.#until = until
    this.#dieOnRoad = dieOnRoad
    this.#random = random
  }

  /** Puts a unit's sensors on; `visits` are the days on which a shop sees the unit. */
  fit(unit: SimUnit, at: number, visits: readonly number[]): void {
    unit.fittedAt = at
    for (const group of unit.groups) {
      group.sensors.forEach((sensor, i) => {
        this.mount(sensor, unit, group, group.model.circuits[i]?.name ?? '', at, visits)
      })
    }
  }

  mount(sensor: Sensor, unit: SimUnit, group: SimGroup, circuit: string, at: number, visits: readonly number[]): void {
    const cells = cellHistory(sensor, at, this.#until, visits, this.#dieOnRoad, this.#random.fork(sensor.serial))
    this.#mounts.push({ sensor, unit, group, circuit, mountedAt: at, removedAt: null, ...cells })
  }

  /** Swaps the sensor of one circuit. Unrecorded, the record goes on under the old serial. */
  swap(unit: SimUnit, group: SimGroup, index: number, sensor: Sensor, at: number, recorded: boolean): void {
    const old = group.sensors[index] as Sensor
    group.sensors[index] = recorded ? sensor : { ...sensor, serial: old.serial }
    if (!recorded) return
    const mount = this.#mounts.find(
      (candidate) => candidate.sensor.serial === old.serial && candidate.removedAt === null,
    )
    if (mount === undefined) throw new RangeError(`sensor ${old.serial} is not mounted`)
    mount.removedAt = at
    mount.changes = mount.changes.filter((change) => change.at < at)
    this.mount(sensor, unit, group, mount.circuit, at, [])
  }

  /** The cell of a unit's sensors dies and nobody has changed it yet. */
  die(unit: SimUnit, at: number): void {
    for (const mount of this.#mounts) {
      if (mount.unit !== unit || mount.removedAt !== null) continue
      mount.changes = mount.changes.filter((change) => change.at < at)
      mount.silent = [{ from: at, until: Number.POSITIVE_INFINITY }]
    }
  }

  /** Whether a group cannot be read because a cell is dead. */
  isSilent(group: SimGroup, at: number): boolean {
    return this.#mounts.some(
      (mount) => mount.group === group && mount.silent.some(({ from, until }) => at >= from && at < until),
    )
  }

  event(
    unit: SimUnit,
    group: SimGroup | null,
    circuit: string | null,
    at: number,
    kind: EventKind,
    note: string | null,
  ): void {
    this.#events.push({ unit, group, circuit, at, kind, note })
  }

  write(folder: FolderWriter): void {
    for (const { sensor, unit, group, circuit, mountedAt, removedAt, changes } of this.#mounts) {
      writeSensor(folder, sensor)
      folder.row('mounts', {
        serial: sensor.serial,
        unit: unit.number,
        group: group.model.name,
        circuit,
        mounted_at: stamp(mountedAt),
        removed_at: removedAt === null ? null : stamp(removedAt),
      })
      for (const { at, reason } of changes) {
        folder.row('battery_changes', { serial: sensor.serial, changed_at: stamp(at), reason, cell: sensor.cell })
      }
    }
    for (const { unit, group, circuit, at, kind, note } of this.#events.toSorted((a, b) => a.at - b.at)) {
      folder.row('events', {
        unit: unit.number,
        group: group?.model.name ?? null,
        circuit,
        happened_at: stamp(at),
        event: kind,
        note,
      })
    }
  }
}
