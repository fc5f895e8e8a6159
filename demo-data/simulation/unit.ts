import type { FolderWriter } from './folder-writer.ts'
import type { GroupModel, VehicleModel } from './models.ts'
import type { Random } from './random.ts'
import type { Sensor } from './sensor.ts'
import { slopeOf, type Suspension } from './suspension.ts'
import { fictitiousVin } from './vin.ts'

export interface SimGroup {
  readonly model: GroupModel
  readonly tareLb: number
  /** null: the group has no circuit of its own. */
  readonly suspension: Suspension | null
  /** One a circuit, in the order of the model's circuits. */
  readonly sensors: Sensor[]
}

export interface SimUnit {
  readonly number: string
  readonly model: VehicleModel
  readonly yard: string
  readonly vin: string
  readonly plate: string
  readonly year: number
  readonly groups: readonly SimGroup[]
  readonly kingpinTareLb: number
  /** When its sensors went on; null: none yet. */
  fittedAt: number | null
}

const sensedGroups = (unit: SimUnit): SimGroup[] => unit.groups.filter(({ suspension }) => suspension !== null)

/** The unit's one sensed group; RangeError when it has none. */
export function sensedGroup(unit: SimUnit): SimGroup {
  const group = sensedGroups(unit)[0]
  if (group === undefined) throw new RangeError(`unit ${unit.number} has no sensed group`)
  return group
}

/** Units of one model differ: unsprung weight by 3 %, linkage by 1 %, tare by 1.5 %, circuits by 1 % of their mean. */
function makeGroup(
  model: GroupModel,
  wanderRate: number,
  startedAt: number,
  sensors: Sensor[],
  random: Random,
): SimGroup {
  const excess = model.circuits.length === 2 ? random.clippedNormal(0.01, 0.025) : 0
  const suspension: Suspension | null =
    model.circuits.length === 0
      ? null
      : {
          unsprungLb: model.unsprungLb * (1 + random.clippedNormal(0.03, 0.08)),
          slopeLbPerPsi: slopeOf(model.circuits, model.linkage * (1 + random.clippedNormal(0.01, 0.025))),
          circuitExcess: model.circuits.length === 2 ? [excess, -excess] : model.circuits.map(() => 0),
          wanderPsi: 0,
          wanderedAt: startedAt,
          wanderRate,
        }
  return { model, tareLb: model.tareLb * (1 + random.clippedNormal(0.015, 0.04)), suspension, sensors }
}

export interface UnitOrder {
  readonly number: string
  readonly model: VehicleModel
  readonly yard: string
  readonly serial: number
  readonly wanderRate: number
  readonly startedAt: number
  readonly nextSensor: () => Sensor
}

export function makeUnit(
  { number, model, yard, serial, wanderRate, startedAt, nextSensor }: UnitOrder,
  random: Random,
): SimUnit {
  const year = random.whole(...model.years)
  return {
    number,
    model,
    yard,
    year,
    vin: fictitiousVin(model.vinModel, year, serial),
    plate: `ZT-${String(40_000 + serial * 7).padStart(5, '0')}`,
    groups: model.groups.map((group) =>
      makeGroup(group, wanderRate, startedAt, group.circuits.map(nextSensor), random),
    ),
    kingpinTareLb: model.kingpinTareLb * (1 + random.clippedNormal(0.02, 0.05)),
    fittedAt: null,
  }
}

/** The unit's rows in units, axle_groups and circuits. Plate region ZZ is no state's. */
export function writeUnit(folder: FolderWriter, unit: SimUnit): void {
  const { model } = unit
  folder.row('units', {
    unit: unit.number,
    kind: model.kind,
    vin: unit.vin,
    plate: unit.plate,
    plate_region: 'ZZ',
    make: model.make,
    model: model.model,
    model_year: unit.year,
    yard: unit.yard,
    gross_limit_lb: model.grossLimitLb,
    fifth_wheel_ft: model.fifthWheelFt,
  })
  for (const { model: group } of unit.groups) {
    folder.row('axle_groups', {
      unit: unit.number,
      group: group.name,
      role: group.role,
      axles: group.axles,
      first_axle_ft: group.firstAxleFt,
      axle_spacing_ft: group.axleSpacingFt,
      limit_lb: group.limitLb,
      measured_by: group.measuredBy,
    })
    for (const circuit of group.circuits) {
      folder.row('circuits', {
        unit: unit.number,
        group: group.name,
        circuit: circuit.name,
        air_springs: circuit.airSprings,
        spring_area_in2: circuit.springAreaIn2,
        ride_height_in: circuit.rideHeightIn,
      })
    }
  }
}

export function writeSensor(folder: FolderWriter, sensor: Sensor): void {
  folder.row('sensors', {
    serial: sensor.serial,
    reference: sensor.reference,
    range_psi: sensor.rangePsi,
    resolution_psi: sensor.resolutionPsi,
    accuracy_psi: sensor.accuracyPsi,
    cell: sensor.cell,
    report_every_s: sensor.reportEveryS,
  })
}
