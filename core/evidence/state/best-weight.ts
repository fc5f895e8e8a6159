import type { Columns } from '#core/evidence/state/columns.ts'
import { type LineState, type Story, newestChange } from '#core/evidence/state/line-state.ts'
import { smoothStep } from '#core/evidence/state/passes.ts'
import { type Change, driftBegins } from '#core/evidence/state/place-changes.ts'
import { stride } from '#core/evidence/state/sites.ts'
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

/** One story as it is read: what followed from it at each weighing, filtered and smoothed (`stride` numbers each). */
interface ReadStory {
  readonly probability: number
  /** Months at which its drift begins; null without one. */
  readonly driftFrom: number | null
  readonly jumps: Float64Array | null
  readonly filtered: Float64Array
  readonly smoothed: Float64Array
}

/** A line state as far as weights are read off it: what a fleet of groups is held in memory by. */
export interface LineReader {
  readonly from: number
  readonly months: Float64Array
  readonly wanderVar: number
  readonly wanderCov: number
  readonly emptyPsi: number
  readonly limitPsi: number
  readonly slopeLbPerPsi: number
  readonly driftLbPerMonth: number
  readonly scales: Columns['scales']
  readonly varScales: number
  readonly stories: readonly ReadStory[]
}

export function readerOf({ columns, sizes, stories }: LineState): LineReader {
  const { from, months, wanderVar, wanderCov, scales, varScales } = columns
  const { emptyPsi, limitPsi, slopeLbPerPsi } = columns.series
  return {
    from,
    months,
    wanderVar,
    wanderCov,
    emptyPsi,
    limitPsi,
    slopeLbPerPsi,
    driftLbPerMonth: sizes.driftLbPerMonth,
    scales,
    varScales,
    stories: stories.map(({ probability, changes, course, pass, smoothed }) => {
      const drift = changes.find(({ kind }) => kind === 'drift')
      return {
        probability,
        driftFrom: drift === undefined ? null : driftBegins(months, drift.gap),
        jumps: course.jumps,
        filtered: pass.state,
        smoothed,
      }
    }),
  }
}

/** What is asked of a line: a share of its span at a time, with the variance that the pressure itself brings. */
interface Look {
  readonly share: number
  readonly varPressure: number
  /** Months since the life's first point, and the place of the weighing before, -1 before the first. */
  readonly time: number
  readonly before: number
}

/** The weight of a state kept at a place of `states`, a time of wandering away from it. */
function readThere(
  { wanderVar, wanderCov }: LineReader,
  { share, varPressure }: Look,
  states: Float64Array,
  place: number,
  reach: number,
  months: number,
  probability: number,
): MixturePart {
  const e = 1 - share
  const of = (k: number) => states[place + k] as number
  return {
    share: probability,
    mean: e * of(0) + share * of(1) + reach * of(2),
    variance:
      varPressure +
      e * e * (of(3) + wanderVar * months) +
      2 * e * share * (of(4) + wanderCov * months) +
      share * share * (of(5) + wanderVar * months) +
      reach * reach * of(8) +
      2 * reach * (e * of(6) + share * of(7)),
  }
}

/**
 * The weight between two weighings, after the one before and before the one at `gap`: one step back of the smoother
 * (`smoothStep`) read off at once. With h the share of the span, Q what is added until the
 * later weighing, S = P + Q and a = S⁻¹ Q h, g = h - a:
 *   mean = g · x_s + a · x_f,   variance = a' P a + g' (P_s + Q) g.
 */
function readBetween(
  { wanderVar, wanderCov, months }: LineReader,
  { share, varPressure, time, before }: Look,
  { filtered, smoothed, jumps }: ReadStory,
  jumpsFirst: boolean,
  probability: number,
): MixturePart {
  const gap = before + 1
  const since = time - (months[before] as number)
  const until = (months[gap] as number) - time
  const f = stride * (gap - 1)
  const s = stride * gap
  const j0 = jumps === null ? 0 : (jumps[3 * gap] as number)
  const j1 = jumps === null ? 0 : (jumps[3 * gap + 1] as number)
  const j2 = jumps === null ? 0 : (jumps[3 * gap + 2] as number)
  const p00 = (filtered[f + 3] as number) + wanderVar * since + (jumpsFirst ? j0 : 0)
  const p01 = (filtered[f + 4] as number) + wanderCov * since + (jumpsFirst ? j1 : 0)
  const p11 = (filtered[f + 5] as number) + wanderVar * since + (jumpsFirst ? j2 : 0)
  const q00 = wanderVar * until + (jumpsFirst ? 0 : j0)
  const q01 = wanderCov * until + (jumpsFirst ? 0 : j1)
  const q11 = wanderVar * until + (jumpsFirst ? 0 : j2)
  const h0 = 1 - share
  const h1 = share
  const v0 = q00 * h0 + q01 * h1
  const v1 = q01 * h0 + q11 * h1
  const s00 = p00 + q00
  const s01 = p01 + q01
  const s11 = p11 + q11
  const det = s00 * s11 - s01 * s01
  const a0 = (s11 * v0 - s01 * v1) / det
  const a1 = (s00 * v1 - s01 * v0) / det
  const g0 = h0 - a0
  const g1 = h1 - a1
  const n00 = (smoothed[s + 3] as number) + q00
  const n01 = (smoothed[s + 4] as number) + q01
  const n11 = (smoothed[s + 5] as number) + q11
  return {
    share: probability,
    mean:
      g0 * (smoothed[s] as number) +
      g1 * (smoothed[s + 1] as number) +
      a0 * (filtered[f] as number) +
      a1 * (filtered[f + 1] as number),
    variance:
      varPressure +
      a0 * a0 * p00 +
      2 * a0 * a1 * p01 +
      a1 * a1 * p11 +
      g0 * g0 * n00 +
      2 * g0 * g1 * n01 +
      g1 * g1 * n11,
  }
}

/** The same where a drift is read along, its rate a third number of the state. A story with a drift has few jumps. */
function readDrifting(
  reader: LineReader,
  look: Look,
  { filtered, smoothed, jumps }: ReadStory,
  reach: number,
  jumpsFirst: boolean,
  probability: number,
): MixturePart {
  const { wanderVar, wanderCov, months } = reader
  const { time, before } = look
  const gap = before + 1
  const since = time - (months[before] as number)
  const until = (months[gap] as number) - time
  const jump = (k: number, first: boolean): number =>
    jumps === null || first !== jumpsFirst ? 0 : (jumps[3 * gap + k] as number)
  const here = filtered.slice(stride * (gap - 1), stride * gap)
  here[3] = (here[3] as number) + wanderVar * since + jump(0, true)
  here[4] = (here[4] as number) + wanderCov * since + jump(1, true)
  here[5] = (here[5] as number) + wanderVar * since + jump(2, true)
  const left = {
    varEmpty: wanderVar * until + jump(0, false),
    cov: wanderCov * until + jump(1, false),
    varLimit: wanderVar * until + jump(2, false),
  }
  const out = new Float64Array(stride)
  smoothStep(here, 0, left, smoothed, stride * gap, out, 0)
  return readThere(reader, look, out, 0, reach, 0, probability)
}

/** What one story reads: one part, or two where its jump may lie on either side of the time. */
function readStory(reader: LineReader, look: Look, story: ReadStory, into: MixturePart[]): void {
  const { months, driftLbPerMonth } = reader
  const { time, before } = look
  const { probability, driftFrom, jumps, filtered, smoothed } = story
  const reach = driftFrom === null ? 0 : driftLbPerMonth * Math.max(0, time - driftFrom)
  if (before < 0) {
    into.push(readThere(reader, look, smoothed, 0, reach, (months[0] as number) - time, probability))
    return
  }
  const since = time - (months[before] as number)
  if (before === months.length - 1) {
    into.push(readThere(reader, look, filtered, stride * before, reach, since, probability))
    return
  }
  const read = (jumpsFirst: boolean, weight: number): MixturePart =>
    driftFrom === null
      ? readBetween(reader, look, story, jumpsFirst, weight)
      : readDrifting(reader, look, story, reach, jumpsFirst, weight)
  if (jumps === null || !((jumps[3 * before + 5] as number) > 0)) {
    into.push(read(true, probability))
    return
  }
  const early = since / ((months[before + 1] as number) - (months[before] as number))
  into.push(read(true, probability * early), read(false, probability * (1 - early)))
}

/**
 * What the stories of a life make of a pressure at a time, without what the scales have in common: smoothed by all
 * weighings of the life in the past, forecast after its last one. For what was known on a day, give `lineState` the
 * weighings up to that day.
 *
 * Units: at ms UTC, psi gauge, uPsi the standard uncertainty of that one pressure (leveling and resolution), result
 * lb. Range: a life with at least one weighing; finite psi.
 */
export function ownPartsAt(reader: LineReader, at: number, psi: number, uPsi: number): readonly MixturePart[] {
  const { from, months, emptyPsi, limitPsi, slopeLbPerPsi, stories } = reader
  const time = (at - from) / monthMs
  const look: Look = {
    share: (psi - emptyPsi) / (limitPsi - emptyPsi),
    varPressure: (slopeLbPerPsi * uPsi) ** 2,
    time,
    before: placeBefore(months, time),
  }
  const parts: MixturePart[] = []
  for (const story of stories) readStory(reader, look, story, parts)
  return parts
}

/** The best weight of a pressure at a time, as `ownPartsAt`, with what the scales have in common. */
export function weightAt(state: LineState, at: number, psi: number, uPsi: number): WeightMixture {
  const { varScales } = state.columns
  return mixtureOf(
    ownPartsAt(readerOf(state), at, psi, uPsi).map((part) => ({
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
