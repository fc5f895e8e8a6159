import type { ScaleEffect } from '#core/evidence/estimates.ts'
import type { LineLife } from '#core/evidence/line-life.ts'
import { predictWeight } from '#core/line/predict.ts'
import { median } from '#core/line/statistics.ts'

/** A line with what tested it, and the group whose it is. */
export interface GroupLife {
  readonly groupId: number
  readonly life: LineLife
}

const rounds = 40
const huberLimit = 2
const fewestWeighings = 12
const fewestGroups = 4

/** Huber's weight of a standardised residual: full within the limit, falling off beyond. */
const trust = (z: number): number => (Math.abs(z) <= huberLimit ? 1 : huberLimit / Math.abs(z))

/**
 * Every ticket weight against the line in use, as columns: the places of its scale and of its line, its relative miss,
 * and the weight it carries (1/variance). The lines themselves are let go, since those of a large fleet fill the
 * memory.
 */
function collect(lives: Iterable<GroupLife>) {
  const scaleIds: number[] = []
  const places = new Map<number, number>()
  const since: number[] = []
  const groupIds: number[] = []
  const scale: number[] = []
  const life: number[] = []
  const miss: number[] = []
  const weight: number[] = []
  const add = (scaleId: number, at: number, weightLb: number, missLb: number, varianceLb2: number) => {
    if (!(weightLb > 0)) return
    let place = places.get(scaleId)
    if (place === undefined) {
      place = scaleIds.length
      places.set(scaleId, place)
      scaleIds.push(scaleId)
      since.push(at)
    }
    since[place] = Math.min(since[place] as number, at)
    scale.push(place)
    life.push(groupIds.length)
    miss.push(missLb / weightLb)
    weight.push((weightLb * weightLb) / varianceLb2)
  }
  for (const {
    groupId,
    life: { line, checks },
  } of lives) {
    if (checks.length === 0) continue
    for (const { x, y, ux, uy, observation, scaleId } of line.points) {
      add(scaleId, observation.takenAt, y, y - line.fit.a - line.fit.b * x, uy * uy + (line.fit.b * ux) ** 2)
    }
    for (const { observation, psi, at, varLb2 } of checks) {
      const { weightLb, scaleId } = observation
      add(scaleId, at, weightLb, weightLb - predictWeight(line.line, psi).value, varLb2)
    }
    groupIds.push(groupId)
  }
  return { scaleIds, since, groupIds, scale, life, miss, weight }
}

/**
 * Weighted means of the misses by one of their places, less what the other place explains; a place without any keeps
 * its value.
 */
function averages(
  target: Float64Array,
  places: readonly number[],
  others: Float64Array,
  otherPlaces: readonly number[],
  { miss, weight }: ReturnType<typeof collect>,
): void {
  const sum = new Float64Array(target.length)
  const total = new Float64Array(target.length)
  for (let i = 0; i < miss.length; i += 1) {
    const place = places[i] as number
    const rest = (miss[i] as number) - (others[otherPlaces[i] as number] as number)
    const trusted = (weight[i] as number) * trust((rest - (target[place] as number)) * Math.sqrt(weight[i] as number))
    sum[place] = (sum[place] as number) + trusted * rest
    total[place] = (total[place] as number) + trusted
  }
  for (let place = 0; place < target.length; place += 1) {
    if ((total[place] as number) > 0) target[place] = (sum[place] as number) / (total[place] as number)
  }
}

/**
 * Biases of scales and errors of lines, estimated together from every ticket weighed with a reading:
 *   relative miss = gain of the scale + error of the line + noise,
 * by alternating Huber-weighted means, so that a bad truck does not condemn a scale, nor a bad scale trucks. Gains are
 * relative to the fleet: their median over the scales is zero, so with fewer than three scales nothing can be told and
 * the answer is empty. A line never tested, and a scale with few weighings or groups, tells nothing either.
 *
 * Units: gains and uncertainties relative (0.002 is 0.2 %). Bound: 40 rounds over the weighings.
 * Uncertainty: from the information left after the lines' errors are estimated from the same weighings.
 * Source of the robust weights: P. J. Huber, Ann. Math. Statist. 35 (1964) 73.
 */
export function scaleEffects(lives: Iterable<GroupLife>): Map<number, ScaleEffect> {
  const weighings = collect(lives)
  const { scaleIds, since, groupIds, scale, life, weight } = weighings
  const effects = new Map<number, ScaleEffect>()
  if (scaleIds.length < 3) return effects
  const gains = new Float64Array(scaleIds.length)
  const errors = new Float64Array(groupIds.length)
  for (let round = 0; round < rounds; round += 1) {
    averages(errors, life, gains, scale, weighings)
    averages(gains, scale, errors, life, weighings)
    const centre = median([...gains])
    for (let place = 0; place < gains.length; place += 1) gains[place] = (gains[place] as number) - centre
  }

  const ofLife = new Map<number, { total: number; byScale: Map<number, number> }>()
  const counts = scaleIds.map(() => ({ weighings: 0, groups: new Set<number>(), information: 0 }))
  for (let i = 0; i < weight.length; i += 1) {
    const [at, line, own] = [scale[i] as number, life[i] as number, weight[i] as number]
    const tally = ofLife.get(line) ?? { total: 0, byScale: new Map<number, number>() }
    tally.total += own
    tally.byScale.set(at, (tally.byScale.get(at) ?? 0) + own)
    ofLife.set(line, tally)
    const count = counts[at] as (typeof counts)[number]
    count.weighings += 1
    count.groups.add(groupIds[line] as number)
  }
  for (const { total: all, byScale } of ofLife.values()) {
    for (const [place, own] of byScale)
      (counts[place] as (typeof counts)[number]).information += (own * (all - own)) / all
  }
  scaleIds.forEach((scaleId, place) => {
    const count = counts[place] as (typeof counts)[number]
    if (count.weighings < fewestWeighings || count.groups.size < fewestGroups || count.information <= 0) return
    effects.set(scaleId, {
      scaleId,
      gain: gains[place] as number,
      u: 1 / Math.sqrt(count.information),
      weighings: count.weighings,
      groups: count.groups.size,
      since: since[place] as number,
    })
  })
  return effects.size < 3 ? new Map() : effects
}
