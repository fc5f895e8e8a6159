import type { CalibrationDay } from '#demo/simulation/calibration-day.ts'
import { atLocal, dayMs } from '#demo/simulation/clock.ts'
import type { Logbook } from '#demo/simulation/logbook.ts'
import { tractorModels, trailerModels, truckModels, type VehicleModel } from '#demo/simulation/models.ts'
import type { Random } from '#demo/simulation/random.ts'
import type { Scale } from '#demo/simulation/scale.ts'
import { makeSensor } from '#demo/simulation/sensor.ts'
import { makeUnit, type SimUnit } from '#demo/simulation/unit.ts'
import type { Weighing } from '#demo/simulation/weighing.ts'
import { homes } from '#tests/bed/bed-scales.ts'
import type { FaultKind, PlantedFault } from '#tests/bed/fault-kinds.ts'
import { type ReadyFault, readyFault } from '#tests/bed/plant-fault.ts'
import { calibrationDays, planRig, type RigPlan } from '#tests/bed/rig-plan.ts'

/** A tractor with its trailer, or a truck, and what becomes of it. */
export interface Rig {
  readonly power: SimUnit
  readonly trailer: SimUnit | null
  readonly plan: RigPlan
  ready: ReadyFault | null
  planted: PlantedFault[]
  /** Times of its check weighings. */
  readonly checks: number[]
}

export const unitsOf = ({ power, trailer }: Rig): SimUnit[] => (trailer === null ? [power] : [power, trailer])
const sidedTractors = tractorModels.filter(({ groups }) => groups.some(({ circuits }) => circuits[0]?.name === 'left'))

/** Numbers units and sensors of one fleet and makes rigs of invented models. */
export class RigMaker {
  #serial = 0
  #sensors = 0
  readonly #startedAt: number
  readonly #wanderRate: number
  readonly #absoluteShare: number

  constructor(startedAt: number, wanderRate: number, absoluteShare: number) {
    this.#startedAt = startedAt
    this.#wanderRate = wanderRate
    this.#absoluteShare = absoluteShare
  }

  nextSensorNumber = (): number => {
    this.#sensors += 1
    return this.#sensors
  }

  rig(kind: FaultKind | null, isTruck: boolean, random: Random): Rig {
    const yard = random.pick(homes)[0]
    const powers = isTruck ? truckModels : kind === 'side-imbalance' ? sidedTractors : tractorModels
    const power = this.#unit(isTruck ? 'K' : 'T', powers, yard, random)
    const trailer = isTruck ? null : this.#unit('V', trailerModels, yard, random)
    return { power, trailer, plan: planRig(kind, random), ready: null, planted: [], checks: [] }
  }

  #unit(prefix: string, models: readonly VehicleModel[], yard: string, random: Random): SimUnit {
    this.#serial += 1
    return makeUnit(
      {
        number: `${prefix}${String(this.#serial).padStart(4, '0')}`,
        model: random.pick(models),
        yard,
        serial: this.#serial,
        wanderRate: this.#wanderRate,
        startedAt: this.#startedAt,
        nextSensor: () => makeSensor(this.nextSensorNumber(), this.#absoluteShare, random),
      },
      random,
    )
  }
}

/** Calibrations of a rig, its sensors' fitting, and its fault made ready: at its time, or waiting for a ticket. */
export function prepareRig(
  rig: Rig,
  scale: Scale,
  days: { first: number; last: number },
  logbook: Logbook,
  nextSensorNumber: () => number,
  random: Random,
) {
  const dates = calibrationDays(days.first, days.last - rig.plan.lastCalibratedDaysAgo * dayMs, random)
  const calibrations = dates.map(
    (day, i): CalibrationDay => ({
      day,
      power: rig.power,
      trailer: rig.trailer,
      calibrated: unitsOf(rig),
      scale,
      by: 'Shop',
      loads: i === dates.length - 1 ? rig.plan.loads : random.pick(['three', 'four', 'five'] as const),
    }),
  )
  for (const unit of unitsOf(rig))
    logbook.fit(
      unit,
      atLocal(dates[0] as number, 6),
      dates.map((day) => atLocal(day, 6)),
    )
  if (rig.plan.kind === null) return { calibrations, happenings: [] }
  const at = atLocal(days.last - rig.plan.faultDaysAgo * dayMs, 20)
  rig.ready = readyFault(rig.plan.kind, {
    power: rig.power,
    trailer: rig.trailer,
    at,
    logbook,
    random,
    nextSensorNumber,
  })
  if (rig.ready.slip === undefined) rig.planted = rig.ready.planted(null)
  return { calibrations, happenings: rig.ready.act === undefined ? [] : [{ at, act: rig.ready.act }] }
}

/** Notes a check weighing and lets a waiting slip happen on it. */
export function passCheck(rig: Rig, weighing: Weighing, lastDay: number): void {
  rig.checks.push(weighing.at)
  if (rig.ready?.slip === undefined || rig.planted.length > 0 || weighing.at < lastDay - rig.plan.faultDaysAgo * dayMs)
    return
  if (rig.ready.slip(weighing)) rig.planted = rig.ready.planted(weighing)
}
