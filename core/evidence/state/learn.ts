import { type Columns, columnsOf, underNoise } from '#core/evidence/state/columns.ts'
import type { LineState } from '#core/evidence/state/line-state.ts'
import { filterPass, plainCourse, roughPass } from '#core/evidence/state/passes.ts'
import type { ChangePriors, LifeSeries, LineNoise } from '#core/evidence/state/series.ts'
import { highestAt } from '#core/line/highest.ts'
import { shrinkEffects } from '#core/line/shrink.ts'

/** What the stories of one life teach about how often things go wrong: expected counts, in numbers alone. */
export interface LifeLesson {
  readonly years: number
  readonly offsets: number
  readonly slopes: number
  readonly drifts: number
  readonly weighings: number
  readonly wild: number
  readonly slips: number
}

/** The lesson of one life. */
export function lifeLesson({ columns, stories }: LineState): LifeLesson {
  const counts = { offset: 0, slope: 0, drift: 0 }
  let wild = 0
  let slips = 0
  for (const { changes, probability, sites } of stories) {
    for (const { kind } of changes) counts[kind] += probability
    for (let i = 0; i < columns.size; i += 1) {
      wild += probability * (sites.wild[i] as number)
      slips += probability * (sites.slip[i] as number)
    }
  }
  const { months, size } = columns
  return {
    years: ((months[size - 1] as number) - (months[0] as number)) / 12,
    offsets: counts.offset,
    slopes: counts.slope,
    drifts: counts.drift,
    weighings: size,
    wild,
    slips,
  }
}

/** How many group-years and weighings the House Rules' rates are worth against the fleet's record; a choice. */
const priorYears = 20
const priorWeighings = 500

/**
 * The rates that follow from the lives of a fleet: each the mean of a gamma or beta law that the House Rules start and
 * the expected counts carry on, rate = (rate₀ · years₀ + Σ probability) / (years₀ + years). Sizes stay the House
 * Rules'.
 *
 * Empirical Bayes by one step of expectation and maximization; two or three rounds over lives judged anew settle.
 * Source: A. P. Dempster, N. M. Laird, D. B. Rubin, J. R. Statist. Soc. B 39 (1977) 1 (from memory).
 */
export function learnPriors(lessons: Iterable<LifeLesson>, rules: ChangePriors): ChangePriors {
  const sum = { years: 0, offsets: 0, slopes: 0, drifts: 0, weighings: 0, wild: 0 }
  for (const lesson of lessons) {
    for (const key of Object.keys(sum) as (keyof typeof sum)[]) sum[key] += lesson[key]
  }
  const rate = (before: number, seen: number) => (before * priorYears + seen) / (priorYears + sum.years)
  return {
    ...rules,
    offsetsPerYear: rate(rules.offsetsPerYear, sum.offsets),
    slopesPerYear: rate(rules.slopesPerYear, sum.slopes),
    driftsPerYear: rate(rules.driftsPerYear, sum.drifts),
    wildShare: (rules.wildShare * priorWeighings + sum.wild) / (priorWeighings + sum.weighings),
  }
}

/** A life that teaches noise, with its kind of suspension where it is known (see `familyKey`). */
export interface NoiseTeacher {
  readonly series: LifeSeries
  readonly kind: string | undefined
}

/** Noise of the fleet, and by kind of suspension where the fleet carries it. */
export interface FleetLineNoise {
  readonly fleet: LineNoise
  readonly kinds: ReadonlyMap<string, LineNoise>
  /**
   * Standard uncertainties of the fleet's leveling (psi) and wander (psi per root month); null while the House Rules
   * stand in.
   */
  readonly u: { readonly levelingPsi: number; readonly wanderPsi: number } | null
  /** Weighings it rests on; 0 while the House Rules stand in. */
  readonly weighings: number
}

const fewestLives = 12
const fewestWeighings = 150
const fewestOfKind = 12
const rounds = 3
const sections = 0.02
const levelingBounds = [Math.log(0.05), Math.log(5)] as const
const wanderBounds = [Math.log(0.005), Math.log(1)] as const
/** ln of the odds of a tail settling: from one in 500 to one in five. */
const tailBounds = [Math.log(1 / 500), Math.log(1 / 4)] as const
/** The House Rules' share counts as so many weighings against the fleet's. */
const tailWeighings = 100

/** ln of the likelihood of lives under a noise: each weighing given those before it, while nothing is wrong. */
function logLikelihood(lives: readonly Columns[], noise: LineNoise): number {
  let sum = 0
  for (const life of lives) {
    const columns = underNoise(life, noise)
    const { size } = columns
    const { pass, sites } = roughPass(size)
    const { logDensity } = filterPass(columns, plainCourse, columns.prior, false, sites, false, pass)
    for (let i = 0; i < size; i += 1) sum += logDensity[i] as number
  }
  return sum
}

/** Standard uncertainty of a figure from how fast the log-likelihood falls on either side of its best. */
function uOf(f: (x: number) => number, at: number): number {
  const step = 0.2
  const bend = f(at + step) - 2 * f(at) + f(at - step)
  return bend < 0 ? step / Math.sqrt(-bend) : 10
}

/**
 * Leveling, wander and the share of tail settlings by maximum likelihood over lives that show noise alone, then
 * leveling and wander by kind of suspension, shrunk to the fleet's by how much kinds truly differ. Until 12 lives with
 * 150 weighings are there, the House Rules' figures stand in.
 *
 * look: a first one, to tell by which lives are healthy, takes one round and tells no kinds apart. Bound: three rounds
 * of one-dimensional searches; give some 400 lives at most.
 * Source: prediction error decomposition, F. C. Schweppe, IEEE Trans. IT-11 (1965) 61 (from memory).
 */
export function learnLineNoise(
  teachers: readonly NoiseTeacher[],
  rules: LineNoise,
  priors: ChangePriors,
  look: 'first' | 'close' = 'close',
): FleetLineNoise {
  const weighings = teachers.reduce((sum, { series }) => sum + series.points.length, 0)
  if (teachers.length < fewestLives || weighings < fewestWeighings)
    return { fleet: rules, kinds: new Map(), u: null, weighings: 0 }
  const lives = teachers.map(({ series }) => columnsOf(series, rules, priors))
  let fleet = rules
  const tailShareOf = (logOdds: number) => Math.exp(logOdds) / (1 + Math.exp(logOdds))
  const tailPrior = (share: number) =>
    tailWeighings * (rules.tailShare * Math.log(share) + (1 - rules.tailShare) * Math.log1p(-share))
  const likely = (noise: LineNoise) => logLikelihood(lives, noise)
  const ofLeveling = (x: number): LineNoise => ({ ...fleet, levelingPsi: Math.exp(x) })
  const ofWander = (x: number): LineNoise => ({ ...fleet, wanderPsi: Math.exp(x) })
  for (let round = 0; round < (look === 'first' ? 1 : rounds); round += 1) {
    fleet = ofLeveling(highestAt((x) => likely(ofLeveling(x)), ...levelingBounds, sections))
    const tail = highestAt(
      (x) => likely({ ...fleet, tailShare: tailShareOf(x) }) + tailPrior(tailShareOf(x)),
      ...tailBounds,
      sections * 3,
    )
    fleet = { ...fleet, tailShare: tailShareOf(tail) }
    fleet = ofWander(highestAt((x) => likely(ofWander(x)), ...wanderBounds, sections))
  }
  if (look === 'first') return { fleet, kinds: new Map(), u: null, weighings }
  const u = {
    levelingPsi: fleet.levelingPsi * uOf((x) => likely(ofLeveling(x)), Math.log(fleet.levelingPsi)),
    wanderPsi: fleet.wanderPsi * uOf((x) => likely(ofWander(x)), Math.log(fleet.wanderPsi)),
  }
  return { fleet, kinds: byKind(teachers, lives, fleet), u, weighings }
}

/** Leveling and wander of each kind of suspension; lives run beside the teachers. */
function byKind(
  teachers: readonly NoiseTeacher[],
  lives: readonly Columns[],
  fleet: LineNoise,
): Map<string, LineNoise> {
  const kinds = new Map<string, Columns[]>()
  for (const [i, { kind }] of teachers.entries()) {
    if (kind === undefined) continue
    const life = lives[i] as Columns
    const known = kinds.get(kind)
    if (known) known.push(life)
    else kinds.set(kind, [life])
  }
  const large = [...kinds].filter(([, own]) => own.length >= fewestOfKind)
  const found = new Map<string, LineNoise>()
  if (large.length < 2) return found
  const figure = (of: (x: number) => LineNoise, bounds: readonly [number, number]): readonly number[] => {
    const best: number[] = []
    const u: number[] = []
    for (const [, own] of large) {
      const f = (x: number) => logLikelihood(own, of(x))
      const x = highestAt(f, ...bounds, sections)
      best.push(x)
      u.push(uOf(f, x))
    }
    return shrinkEffects(best, u).effects
  }
  const leveling = figure((x) => ({ ...fleet, levelingPsi: Math.exp(x) }), levelingBounds)
  const wander = figure((x) => ({ ...fleet, wanderPsi: Math.exp(x) }), wanderBounds)
  large.forEach(([kind], i) => {
    found.set(kind, {
      ...fleet,
      levelingPsi: fleet.levelingPsi * Math.exp(leveling[i] as number),
      wanderPsi: fleet.wanderPsi * Math.exp(wander[i] as number),
    })
  })
  return found
}
