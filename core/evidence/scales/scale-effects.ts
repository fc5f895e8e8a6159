import { scaleGainUncertainty, toleranceOf } from '#core/evidence/calibrate.ts'
import { type ScaleEffect, unlearntScale } from '#core/evidence/estimates.ts'
import type { ScaleFacts } from '#core/evidence/history.ts'
import { type Glasses, type ScaleEquations, type ScaleWitness, absorbLine } from '#core/evidence/scales/absorb-lines.ts'
import { type ScalePosterior, type ScalePrior, judgeScales } from '#core/evidence/scales/hypotheses.ts'
import { type GroupLife, type Stretch, stretchOf } from '#core/evidence/scales/stretch.ts'
import { wanderCovariance } from '#core/line/track.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/**
 * A scale out of order weighs off by four of its tolerances, give or take: 0.8 % where the tolerance is 0.2 %; now and
 * then by 16, or by 64. A choice: wide enough for a platform that binds, a worn cell, or another unit of weight, and
 * the record soon overrules it.
 */
const beyondTolerances = [4, 16, 64]
/** One scale in twenty is out of order before anything is known, as sure as twenty scales would make it. A choice. */
const beyondPrior = { scales: 20, beyond: 1 }
/** A tolerance of nothing is none, relative: it keeps every prior finite. */
const smallestTolerancePercent = 0.01
/** The fleet's noise counts for a stretch as so many weighings of its own. */
const noisePriorWeighings = 10

const mostRounds = 20
/** Gains are found once none moves by more, relative: a twentieth of what a scale is ever known to. */
const smallestMove = 1e-5

/** How much likelier two gains of a scale must be than one, as a logarithm, before it counts as changed. */
const surelyChanged = 8
const mostSplits = 4

/** Beneath these a scale's evidence could be one bad truck's. */
const fewestWeighings = 12
const fewestGroups = 4
/** Beneath this share of what its certification says, what the weighings say of a scale is next to nothing. */
const leastEvidence = 0.05

function priorOf(scale: ScaleFacts | undefined, rules: HouseRules): ScalePrior {
  const tolerancePercent = Math.max(toleranceOf(scale, rules), smallestTolerancePercent)
  const beyond = beyondTolerances.map((times) => (times * tolerancePercent) / 100)
  return [scaleGainUncertainty(tolerancePercent), ...beyond]
}

/** To six digits: the covariances of many scales are kept as text. */
const rounded = (value: number): number => Number(value.toPrecision(6))

/** How much noisier each stretch is than declared: its own misses, shrunk to the fleet's. */
function noiseOf(heard: readonly { readonly squares: number; readonly count: number }[]): number[] {
  const all = heard.reduce(
    (sum, { squares, count }) => ({ squares: sum.squares + squares, count: sum.count + count }),
    {
      squares: 0,
      count: 0,
    },
  )
  const fleet = (all.squares + noisePriorWeighings) / (all.count + noisePriorWeighings)
  return heard.map(({ squares, count }) => (squares + noisePriorWeighings * fleet) / (count + noisePriorWeighings))
}

/** A scale while it stays the same, ms; -Infinity for the one that the record begins with. */
interface Spell {
  readonly scaleId: number
  readonly from: number
}

interface Fitted {
  readonly posterior: ScalePosterior
  readonly equations: ScaleEquations
  readonly witnesses: readonly (readonly ScaleWitness[])[]
}

/** The places of the spells that the weighings of each stretch fell in. Spells of one scale stand in order of time. */
function placesOf(stretches: readonly Stretch[], spells: readonly Spell[]): readonly (readonly number[])[] {
  const byScale = Map.groupBy(spells.entries(), ([, { scaleId }]) => scaleId)
  return stretches.map(({ weighings }) =>
    weighings.map(({ scaleId, at }) => byScale.get(scaleId)?.findLast(([, { from }]) => from <= at)?.[0] as number),
  )
}

/** Gains, noise of the stretches and the share of scales out of order, each from the others until none moves. */
function fitGains(
  stretches: readonly Stretch[],
  places: readonly (readonly number[])[],
  priors: readonly ScalePrior[],
): Fitted {
  const size = priors.length
  let noise = stretches.map(() => 1)
  let beyondShare = beyondPrior.beyond / beyondPrior.scales
  let gains: readonly number[] = priors.map(() => 0)
  const absorb = (witness?: Glasses['witness']) => {
    const equations = { size, information: new Float64Array(size * size), right: new Float64Array(size) }
    const heard = stretches.map((stretch, i) =>
      absorbLine(
        stretch,
        { places: places[i] as readonly number[], gains, noise: noise[i] as number, ...(witness && { witness }) },
        equations,
      ),
    )
    return { equations, heard }
  }
  for (let round = 1; ; round += 1) {
    const { equations, heard } = absorb()
    const posterior = judgeScales(equations, priors, beyondShare)
    const moved = posterior.gains.reduce((most, gain, i) => Math.max(most, Math.abs(gain - (gains[i] as number))), 0)
    gains = posterior.gains
    noise = noiseOf(heard)
    beyondShare =
      (beyondPrior.beyond + posterior.beyond.reduce((sum, each) => sum + each, 0)) / (beyondPrior.scales + size)
    if (moved > smallestMove && round < mostRounds) continue
    const witnesses = priors.map((): ScaleWitness[] => [])
    absorb((place, said) => witnesses[place]?.push(said))
    return { posterior, equations, witnesses }
  }
}

/**
 * The moment from which on a scale weighs otherwise than before, ms; undefined where nothing says so surely, or the
 * difference is less than its tolerance. By the likelihood of two gains against one, at every weighing.
 */
function changeOf(witnesses: readonly ScaleWitness[], tolerance: number): number | undefined {
  const said = witnesses.toSorted((one, other) => one.at - other.at)
  const information = [0]
  const sums = [0]
  for (const [i, { own, rest, variance }] of said.entries()) {
    information.push((information[i] as number) + (own * own) / variance)
    sums.push((sums[i] as number) + (own * rest) / variance)
  }
  const all = { information: information.at(-1) as number, sum: sums.at(-1) as number }
  let best = surelyChanged
  let change: number | undefined
  for (let i = fewestWeighings; i <= said.length - fewestWeighings; i += 1) {
    const before = information[i] as number
    const after = all.information - before
    if (!(before > 0 && after > 0)) continue
    const apart = (all.sum - (sums[i] as number)) / after - (sums[i] as number) / before
    // Half the fall of chi-squared: before and after apart, each with its own mean.
    const gained = (apart * apart * before * after) / (2 * all.information)
    if (gained <= best || Math.abs(apart) < tolerance) continue
    best = gained
    change = said[i]?.at
  }
  return change
}

/** The fit with a spell more for every change of a scale that it shows, until it shows none. */
function fitSpells(
  stretches: readonly Stretch[],
  scaleIds: readonly number[],
  priorOfScale: (id: number) => ScalePrior,
) {
  let spells: readonly Spell[] = scaleIds.map((scaleId) => ({ scaleId, from: Number.NEGATIVE_INFINITY }))
  for (let round = 1; ; round += 1) {
    const places = placesOf(stretches, spells)
    const priors = spells.map(({ scaleId }) => priorOfScale(scaleId))
    const fitted = fitGains(stretches, places, priors)
    const changes = spells.flatMap(({ scaleId }, place) => {
      const from = changeOf(fitted.witnesses[place] ?? [], Math.sqrt(3) * (priors[place] as ScalePrior)[0])
      return from === undefined ? [] : [{ scaleId, from }]
    })
    if (changes.length === 0 || round === mostSplits) return { ...fitted, spells, priors, places }
    spells = [...spells, ...changes].sort((one, other) => one.from - other.from)
  }
}

/**
 * Biases of scales, absolutely, by the mixed model
 *   ticket = line of its stretch (unknown, wandering) · (1 + gain of its scale) + noise,
 * each gain with its scale's certified tolerance as prior (a rectangular half-width t: standard deviation t/√3), now
 * and then out of order. Lines take what all scales have in common, so of that only the tolerances tell: it stays in
 * every uncertainty and in the covariance. A scale that changed has one gain before and another since. Every scale on
 * record is answered for; `known` says whether weighings tell of it.
 *
 * Robust: Huber's weights, noise learnt for each stretch, no comparison across work on record or a change of the line.
 * Units: gains and uncertainties relative (0.002 is 0.2 %). Bound: 20 rounds for each of 4 sets of changes, each linear
 * in the weighings and cubic in the scales.
 */
export function scaleEffects(
  lives: Iterable<GroupLife>,
  scales: ReadonlyMap<number, ScaleFacts>,
  rules: HouseRules,
): Map<number, ScaleEffect> {
  const stretches: Stretch[] = []
  const scaleIds = new Set(scales.keys())
  for (const each of lives) {
    const stretch = stretchOf(each, wanderCovariance(each.life.wander, 1).varEmpty)
    if (stretch.weighings.length < 2) continue
    stretches.push(stretch)
    for (const { scaleId } of stretch.weighings) scaleIds.add(scaleId)
  }
  const { spells, priors, places, posterior, equations } = fitSpells(stretches, [...scaleIds], (scaleId) =>
    priorOf(scales.get(scaleId), rules),
  )
  const counts = spells.map(() => ({ weighings: 0, groups: new Set<number>(), since: Number.POSITIVE_INFINITY }))
  for (const [i, { groupId, weighings }] of stretches.entries()) {
    for (const [j, { at }] of weighings.entries()) {
      const count = counts[places[i]?.[j] as number] as (typeof counts)[number]
      count.weighings += 1
      count.groups.add(groupId)
      count.since = Math.min(count.since, at)
    }
  }
  const size = spells.length
  const keys = spells.map(({ scaleId, from }) => (Number.isFinite(from) ? `${scaleId} ${from}` : `${scaleId}`))
  const effects = new Map<number, ScaleEffect>()
  for (const [place, { scaleId }] of spells.entries()) {
    const { weighings, groups, since } = counts[place] as (typeof counts)[number]
    const evidence = (equations.information[place * size + place] ?? 0) * (priors[place] as ScalePrior)[0] ** 2
    const told = evidence >= leastEvidence
    const covariance = keys.map((key, j): [string, number] => [
      key,
      rounded(posterior.covariance[place * size + j] ?? 0),
    ])
    effects.set(scaleId, {
      ...unlearntScale(scaleId, toleranceOf(scales.get(scaleId), rules)),
      ...(told && {
        key: keys[place] as string,
        gain: posterior.gains[place] ?? 0,
        u: Math.sqrt(posterior.covariance[place * size + place] ?? 0),
        covariance: Object.fromEntries(covariance),
      }),
      known: told && weighings >= fewestWeighings && groups.size >= fewestGroups,
      weighings,
      groups: groups.size,
      since: weighings > 0 ? since : null,
      before: effects.get(scaleId) ?? null,
    })
  }
  return effects
}
