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

/** A ticket weight against the line in use, in numbers alone: the line itself is let go. */
interface Weighing {
  /** Places of its scale and of its line. */
  readonly scale: number
  readonly life: number
  /** Relative to the weight. */
  readonly miss: number
  /** What it carries: 1/variance of the miss. */
  readonly weight: number
}

/** A scale while its weighings are gathered. */
interface SeenScale {
  readonly scaleId: number
  since: number
}

function collect(lives: Iterable<GroupLife>) {
  const scales: SeenScale[] = []
  const places = new Map<number, number>()
  const groupIds: number[] = []
  const weighings: Weighing[] = []
  const placeOf = (scaleId: number, at: number): number => {
    const place = places.get(scaleId) ?? scales.length
    const known = scales[place]
    if (known) known.since = Math.min(known.since, at)
    else {
      places.set(scaleId, place)
      scales.push({ scaleId, since: at })
    }
    return place
  }
  const add = (scaleId: number, at: number, weightLb: number, missLb: number, varianceLb2: number) => {
    if (!(weightLb > 0)) return
    weighings.push({
      scale: placeOf(scaleId, at),
      life: groupIds.length,
      miss: missLb / weightLb,
      weight: (weightLb * weightLb) / varianceLb2,
    })
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
  return { scales, groupIds, weighings }
}

/**
 * Weighted means of the misses by one of their places, less what the other place explains; a place without any keeps
 * its value.
 */
function averages(
  target: readonly number[],
  by: 'scale' | 'life',
  others: readonly number[],
  weighings: readonly Weighing[],
): number[] {
  const other = by === 'scale' ? 'life' : 'scale'
  const sums = target.map((value) => ({ value, sum: 0, total: 0 }))
  for (const weighing of weighings) {
    const own = sums[weighing[by]]
    if (!own) continue
    const rest = weighing.miss - (others[weighing[other]] ?? 0)
    const trusted = weighing.weight * trust((rest - own.value) * Math.sqrt(weighing.weight))
    own.sum += trusted * rest
    own.total += trusted
  }
  return sums.map(({ value, sum, total }) => (total > 0 ? sum / total : value))
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
  const { scales, groupIds, weighings } = collect(lives)
  const effects = new Map<number, ScaleEffect>()
  if (scales.length < 3) return effects
  let gains = scales.map(() => 0)
  let errors = groupIds.map(() => 0)
  for (let round = 0; round < rounds; round += 1) {
    errors = averages(errors, 'life', gains, weighings)
    const raw = averages(gains, 'scale', errors, weighings)
    const centre = median(raw)
    gains = raw.map((gain) => gain - centre)
  }

  const ofLife = groupIds.map((groupId) => ({ groupId, total: 0, byScale: new Map<number, number>() }))
  const counts = scales.map(({ scaleId, since }, place) => ({
    scaleId,
    since,
    gain: gains[place] ?? 0,
    weighings: 0,
    groups: new Set<number>(),
    information: 0,
  }))
  for (const { scale, life, weight } of weighings) {
    const tally = ofLife[life]
    const count = counts[scale]
    if (!tally || !count) continue
    tally.total += weight
    tally.byScale.set(scale, (tally.byScale.get(scale) ?? 0) + weight)
    count.weighings += 1
    count.groups.add(tally.groupId)
  }
  for (const { total, byScale } of ofLife) {
    for (const [scale, own] of byScale) {
      const count = counts[scale]
      if (count) count.information += (own * (total - own)) / total
    }
  }
  for (const { scaleId, since, gain, weighings: own, groups, information } of counts) {
    if (own < fewestWeighings || groups.size < fewestGroups || information <= 0) continue
    effects.set(scaleId, { scaleId, gain, u: 1 / Math.sqrt(information), weighings: own, groups: groups.size, since })
  }
  return effects.size < 3 ? new Map() : effects
}
