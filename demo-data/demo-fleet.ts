import { trailerModels, tractorModels, truckModels, type VehicleModel } from './simulation/models.ts'
import type { Random } from './simulation/random.ts'
import { gainWithin, type Scale } from './simulation/scale.ts'
import { makeSensor, type Sensor } from './simulation/sensor.ts'
import { makeUnit, type SimUnit } from './simulation/unit.ts'
import type { Noise } from './simulation/weighing.ts'

/** The invented company Tamsin Fork Freight: yards, scales and units. */
export interface DemoYard {
  readonly name: string
  readonly elevationFt: number
  readonly tractors: number
  readonly trailers: number
  readonly trucks: number
}

export const demoYards: readonly DemoYard[] = [
  { name: 'Cinder Gap', elevationFt: 6_210, tractors: 16, trailers: 18, trucks: 2 },
  { name: 'Larch Hollow', elevationFt: 4_180, tractors: 14, trailers: 15, trucks: 1 },
  { name: 'Salt Bend', elevationFt: 2_640, tractors: 10, trailers: 12, trucks: 1 },
]

/** The fuel stop's scale reads heavy by this much; every other scale is within its tolerance. */
const biasedScale = { name: 'Mile 88 Fuel Stop', gain: 0.0085 }
export const grossOnlyScale = 'Dry Fork Grain'

export function makeDemoScales(noise: Noise, random: Random): Scale[] {
  const scale = (name: string, elevationFt: number, firstTicket: number, gain?: number): Scale => ({
    name,
    elevationFt,
    divisionLb: noise.divisionLb,
    tolerancePercent: noise.scaleTolerancePercent,
    gain: gain ?? gainWithin(noise.scaleTolerancePercent, random),
    grossOnly: name === grossOnlyScale,
    nextTicket: firstTicket,
  })
  return [
    ...demoYards.map(({ name, elevationFt }, i) => scale(`${name} Yard`, elevationFt, 10_000 * (i + 1) + 417)),
    scale(biasedScale.name, 3_560, 884_120, biasedScale.gain),
    scale('Six Bridges', 5_020, 2_206),
    scale(grossOnlyScale, 3_910, 70_351),
  ]
}

/** Trailers by kind: number prefix, model and how many of 45. */
const trailerMix = [
  ['V-2', 28],
  ['F-3', 9],
  ['H-4', 8],
] as const

export interface DemoFleet {
  readonly tractors: SimUnit[]
  readonly trailers: SimUnit[]
  readonly trucks: SimUnit[]
}

/** Number `at` of a mix that is spread evenly, so that every yard gets some of each kind. */
const spread = (at: number, stride: number, count: number): number => (at * stride) % count

function yardNames(count: (yard: DemoYard) => number): string[] {
  return demoYards.flatMap((yard) => Array.from({ length: count(yard) }, () => yard.name))
}

export function makeDemoUnits(
  noise: Noise,
  startedAt: number,
  random: Random,
  absoluteUnits: ReadonlySet<string>,
): DemoFleet {
  let serial = 0
  let sensors = 1_040
  const make = (number: string, model: VehicleModel, yard: string): SimUnit => {
    const own = random.fork(number)
    serial += 1
    const nextSensor = (): Sensor => {
      sensors += own.whole(1, 9)
      return makeSensor(sensors, absoluteUnits.has(number) ? 1 : 0, own)
    }
    return makeUnit({ number, model, yard, serial, wanderRate: noise.wanderPsi, startedAt, nextSensor }, own)
  }
  const tractorYards = yardNames(({ tractors }) => tractors)
  const tractors = tractorYards.map((yard, i) => make(`T-${101 + i}`, tractorModels[i % 3] as VehicleModel, yard))

  const kinds = trailerMix.flatMap(([prefix, count], kind) =>
    Array.from({ length: count }, (_, i) => ({
      number: `${prefix}${String(i + 1).padStart(2, '0')}`,
      model: trailerModels[kind] as VehicleModel,
    })),
  )
  const trailerYards = yardNames(({ trailers }) => trailers)
  const trailers = trailerYards.map((yard, i) => {
    const { number, model } = kinds[spread(i, 8, kinds.length)] as (typeof kinds)[number]
    return make(number, model, yard)
  })
  const trucks = yardNames(({ trucks: count }) => count).map((yard, i) =>
    make(`K-0${i + 1}`, truckModels[0] as VehicleModel, yard),
  )
  return { tractors, trailers, trucks }
}
