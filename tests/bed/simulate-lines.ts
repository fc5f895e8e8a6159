import type { LifeSeries, WeighedPoint } from '#core/evidence/state/series.ts'
import { transpositions } from '#core/evidence/slips.ts'
import { dayMs, monthMs } from '#demo/simulation/clock.ts'
import type { Random } from '#demo/simulation/random.ts'

/** One group alone with its weighings and the truth, far simpler than a fleet: what the state engine is tried on. */
export const lineFaults = ['offset', 'slope', 'drift', 'transposed', 'swapped', 'kPa', 'offset-1000-lb'] as const
export type LineFault = (typeof lineFaults)[number]

export interface LineWorld {
  readonly levelingPsi: number
  readonly wanderPsi: number
  /** Share of the wander that both ends have in common. */
  readonly together: number
  readonly tailShare: number
  readonly tailScale: number
  readonly psiPerDegree: number
  readonly months: number
}

export const ordinaryWorld: LineWorld = {
  levelingPsi: 0.35,
  wanderPsi: 0.05,
  together: 0.8,
  tailShare: 0,
  tailScale: 3.5,
  psiPerDegree: 0,
  months: 24,
}

export interface SimulatedReading {
  readonly at: number
  readonly psi: number
  readonly degreesF: number
  readonly trueLb: number
}

export interface SimulatedLine {
  readonly fault: LineFault | null
  /** When the fault began, ms; the slipped weighing's time for a slip. */
  readonly faultAt: number
  readonly points: readonly (WeighedPoint & { readonly degreesF: number; readonly otherLb: number })[]
  /** Places of the points of each calibration. */
  readonly calibrations: readonly (readonly number[])[]
  readonly readings: readonly SimulatedReading[]
  readonly slipped: number
  readonly offsetPsi: number
  readonly slopeLbPerPsi: number
  readonly interceptLb: number
  readonly limitLb: number
  readonly levelingPsi: number
}

const resolutionPsi = 0.1
const ticketSd = 30
const division = 20
const kPaPerPsi = 6.894757293168361

/** Gains of the scales of one simulated fleet. */
export const drawScales = (random: Random): number[] => Array.from({ length: 6 }, () => random.between(-0.002, 0.002))

export function simulateLine(
  world: LineWorld,
  fault: LineFault | null,
  scales: readonly number[],
  random: Random,
): SimulatedLine {
  const slope = random.between(300, 520)
  const intercept = random.between(3_500, 5_500)
  const limitLb = 34_000
  const emptyLb = random.between(8_500, 11_500)
  const start = Date.UTC(2024, 10, 1)
  const end = start + world.months * monthMs
  const faultAt =
    fault === null
      ? Number.POSITIVE_INFINITY
      : fault === 'offset-1000-lb'
        ? end - random.between(150, 170) * dayMs
        : end - random.between(fault === 'drift' ? 110 : 75, 300) * dayMs
  const sign = random.sign()
  const offsetPsi =
    fault === 'offset' ? sign * random.between(2, 4) : fault === 'offset-1000-lb' ? (sign * 1_000) / slope : 0
  const slopeShare = fault === 'slope' ? sign * random.between(0.07, 0.12) : 0
  const driftPsi = fault === 'drift' ? sign * random.between(0.5, 0.8) : 0

  interface Plan {
    readonly at: number
    readonly load: number
    readonly scale: number
    readonly calibration: number
  }
  const plans: Plan[] = []
  const drawLoad = (): number => {
    const kind = random.next()
    return kind < 0.22 ? 0 : kind < 0.52 ? random.between(0.25, 0.8) : random.between(0.9, 1.03)
  }
  const lastCalibration =
    fault === null ? end - random.between(10, 330) * dayMs : faultAt - random.between(20, 60) * dayMs
  const dates = [start + random.between(1, 20) * dayMs]
  while (lastCalibration - (dates.at(-1) as number) > 400 * dayMs)
    dates.push((dates.at(-1) as number) + random.between(330, 380) * dayMs)
  if (lastCalibration - (dates.at(-1) as number) > 40 * dayMs) dates.push(lastCalibration)
  dates.forEach((at, calibration) => {
    const scale = random.whole(0, 2)
    const count = random.whole(3, 5)
    for (let k = 0; k < count; k += 1)
      plans.push({ at: at + k * 1.5 * 3_600_000, load: k / (count - 1), scale, calibration })
  })
  for (let at = (dates[0] as number) + random.between(5, 20) * dayMs; at < end; at += random.between(10, 22) * dayMs)
    plans.push({ at, load: drawLoad(), scale: random.whole(0, 5), calibration: -1 })
  for (let at = (dates[0] as number) + random.between(2, 10) * dayMs; at < end; at += random.between(5, 15) * dayMs)
    plans.push({ at, load: drawLoad(), scale: -1, calibration: -1 })
  plans.sort((a, b) => a.at - b.at)

  let common = 0
  let empty = 0
  let full = 0
  let walked = start
  const points: SimulatedLine['points'][number][] = []
  const readings: SimulatedReading[] = []
  const calibrations: number[][] = dates.map(() => [])
  let slipped = -1
  for (const { at, load, scale, calibration } of plans) {
    const step = world.wanderPsi * Math.sqrt((at - walked) / monthMs)
    walked = at
    common += random.normal(step * Math.sqrt(world.together))
    empty += random.normal(step * Math.sqrt(1 - world.together))
    full += random.normal(step * Math.sqrt(1 - world.together))
    const trueLb = emptyLb + load * (limitLb - emptyLb)
    const degreesF = 58 - 26 * Math.cos((2 * Math.PI * (at / dayMs - 28)) / 365.25) + random.normal(8)
    const wrong = at > faultAt
    const b = slope * (1 + (wrong ? slopeShare : 0))
    const ideal = (trueLb - intercept) / b
    const share = (trueLb - emptyLb) / (limitLb - emptyLb)
    const tail = random.chance(world.tailShare) ? world.tailScale : 1
    const exact =
      ideal +
      common +
      (1 - share) * empty +
      share * full +
      random.normal(world.levelingPsi * tail) +
      world.psiPerDegree * (degreesF - 60) +
      (wrong ? offsetPsi + (driftPsi * (at - faultAt)) / monthMs : 0)
    let psi = Math.round(exact / resolutionPsi) * resolutionPsi
    if (scale < 0) {
      readings.push({ at, psi, degreesF, trueLb })
      continue
    }
    const print = (lb: number) =>
      Math.round((lb * (1 + (scales[scale] as number)) + random.normal(ticketSd)) / division) * division
    let weightLb = print(trueLb)
    let otherLb = print(random.between(9_000, 34_000))
    if (wrong && slipped < 0 && calibration < 0) {
      if (fault === 'transposed') {
        const typed = transpositions(weightLb, division).filter((lb) => Math.abs(lb - weightLb) >= 900)
        if (typed.length > 0) {
          weightLb = random.pick(typed)
          slipped = points.length
        }
      } else if (fault === 'swapped' && Math.abs(otherLb - weightLb) >= 1_500) {
        ;[weightLb, otherLb] = [otherLb, weightLb]
        slipped = points.length
      } else if (fault === 'kPa') {
        psi = Math.round(psi * kPaPerPsi)
        slipped = points.length
      }
    }
    if (calibration >= 0) (calibrations[calibration] as number[]).push(points.length)
    points.push({
      at,
      psi,
      weightLb,
      otherLb,
      degreesF,
      varOtherLb2: (division * division) / 12 + 40 * 40 + (slope * resolutionPsi) ** 2 / 12,
      scaleId: scale,
      scaleGain: 0,
      uScaleGain: 0.002 / Math.sqrt(3),
    })
  }
  return {
    fault,
    faultAt: slipped >= 0 ? (points[slipped]?.at as number) : faultAt,
    points,
    calibrations,
    readings,
    slipped,
    offsetPsi,
    slopeLbPerPsi: slope,
    interceptLb: intercept,
    limitLb,
    levelingPsi: world.levelingPsi,
  }
}

/** What the engine is told of a simulated line: its weighings, and that lines of its kind are roughly so. */
export function seriesOf(line: SimulatedLine, until = Number.POSITIVE_INFINITY): LifeSeries {
  const points = line.points.filter(({ at }) => at <= until)
  const slopeLbPerPsi = 400
  const interceptLb = 4_500
  const emptyPsi = 12
  const limitPsi = 75
  return {
    points,
    emptyPsi,
    limitPsi,
    // The slope of the first calibration, as a fitted line would give it: known to about a percent.
    slopeLbPerPsi: line.slopeLbPerPsi,
    prior: {
      atEmpty: interceptLb + slopeLbPerPsi * emptyPsi,
      atLimit: interceptLb + slopeLbPerPsi * limitPsi,
      varEmpty: 1_500 ** 2 + (80 * emptyPsi) ** 2,
      varLimit: 1_500 ** 2 + (80 * limitPsi) ** 2,
      cov: 1_500 ** 2 + 80 * 80 * emptyPsi * limitPsi,
    },
    slipsOf: (place) => {
      const { weightLb, psi, otherLb } = points[place] as SimulatedLine['points'][number]
      const typed = transpositions(weightLb, division)
      return [
        ...typed.map((lb) => ({ code: 'digits-transposed', weightLb: lb, psi, prior: 0.002 / 4 }) as const),
        { code: 'groups-swapped', weightLb: otherLb, psi, prior: 0.002 },
        { code: 'wrong-pressure-unit', weightLb, psi: psi / kPaPerPsi, prior: 0.001 },
        { code: 'wrong-pressure-unit', weightLb, psi: psi * 14.5037738, prior: 0.0005 },
      ]
    },
  }
}
