import type { GroupRole } from '#core/words/vocabulary.ts'
import { dayMs } from '#demo/simulation/clock.ts'
import type { Random } from '#demo/simulation/random.ts'
import { type Sensor, makeSensor } from '#demo/simulation/sensor.ts'
import { type Suspension, slopeOf } from '#demo/simulation/suspension.ts'

/** One kind of axle group of the large fleet; emptyLb and fullLb are the weights between which it is used. */
interface LargeGroupModel {
  readonly name: string
  readonly role: GroupRole
  readonly axles: number
  readonly firstAxleFt: number
  readonly limitLb: number
  readonly emptyLb: number
  readonly fullLb: number
  readonly unsprungLb: number
  readonly linkage: number
  readonly circuits: readonly { readonly name: string; readonly airSprings: number; readonly springAreaIn2: number }[]
}

const group = (
  name: string,
  role: GroupRole,
  axles: number,
  firstAxleFt: number,
  limitLb: number,
  emptyLb: number,
  fullLb: number,
  unsprungLb: number,
  springAreaIn2: number,
): LargeGroupModel => ({
  name,
  role,
  axles,
  firstAxleFt,
  limitLb,
  emptyLb,
  fullLb,
  unsprungLb,
  linkage: 1.1,
  circuits: [{ name: 'main', airSprings: 2 * axles, springAreaIn2 }],
})

const steer = group('steer', 'steer', 1, 0, 14_600, 9_800, 14_200, 1_500, 85)
const drive = group('drive', 'drive', 2, 16.8, 34_000, 12_500, 33_500, 4_700, 84)
const sidedDrive: LargeGroupModel = {
  ...drive,
  circuits: [
    { name: 'left', airSprings: 2, springAreaIn2: 84 },
    { name: 'right', airSprings: 2, springAreaIn2: 84 },
  ],
}
const pusher = group('pusher', 'lift', 1, 12.5, 20_000, 5_000, 16_000, 1_600, 90)
const front = group('front', 'trailer', 2, 12, 34_000, 9_000, 32_000, 3_400, 88)
const rear = group('rear', 'trailer', 2, 38.4, 34_000, 9_100, 32_500, 3_400, 88)
const tag = group('tag', 'trailer', 1, 46, 20_000, 4_200, 16_500, 1_700, 92)

/**
 * A rig is a tractor and a trailer with five sensed groups together, two on one and three on the other in turn: more
 * than is usual, so that 10,000 units have 25,000 sensed groups. Every fourth has a left and a right drive circuit.
 */
const rigModels = [
  [
    [steer, drive],
    [front, rear, tag],
  ],
  [
    [steer, pusher, drive],
    [front, rear],
  ],
  [
    [steer, drive],
    [front, rear, tag],
  ],
  [
    [steer, pusher, sidedDrive],
    [front, rear],
  ],
] as const satisfies readonly (readonly [readonly LargeGroupModel[], readonly LargeGroupModel[]])[]

/** How many circuits, and so reading rows a stop, a rig has. */
export const circuitsOfRig = (index: number): number =>
  (rigModels[index % rigModels.length] as (typeof rigModels)[number])
    .flat()
    .reduce((sum, { circuits }) => sum + circuits.length, 0)

export interface LargeGroup {
  readonly unit: string
  readonly model: LargeGroupModel
  readonly suspension: Suspension
  readonly sensors: readonly Sensor[]
}

export interface LargeRig {
  readonly tractor: string
  readonly trailer: string
  readonly groups: readonly LargeGroup[]
  /** Calibration days (ms) with their number of points, and check weighings, of which some are readings alone. */
  readonly stops: readonly LargeStop[]
  /** From then on its first group's sensors read wrong; null: a sound rig. */
  readonly troubleAt: number | null
}

export interface LargeStop {
  readonly at: number
  readonly calibration: { readonly first: boolean; readonly last: boolean; readonly load: number } | null
  readonly ticket: boolean
}

/**
 * Three yearly calibrations of three or four points, and the rest of the stops evenly between the first and the last
 * day.
 */
function planStops(stops: number, lastDay: number, random: Random): LargeStop[] {
  const age = random.between(5, 340)
  const planned: LargeStop[] = []
  for (const year of [2, 1, 0]) {
    const points = random.whole(3, 4)
    const day = Math.floor((lastDay - (age + 365 * year) * dayMs) / dayMs) * dayMs
    for (let i = 0; i < points; i += 1) {
      planned.push({
        at: day + (14 + 2 * i) * (dayMs / 24),
        calibration: { first: i === 0, last: i === points - 1, load: i / (points - 1) },
        ticket: true,
      })
    }
  }
  const start = (planned[0] as LargeStop).at
  const checks = Math.max(0, stops - planned.length)
  for (let i = 0; i < checks; i += 1) {
    const at = start + ((i + random.between(0.3, 0.95)) / checks) * (lastDay - start)
    planned.push({ at: Math.round(at / 60_000) * 60_000, calibration: null, ticket: random.chance(0.92) })
  }
  return planned.toSorted((a, b) => a.at - b.at)
}

/** Rig number `index` (from 0) with `stops` visits to a scale or readings on the road, ending on `lastDay`. */
export function makeLargeRig(
  index: number,
  stops: number,
  lastDay: number,
  troubledShare: number,
  random: Random,
): LargeRig {
  const tractor = `T${String(index + 1).padStart(5, '0')}`
  const trailer = `V${String(index + 1).padStart(5, '0')}`
  const models = rigModels[index % rigModels.length] as (typeof rigModels)[number]
  const planned = planStops(stops, lastDay, random)
  const startedAt = planned[0]?.at ?? lastDay
  let sensor = index * 8
  const groups = [tractor, trailer].flatMap((unit, side) =>
    (models[side] as readonly LargeGroupModel[]).map((model): LargeGroup => {
      const excess = random.clippedNormal(0.01, 0.025)
      return {
        unit,
        model,
        suspension: {
          unsprungLb: model.unsprungLb * (1 + random.clippedNormal(0.03, 0.08)),
          slopeLbPerPsi: slopeOf(model.circuits, model.linkage * (1 + random.clippedNormal(0.01, 0.025))),
          circuitExcess: model.circuits.length === 2 ? [excess, -excess] : [0],
          wanderPsi: 0,
          wanderedAt: startedAt,
          wanderRate: 0.05,
        },
        sensors: model.circuits.map(() => {
          sensor += 1
          return makeSensor(sensor, 0.05, random)
        }),
      }
    }),
  )
  return {
    tractor,
    trailer,
    groups,
    stops: planned,
    troubleAt: random.chance(troubledShare) ? lastDay - random.between(40, 200) * dayMs : null,
  }
}
