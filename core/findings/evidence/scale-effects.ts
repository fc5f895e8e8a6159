import type { ScaleEffect } from '#core/findings/evidence/estimates.ts'
import type { LineLife } from '#core/findings/evidence/line-life.ts'
import { median } from '#core/findings/evidence/robust.ts'
import { predictWeight } from '#core/line/predict.ts'

/** One ticket weight against the line in use: its relative miss, and the weight it carries (1/variance). */
interface Weighing {
  readonly scale: number
  readonly life: number
  readonly miss: number
  readonly weight: number
}

const rounds = 40
const huberLimit = 2
const mostLives = 4000
const fewestWeighings = 12
const fewestGroups = 4

/** Huber's weight of a standardised residual: full within the limit, falling off beyond. */
const trust = (z: number): number => (Math.abs(z) <= huberLimit ? 1 : huberLimit / Math.abs(z))

function collect(lives: readonly LineLife[]) {
  const scaleIds: number[] = []
  const places = new Map<number, number>()
  const since: number[] = []
  const weighings: Weighing[] = []
  const add = (life: number, scaleId: number, at: number, weightLb: number, missLb: number, varianceLb2: number) => {
    if (!(weightLb > 0)) return
    let scale = places.get(scaleId)
    if (scale === undefined) {
      scale = scaleIds.length
      places.set(scaleId, scale)
      scaleIds.push(scaleId)
      since.push(at)
    }
    since[scale] = Math.min(since[scale] as number, at)
    weighings.push({ scale, life, miss: missLb / weightLb, weight: (weightLb * weightLb) / varianceLb2 })
  }
  const step = Math.max(1, Math.ceil(lives.length / mostLives))
  for (let place = 0; place < lives.length; place += step) {
    const { line, checks } = lives[place] as LineLife
    if (checks.length === 0) continue
    for (const { x, y, ux, uy, observation } of line.points) {
      add(place, observation.scaleId as number, observation.takenAt, y, y - line.fit.a - line.fit.b * x, uy * uy + (line.fit.b * ux) ** 2)
    }
    for (const { observation, psi, at, varLb2 } of checks) {
      const weightLb = observation.weightLb as number
      const read = predictWeight(line.line, psi)
      add(place, observation.scaleId as number, at, weightLb, weightLb - read.value, varLb2)
    }
  }
  return { scaleIds, since, weighings }
}

/**
 * Biases of scales and errors of lines, estimated together from every ticket weighed with a reading:
 *   relative miss = gain of the scale + error of the line + noise,
 * by alternating Huber-weighted means, so that a bad truck does not condemn a scale, nor a bad scale trucks. Gains are
 * relative to the fleet: their median over the scales is zero, so with fewer than three scales nothing can be told and
 * the answer is empty. A line never tested, and a scale with few weighings or groups, tells nothing either.
 *
 * Units: gains and uncertainties relative (0.002 is 0.2 %). Bound: 40 rounds over at most 4,000 lines, evenly chosen.
 * Uncertainty: from the information left after the lines' errors are estimated from the same weighings.
 * Source of the robust weights: P. J. Huber, Ann. Math. Statist. 35 (1964) 73.
 */
export function scaleEffects(lives: readonly LineLife[], groupOf: (life: LineLife) => number): Map<number, ScaleEffect> {
  const { scaleIds, since, weighings } = collect(lives)
  const effects = new Map<number, ScaleEffect>()
  if (scaleIds.length < 3) return effects
  const gains = new Float64Array(scaleIds.length)
  const errors = new Float64Array(lives.length)
  const sum = new Float64Array(Math.max(scaleIds.length, lives.length))
  const total = new Float64Array(sum.length)
  const average = (target: Float64Array, placeOf: (w: Weighing) => number, rest: (w: Weighing) => number) => {
    sum.fill(0)
    total.fill(0)
    for (const weighing of weighings) {
      const place = placeOf(weighing)
      const z = (weighing.miss - (gains[weighing.scale] as number) - (errors[weighing.life] as number)) * Math.sqrt(weighing.weight)
      const weight = weighing.weight * trust(z)
      sum[place] = (sum[place] as number) + weight * rest(weighing)
      total[place] = (total[place] as number) + weight
    }
    for (let place = 0; place < target.length; place += 1) {
      if ((total[place] as number) > 0) target[place] = (sum[place] as number) / (total[place] as number)
    }
  }
  for (let round = 0; round < rounds; round += 1) {
    average(errors, ({ life }) => life, ({ miss, scale }) => miss - (gains[scale] as number))
    average(gains, ({ scale }) => scale, ({ miss, life }) => miss - (errors[life] as number))
    const centre = median([...gains])
    for (let scale = 0; scale < gains.length; scale += 1) gains[scale] = (gains[scale] as number) - centre
  }

  const ofLife = new Map<number, { total: number; byScale: Map<number, number> }>()
  const counts = scaleIds.map(() => ({ weighings: 0, groups: new Set<number>(), information: 0 }))
  for (const { scale, life, weight } of weighings) {
    const tally = ofLife.get(life) ?? { total: 0, byScale: new Map<number, number>() }
    tally.total += weight
    tally.byScale.set(scale, (tally.byScale.get(scale) ?? 0) + weight)
    ofLife.set(life, tally)
    const count = counts[scale] as (typeof counts)[number]
    count.weighings += 1
    count.groups.add(groupOf(lives[life] as LineLife))
  }
  for (const { total: all, byScale } of ofLife.values()) {
    for (const [scale, own] of byScale) (counts[scale] as (typeof counts)[number]).information += (own * (all - own)) / all
  }
  scaleIds.forEach((scaleId, scale) => {
    const count = counts[scale] as (typeof counts)[number]
    if (count.weighings < fewestWeighings || count.groups.size < fewestGroups || count.information <= 0) return
    effects.set(scaleId, {
      scaleId, gain: gains[scale] as number, u: 1 / Math.sqrt(count.information), weighings: count.weighings, groups: count.groups.size,
      since: since[scale] as number,
    })
  })
  return effects.size < 3 ? new Map() : effects
}
