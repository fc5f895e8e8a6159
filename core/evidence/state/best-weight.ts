import type { Columns } from '#core/evidence/state/columns.ts'
import { type LineState, type Story, newestChange } from '#core/evidence/state/line-state.ts'
import { type Gap, smoothStep, stride } from '#core/evidence/state/passes.ts'
import { type Change, driftBegins } from '#core/evidence/state/place-changes.ts'
import { type MixturePart, type WeightMixture, mixtureOf } from '#core/evidence/state/weight-mixture.ts'
import { monthMs } from '#core/line/track.ts'

/** The last weighing at or before a time (months), -1 before the first. */
function placeBefore(months: Float64Array, at: number): number {
  let low = 0
  let high = months.length
  while (low < high) {
    const middle = (low + high) >> 1
    if ((months[middle] as number) <= at) low = middle + 1
    else high = middle
  }
  return low - 1
}

/** Months within which two moments are one: what the reckoning of ms in months leaves. */
const nearly = 1e-9

/** What one story reads at a share of the span and a time: one part, or two where its jump may lie on either side. */
function readStory({ columns, sizes }: LineState, story: Story, share: number, at: number): MixturePart[] {
  const { size, months, wanderVar, wanderCov } = columns
  const { pass, smoothed, course, changes } = story
  const drift = changes.find(({ kind }) => kind === 'drift')
  const reach = drift === undefined ? 0 : sizes.driftLbPerMonth * Math.max(0, at - driftBegins(months, drift.gap))
  const part = (state: Float64Array, from: number, weight: number, extra: number): MixturePart => {
    const e = 1 - share
    const of = (place: number) => state[from + place] as number
    return {
      share: weight,
      mean: e * of(0) + share * of(1) + reach * of(2),
      variance:
        e * e * (of(3) + wanderVar * extra) +
        2 * e * share * (of(4) + wanderCov * extra) +
        share * share * (of(5) + wanderVar * extra) +
        reach * reach * of(8) +
        2 * reach * (e * of(6) + share * of(7)),
    }
  }
  const before = placeBefore(months, at)
  if (before < 0) return [part(smoothed, 0, story.probability, (months[0] as number) - at)]
  if (before === size - 1)
    return [part(pass.state, stride * before, story.probability, at - (months[before] as number))]
  const gap = before + 1
  const since = at - (months[before] as number)
  const until = (months[gap] as number) - at
  const jump = course.jumps?.subarray(3 * gap, 3 * gap + 3)
  const jumps = jump !== undefined && (jump[2] as number) > 0
  const read = (weight: number, first: boolean): MixturePart => {
    const here = Float64Array.from(pass.state.subarray(stride * before, stride * before + stride))
    const add = (from: number, one: Gap) => {
      here[from] = (here[from] as number) + one.varEmpty
      here[from + 1] = (here[from + 1] as number) + one.cov
      here[from + 2] = (here[from + 2] as number) + one.varLimit
    }
    const wander = (dt: number, jumped: boolean): Gap => ({
      varEmpty: wanderVar * dt + (jumped && jump ? (jump[0] as number) : 0),
      cov: wanderCov * dt + (jumped && jump ? (jump[1] as number) : 0),
      varLimit: wanderVar * dt + (jumped && jump ? (jump[2] as number) : 0),
    })
    add(3, wander(since, jumps && first))
    const out = new Float64Array(stride)
    smoothStep(here, 0, wander(until, jumps && !first), smoothed, stride * gap, out, 0)
    return part(out, 0, weight, 0)
  }
  if (!jumps) return [read(story.probability, true)]
  const early = since / (since + until)
  return [read(story.probability * early, true), read(story.probability * (1 - early), false)]
}

/**
 * What the stories of a life make of a pressure at a time, without what the scales have in common: smoothed by all
 * weighings of the life in the past, forecast after its last one. For what was known on a day, give `lineState` the
 * weighings up to that day.
 *
 * Units: at ms UTC, psi gauge, uPsi the standard uncertainty of that one pressure (leveling and resolution), result
 * lb. Range: a life with at least one weighing; finite psi.
 */
export function ownPartsAt(state: LineState, at: number, psi: number, uPsi: number): readonly MixturePart[] {
  const { columns, stories } = state
  const { series, from } = columns
  const { emptyPsi, limitPsi, slopeLbPerPsi } = series
  const share = (psi - emptyPsi) / (limitPsi - emptyPsi)
  const months = (at - from) / monthMs
  const ofPressure = (slopeLbPerPsi * uPsi) ** 2
  return stories.flatMap((story) =>
    readStory(state, story, share, months).map((part) => ({ ...part, variance: part.variance + ofPressure })),
  )
}

/** The best weight of a pressure at a time, as `ownPartsAt`, with what the scales have in common. */
export function weightAt(state: LineState, at: number, psi: number, uPsi: number): WeightMixture {
  const { varScales } = state.columns
  return mixtureOf(
    ownPartsAt(state, at, psi, uPsi).map((part) => ({
      ...part,
      variance: part.variance + part.mean * part.mean * varScales,
    })),
  )
}

/** When something about a line began to be wrong, and how sure that is. */
export interface SinceWhen {
  /** Probability that the line changed at all. */
  readonly probability: number
  readonly offset: number
  readonly slope: number
  readonly drift: number
  /** Most probable moment and 95 % interval, ms UTC. */
  readonly at: number
  readonly from: number
  readonly until: number
  /** Weighings since the newest change of the best story that has one. */
  readonly weighingsSince: number
  /** Established, or only suspected: the probability is below `establishedAt`, or one weighing alone speaks for it. */
  readonly established: boolean
}

export const establishedAt = 0.95
const fewestSince = 2

/** The time in which changes count, ms: in gaps between weighings that begin at or after `after` and before `until`. */
export interface ChangeWindow {
  readonly after: number
  readonly until: number
}

const wholeLife: ChangeWindow = { after: Number.NEGATIVE_INFINITY, until: Number.POSITIVE_INFINITY }

/** The first and the last gap of a window; none where the last comes before the first. */
function gapsOf({ months, from, size }: Columns, { after, until }: ChangeWindow): [first: number, last: number] {
  const monthOf = (at: number) => (at - from) / monthMs
  return [
    placeBefore(months, monthOf(after) - nearly) + 2,
    Math.min(size - 1, placeBefore(months, monthOf(until) - nearly) + 1),
  ]
}

/** The newest change of a story that tells in a window: a drift from before it goes on through it. */
export function changeWithin({ changes }: Pick<Story, 'changes'>, [first, last]: [number, number]): Change | undefined {
  let newest: Change | undefined
  for (const change of changes) {
    const tells = change.gap <= last && (change.gap >= first || change.kind === 'drift')
    if (tells && (newest === undefined || change.gap > newest.gap)) newest = change
  }
  return first > last ? undefined : newest
}

/** A life as it is if something changed in a window: the stories that say so; null where none does. */
export function ifChanged(state: LineState, window: ChangeWindow): LineState | null {
  const gaps = gapsOf(state.columns, window)
  const changed = state.stories.filter((story) => changeWithin(story, gaps) !== undefined)
  const total = changed.reduce((sum, { probability }) => sum + probability, 0)
  return changed.length === 0
    ? null
    : { ...state, stories: changed.map((story) => ({ ...story, probability: story.probability / total })) }
}

/** The newest change of a life in a window, the whole of it unless said; null where no story has one. */
export function sinceWhen({ columns, stories, changeInGap }: LineState, window = wholeLife): SinceWhen | null {
  const gaps = gapsOf(columns, window)
  const sums = { offset: 0, slope: 0, drift: 0 }
  const inGap = new Float64Array(columns.size)
  let best: Story | undefined
  for (const story of stories) {
    const change = changeWithin(story, gaps)
    if (change === undefined) continue
    sums[change.kind] += story.probability
    inGap[change.gap] = (inGap[change.gap] as number) + story.probability
    best ??= story
  }
  if (best === undefined) return null
  // Where the newest of all is meant, every placement has been weighed, not only those of the stories kept.
  const ofBest = changeWithin(best, gaps) as Change
  if (ofBest === newestChange(best)) {
    const from = Math.min(ofBest.gap, gaps[0])
    for (let gap = 1; gap < inGap.length; gap += 1)
      inGap[gap] = gap >= from && gap <= gaps[1] ? (changeInGap[gap] as number) : 0
  }
  const probability = sums.offset + sums.slope + sums.drift
  const { months, from } = columns
  const moment = (month: number): number => from + month * monthMs
  const total = inGap.reduce((sum, value) => sum + value, 0)
  // Within a gap every moment is alike: the interval is cut out of a density that is level in each gap.
  const quantile = (q: number): number => {
    let left = q * total
    for (let gap = 1; gap < months.length; gap += 1) {
      const own = inGap[gap] as number
      const start = months[gap - 1] as number
      if (own > 0 && left <= own) return start + (left / own) * ((months[gap] as number) - start)
      left -= own
    }
    return months[months.length - 1] as number
  }
  let likely = 1
  for (let gap = 2; gap < inGap.length; gap += 1) if ((inGap[gap] as number) > (inGap[likely] as number)) likely = gap
  const weighingsSince = columns.size - likely
  return {
    probability,
    ...sums,
    at: moment(((months[likely - 1] as number) + (months[likely] as number)) / 2),
    from: moment(quantile(0.025)),
    until: moment(quantile(0.975)),
    weighingsSince,
    established: probability >= establishedAt && weighingsSince >= fewestSince,
  }
}
