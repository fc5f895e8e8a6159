import { type Columns, columnsOf } from '#core/evidence/state/columns.ts'
import {
  type Course,
  type Pass,
  filterPass,
  passFor,
  plainCourse,
  resettle,
  smoothPass,
} from '#core/evidence/state/passes.ts'
import {
  type Change,
  type JumpSizes,
  courseOf,
  jumpSizes,
  logPriorOf,
  placeChanges,
} from '#core/evidence/state/place-changes.ts'
import { type ChangePriors, type LifeSeries, type LineNoise, changeKinds } from '#core/evidence/state/series.ts'
import { type Sites, sitesFor, stride } from '#core/evidence/state/sites.ts'

/** One story of a life, followed through all its weighings. */
export interface Story {
  readonly changes: readonly Change[]
  /** ln of its probability together with the weighings, up to what all stories share. */
  readonly logWeight: number
  /** Its probability among the stories kept. */
  readonly probability: number
  readonly course: Course
  readonly sites: Sites
  readonly pass: Pass
  readonly smoothed: Float64Array
}

/** The state of a line through time: a few stories with their probabilities. */
export interface LineState {
  readonly columns: Columns
  readonly sizes: JumpSizes
  /** Most probable first. */
  readonly stories: readonly Story[]
  /** What each weighing was expected to show by those before it while nothing is wrong. */
  readonly plain: Pass
  /** For every gap, the probability that the newest change of the life lies in it; all of them and none add up to 1. */
  readonly changeInGap: Float64Array
}

/** Stories kept, and how improbable one may be against the best to be worth following. */
const mostStories = 8
const proposedAtOnce = 7
const leastShare = 1e-3
const behind = 7
/** Below these odds of any change a life is healthy and no more is asked. */
const quietOdds = 0.05
const mostChanges = 3

const same = (a: readonly Change[], b: readonly Change[]): boolean =>
  a.length === b.length && a.every((one) => b.some((other) => one.kind === other.kind && one.gap === other.gap))

/** A story followed once, every weighing read by what came before it. */
interface FirstLook {
  readonly course: Course
  readonly sites: Sites
  readonly pass: Pass
}

function firstLook(columns: Columns, course: Course): FirstLook {
  const sites = sitesFor(columns.size)
  return { course, sites, pass: filterPass(columns, course, columns.prior, false, sites, false, passFor(columns.size)) }
}

/** Follows one story: every weighing read as its mixture, first by what came before it, then by all others. */
function follow(
  columns: Columns,
  changes: readonly Change[],
  { course, sites, pass: first }: FirstLook,
): Omit<Story, 'probability'> {
  const { size } = columns
  const smoothed = smoothPass(columns, course, first, new Float64Array(stride * size))
  resettle(columns, course, smoothed, sites)
  const pass = filterPass(columns, course, columns.prior, false, sites, true, passFor(size))
  smoothPass(columns, course, pass, smoothed)
  let logWeight = 0
  for (let i = 0; i < size; i += 1) logWeight += pass.logDensity[i] as number
  for (const change of changes) logWeight += logPriorOf(columns, change)
  return { changes, logWeight, course, sites, pass, smoothed }
}

interface Proposal {
  readonly changes: readonly Change[]
  readonly logOdds: number
}

/** Runs of misses in standard deviations: the slack, the most that one adds, and the sum from which on one tells. */
const runSlack = 0.5
const runCap = 5
const runTells = 8

/**
 * The gap at which the greatest run of misses to one side begins; 0 where there is none. Placing looks back from the
 * end of a life, and takes a shift that went away again for a row of tail settlings: the run tells of it.
 */
function runBegins({ weight, varOrdinary, size }: Columns, { mean, variance }: Pass): number {
  let greatest = runTells
  let begins = 0
  for (const side of [1, -1]) {
    let sum = 0
    let from = 0
    for (let i = 1; i < size; i += 1) {
      const miss = (weight[i] as number) - (mean[i] as number)
      const z = (side * miss) / Math.sqrt((variance[i] as number) + (varOrdinary[i] as number))
      sum = Math.max(0, sum + Math.min(z, runCap) - runSlack)
      if (sum === 0) from = i + 1
      if (sum > greatest) {
        greatest = sum
        begins = from
      }
    }
  }
  return begins
}

/** The placements worth following, best first, and a step where the greatest run of misses begins. */
function proposals(base: readonly Change[], logOdds: Float64Array, most: number, runAt: number): Proposal[] {
  let best = Number.NEGATIVE_INFINITY
  for (const value of logOdds) if (value > best) best = value
  const found: Proposal[] = []
  for (let k = 0; k < logOdds.length; k += 1) {
    const value = logOdds[k] as number
    if (!(value > best - behind)) continue
    const change: Change = { kind: changeKinds[k % 3] as Change['kind'], gap: Math.floor(k / 3) }
    found.push({ changes: [...base, change], logOdds: value })
  }
  const kept = found.sort((a, b) => b.logOdds - a.logOdds).slice(0, most)
  const ofRun = logOdds[3 * runAt] ?? Number.NEGATIVE_INFINITY
  return runAt > 0 && ofRun > Number.NEGATIVE_INFINITY
    ? [...kept, { changes: [...base, { kind: 'offset', gap: runAt }], logOdds: ofRun }]
    : kept
}

function oddsOfAny(logOdds: Float64Array): number {
  let sum = 0
  for (const value of logOdds) sum += Math.exp(value)
  return sum
}

/**
 * The state of a line from all weighings of one physical life: the stories 'nothing but wander', and changes (offset,
 * slope, drift) placed in any gap, their probabilities by Bayes' rule from `priors` and the likelihood of the
 * weighings; further changes are looked for behind the best story of steps alone, up to three. Every weighing may
 * moreover be a tail one, wild, or a slip.
 *
 * Units lb, psi, ms. Cost: linear in the weighings, times at most some twenty stories followed. Errors: RangeError as
 * `columnsOf`.
 * Source: Kalman filter and smoother as in Durbin & Koopman; a mixture of such filters by change points, pruned, after
 * the multi-process models of Harrison & Stevens (from memory).
 */
export const lineState = (series: LifeSeries, noise: LineNoise, priors: ChangePriors): LineState =>
  stateOf(columnsOf(series, noise, priors))

/** The same of a life whose columns are made. */
export function stateOf(columns: Columns): LineState {
  const { size } = columns
  const sizes = jumpSizes(columns)
  const look = firstLook(columns, plainCourse)
  const plain = look.pass
  const followed = [follow(columns, [], look)]
  const { logOdds } = placeChanges(columns, sizes, plainCourse, plain)
  const changeInGap = new Float64Array(size)
  if (oddsOfAny(logOdds) > quietOdds) {
    const add = (candidates: readonly Proposal[]) => {
      for (const { changes } of candidates) {
        if (followed.some((story) => same(story.changes, changes))) continue
        followed.push(follow(columns, changes, firstLook(columns, courseOf(columns, sizes, changes))))
      }
    }
    add(proposals([], logOdds, proposedAtOnce, runBegins(columns, plain)))
    for (let more = 1; more < mostChanges; more += 1) {
      const best = followed
        .filter(({ changes }) => changes.length === more && changes.every(({ kind }) => kind !== 'drift'))
        .reduce<(typeof followed)[number] | undefined>((a, b) => (a && a.logWeight >= b.logWeight ? a : b), undefined)
      if (best === undefined) break
      const { pass } = firstLook(columns, best.course)
      const next = placeChanges(columns, sizes, best.course, pass)
      const runAt = runBegins(columns, pass)
      if (oddsOfAny(next.logOdds) < quietOdds && runAt === 0) break
      add(proposals(best.changes, next.logOdds, proposedAtOnce - 3, runAt))
    }
  }
  const top = Math.max(...followed.map(({ logWeight }) => logWeight))
  const kept = followed
    .filter(({ logWeight }) => logWeight > top + Math.log(leastShare))
    .sort((a, b) => b.logWeight - a.logWeight)
    .slice(0, mostStories)
  const total = kept.reduce((sum, { logWeight }) => sum + Math.exp(logWeight - top), 0)
  const stories = kept.map((story) => ({ ...story, probability: Math.exp(story.logWeight - top) / total }))
  spreadOverGaps(columns, sizes, stories, logOdds, changeInGap)
  return { columns, sizes, stories, plain, changeInGap }
}

/** The newest change of a story. */
export const newestChange = ({ changes }: Pick<Story, 'changes'>): Change | undefined =>
  changes.reduce<Change | undefined>((a, b) => (a === undefined || b.gap > a.gap ? b : a), undefined)

/**
 * Where the newest change lies. Where the best story has one change, by the odds of all placements; where it has
 * several, by placing its newest again behind the others; where a drift is among those others, by the stories alone.
 */
function spreadOverGaps(
  columns: Columns,
  sizes: JumpSizes,
  stories: readonly Story[],
  single: Float64Array,
  out: Float64Array,
): void {
  const changed = stories.filter(({ changes }) => changes.length > 0)
  const [best] = changed
  if (best === undefined) return
  const probability = changed.reduce((sum, story) => sum + story.probability, 0)
  const newest = newestChange(best)
  const others = best.changes.filter((change) => change !== newest)
  if (others.some(({ kind }) => kind === 'drift')) {
    for (const story of changed) {
      const gap = newestChange(story)?.gap as number
      out[gap] = (out[gap] as number) + story.probability
    }
    return
  }
  let logOdds = single
  if (others.length > 0) {
    const course = courseOf(columns, sizes, others)
    logOdds = placeChanges(columns, sizes, course, firstLook(columns, course).pass).logOdds
  }
  let top = Number.NEGATIVE_INFINITY
  for (const value of logOdds) if (value > top) top = value
  let total = 0
  for (let k = 0; k < logOdds.length; k += 1) {
    const share = Math.exp((logOdds[k] as number) - top)
    const gap = Math.floor(k / 3)
    out[gap] = (out[gap] as number) + share
    total += share
  }
  for (let gap = 0; gap < out.length; gap += 1) out[gap] = ((out[gap] as number) / total) * probability
}
