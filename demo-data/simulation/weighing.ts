import type { LiftState } from '#core/words/vocabulary.ts'
import { dayMs, stamp } from './clock.ts'
import type { FolderWriter } from './folder-writer.ts'
import { type Load, groupWeightsLb } from './loading.ts'
import type { Random } from './random.ts'
import { type Scale, printedLb, takeTicketNumber } from './scale.ts'
import { sensedPsi } from './sensor.ts'
import { circuitPressuresPsi, wanderTo } from './suspension.ts'
import type { SimGroup, SimUnit } from './unit.ts'

/** Ordinary noise of a fleet. */
export interface Noise {
  /** Leveling repeatability of a group's pressure, psi. */
  readonly levelingPsi: number
  /** Tolerance of every scale in percent; gains lie evenly within it. */
  readonly scaleTolerancePercent: number
  readonly divisionLb: number
  /** Random walk of a line, psi per root month. */
  readonly wanderPsi: number
  /** What fuel, people and position change between ticket and reading, lb a group. */
  readonly repeatabilityLb: number
  /**
   * Share of settlings that are wild (air still building, a sticking valve), and how many times the ordinary spread
   * they have.
   */
  readonly tailShare: number
  readonly tailScale: number
  /** What every sensor shows more for each degree Fahrenheit above 60, psi. */
  readonly psiPerDegree: number
}

export const ordinaryNoise: Noise = {
  levelingPsi: 0.35,
  scaleTolerancePercent: 0.2,
  divisionLb: 20,
  wanderPsi: 0.05,
  repeatabilityLb: 30,
  tailShare: 0,
  tailScale: 3.5,
  psiPerDegree: 0,
}

export interface TicketWeight {
  readonly unit: SimUnit
  readonly group: SimGroup
  weightLb: number
}
export interface CircuitPressure {
  readonly unit: SimUnit
  readonly group: SimGroup
  readonly circuit: string
  psi: number
}

/**
 * A ticket with its reading, or a reading alone (scale null), as it goes into the record. A slip changes it before
 * that.
 */
export interface Weighing {
  readonly scale: Scale | null
  readonly ticket: string | null
  readonly at: number
  readonly readAt: number
  elevationFt: number | null
  readonly temperatureF: number
  readonly lift: LiftState
  readonly weights: TicketWeight[]
  grossLb: number | null
  readonly reading: string
  pressures: CircuitPressure[]
  /** What the groups truly weigh, lb: nobody of the fleet knows. */
  readonly trueLb: ReadonlyMap<SimGroup, number>
}

/** The people and things of one simulated fleet that every weighing draws on. */
export interface Workshop {
  readonly random: Random
  readonly noise: Noise
  readonly nextReading: () => string
}

/** Air temperature in °F: a yearly swing about the end of January, cooler with height. */
function airTemperatureF(at: number, elevationFt: number, random: Random): number {
  const season = Math.cos((2 * Math.PI * (at / dayMs - 28)) / 365.25)
  return Math.round(62 - 26 * season - elevationFt * 0.003 + random.normal(8))
}

/**
 * The slope that a lowered lift axle adds to the other axles' lines: the frame pitches and the springs stand
 * differently.
 */
const loweredSlope = 0.98

function pressuresOf(
  unit: SimUnit,
  group: SimGroup,
  weightLb: number,
  at: number,
  elevationFt: number,
  lift: LiftState,
  { random, noise }: Workshop,
): CircuitPressure[] {
  const { suspension, sensors, model } = group
  if (suspension === null || unit.fittedAt === null || at < unit.fittedAt) return []
  wanderTo(suspension, at, random)
  const stood =
    lift === 'lowered' ? { ...suspension, slopeLbPerPsi: suspension.slopeLbPerPsi * loweredSlope } : suspension
  const wild = noise.tailShare > 0 && random.chance(noise.tailShare)
  const levelingPsi = wild ? noise.tailScale * noise.levelingPsi : noise.levelingPsi
  const gauge = circuitPressuresPsi(stood, weightLb, levelingPsi, random)
  return model.circuits.map(({ name }, i) => {
    const sensor = sensors[i]
    if (sensor === undefined) throw new RangeError(`circuit ${name} of unit ${unit.number} has no sensor`)
    return { unit, group, circuit: name, psi: sensedPsi(sensor, gauge[i] as number, at, elevationFt, random) }
  })
}

export interface Stop {
  readonly power: SimUnit
  readonly trailer: SimUnit | null
  readonly load: Load
  readonly at: number
  readonly elevationFt: number
}

/**
 * Weighs a combination on a scale and reads its sensors a few minutes later; on the road without a scale, only reads.
 */
export function weigh(
  { power, trailer, load, at, elevationFt }: Stop,
  scale: Scale | null,
  workshop: Workshop,
): Weighing {
  const { random, noise } = workshop
  const units = trailer === null ? [power] : [power, trailer]
  const trueLb = groupWeightsLb(power, trailer, load)
  const readAt = scale === null ? at : at + random.whole(1, 9) * 60_000
  const weights: TicketWeight[] = []
  const pressures: CircuitPressure[] = []
  for (const unit of units) {
    for (const group of unit.groups) {
      const weightLb = trueLb.get(group) as number
      pressures.push(...pressuresOf(unit, group, weightLb, readAt, elevationFt, load.lift, workshop))
      if (scale === null) continue
      const stands = weightLb > 0
      weights.push({
        unit,
        group,
        weightLb: stands ? printedLb(scale, weightLb + random.normal(noise.repeatabilityLb)) : 0,
      })
    }
  }
  const temperatureF = airTemperatureF(at, elevationFt, random)
  if (noise.psiPerDegree !== 0)
    for (const pressure of pressures)
      pressure.psi = Math.max(0, Math.round(10 * (pressure.psi + noise.psiPerDegree * (temperatureF - 60))) / 10)
  return {
    scale,
    ticket: scale === null ? null : takeTicketNumber(scale),
    at,
    readAt,
    elevationFt,
    lift: load.lift,
    weights,
    pressures,
    temperatureF,
    grossLb: scale === null ? null : weights.reduce((sum, { weightLb }) => sum + weightLb, 0),
    reading: workshop.nextReading(),
    trueLb,
  }
}

/**
 * The weighing's rows in tickets and readings. A scale that prints gross only leaves groups and their weights empty.
 */
export function writeWeighing(folder: FolderWriter, weighing: Weighing): void {
  const { scale, ticket } = weighing
  if (scale !== null) {
    const head = { scale: scale.name, ticket, weighed_at: stamp(weighing.at), gross_lb: weighing.grossLb }
    if (scale.grossOnly) {
      for (const unit of new Set(weighing.weights.map((weight) => weight.unit))) {
        folder.row('tickets', { ...head, unit: unit.number, group: null, weight_lb: null })
      }
    } else {
      for (const { unit, group, weightLb } of weighing.weights) {
        folder.row('tickets', { ...head, unit: unit.number, group: group.model.name, weight_lb: weightLb })
      }
    }
  }
  const taken = stamp(weighing.readAt)
  for (const { unit, group, circuit, psi } of weighing.pressures) {
    folder.row('readings', {
      reading: weighing.reading,
      taken_at: taken,
      unit: unit.number,
      group: group.model.name,
      circuit,
      psi,
      scale: scale?.name ?? null,
      ticket,
      elevation_ft: weighing.elevationFt,
      temperature_f: weighing.temperatureF,
      lift: weighing.lift,
    })
  }
}
