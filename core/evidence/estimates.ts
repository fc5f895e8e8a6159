import { scaleGainUncertainty } from '#core/evidence/calibrate.ts'
import type { GroupFacts } from '#core/evidence/history.ts'
import { changePriorsOf, lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import type { ChangePriors, LineNoise } from '#core/evidence/state/series.ts'
import { type TemperaturePopulation, temperaturePopulation } from '#core/evidence/state/temperature.ts'
import type { Line } from '#core/line/fit.ts'
import { median, robustSpread } from '#core/line/statistics.ts'
import type { HouseRules } from '#core/words/house-rules.ts'

/** A figure that the fleet's own history gives, or the House Rules while it is too short. */
export interface FleetFigure {
  readonly value: number
  /** Standard uncertainty; null where the House Rules stand in. */
  readonly u: number | null
  /** How many weighings it rests on. */
  readonly checks: number
}

/**
 * Bias of a scale as a relative gain (0.002 reads 0.2 % heavy), absolutely, while it stayed the same: it begins anew
 * where the weighings show that the scale changed.
 */
export interface ScaleEffect {
  readonly scaleId: number
  /** What `covariance` calls it. */
  readonly key: string
  readonly gain: number
  readonly u: number
  /** With every effect of every scale of the fleet, itself among them, by their keys. */
  readonly covariance: Readonly<Record<string, number>>
  /** Whether weighings tell of it; otherwise its certification alone speaks. */
  readonly known: boolean
  readonly weighings: number
  readonly groups: number
  /** When the first weighing was made that it rests on, ms; null where there is none. */
  readonly since: number | null
  /** What it was before it changed; null where no change is seen. */
  readonly before: ScaleEffect | null
}

/** Slope and intercept of the lines of one kind of hardware: median and robust standard deviation. */
export interface FamilyFigures {
  readonly lines: number
  readonly slope: { readonly median: number; readonly spread: number }
  readonly intercept: { readonly median: number; readonly spread: number }
}

/** What is learnt from all groups together and then used to judge each. */
export interface FleetEstimates {
  /** Leveling repeatability, psi. */
  readonly leveling: FleetFigure
  /** Wander of a line, psi per root month. */
  readonly wander: FleetFigure
  readonly scales: ReadonlyMap<number, ScaleEffect>
  readonly families: ReadonlyMap<string, FamilyFigures>
  /** How healthy lines behave, of the fleet and by kind of suspension (`familyKey`). */
  readonly noise: { readonly fleet: LineNoise; readonly kinds: ReadonlyMap<string, LineNoise> }
  /** How often lines change, and how far. */
  readonly priors: ChangePriors
  readonly temperature: TemperaturePopulation
}

/** A scale that nothing was learnt of, known within its tolerance in percent. */
export function unlearntScale(scaleId: number, tolerancePercent: number): ScaleEffect {
  const key = String(scaleId)
  const u = scaleGainUncertainty(tolerancePercent)
  return {
    scaleId,
    key,
    gain: 0,
    u,
    covariance: { [key]: u * u },
    known: false,
    weighings: 0,
    groups: 0,
    since: null,
    before: null,
  }
}

/** The effect that a scale had at a moment, ms; undefined where nothing was learnt of it. */
export function scaleAt({ scales }: Pick<FleetEstimates, 'scales'>, scaleId: number, at: number) {
  let effect = scales.get(scaleId)
  while (effect?.before && effect.since !== null && at < effect.since) effect = effect.before
  return effect
}

/** Covariance of two scales' biases, relative. */
export const covarianceOf = (one: ScaleEffect, other: ScaleEffect): number => one.covariance[other.key] ?? 0

/** The estimates of a fleet that has no history yet. */
export function estimatesFromRules(rules: HouseRules): FleetEstimates {
  return {
    leveling: { value: rules.levelingPsi, u: null, checks: 0 },
    wander: { value: rules.wanderPsi, u: null, checks: 0 },
    scales: new Map(),
    families: new Map(),
    noise: { fleet: lineNoiseOf(rules), kinds: new Map() },
    priors: changePriorsOf(rules),
    temperature: temperaturePopulation([]),
  }
}

const smallestFamily = 8

/**
 * The kind of hardware that a group's slope follows from: role, axles, air springs of each circuit and their area.
 * Undefined when springs or area are not on record.
 */
export function familyKey({ role, axles, circuits }: GroupFacts): string | undefined {
  if (
    circuits.length === 0 ||
    circuits.some(({ airSprings, springAreaIn2 }) => airSprings === null || springAreaIn2 === null)
  )
    return undefined
  const springs = circuits.map(({ airSprings, springAreaIn2 }) => `${airSprings}x${springAreaIn2}`).sort()
  return [role, axles, ...springs].join(' ')
}

/**
 * Median slope and intercept of every family large enough to have any; robust, so that an odd line does not shape it.
 */
export function familyFigures(
  lines: readonly { readonly group: GroupFacts; readonly line: Line }[],
): Map<string, FamilyFigures> {
  const members = new Map<string, Line[]>()
  for (const { group, line } of lines) {
    const key = familyKey(group)
    if (key === undefined) continue
    const family = members.get(key)
    if (family) family.push(line)
    else members.set(key, [line])
  }
  const figures = new Map<string, FamilyFigures>()
  for (const [key, family] of members) {
    if (family.length < smallestFamily) continue
    const slopes = family.map(({ b }) => b)
    const intercepts = family.map(({ a }) => a)
    figures.set(key, {
      lines: family.length,
      slope: { median: median(slopes), spread: robustSpread(slopes) },
      intercept: { median: median(intercepts), spread: robustSpread(intercepts) },
    })
  }
  return figures
}
