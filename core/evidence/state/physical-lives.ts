import { lineBreaks } from '#core/evidence/breaks.ts'
import { divisionOf, scaleGainUncertainty, ticketUncertaintyLb, toleranceOf } from '#core/evidence/calibrate.ts'
import { type FleetEstimates, familyKey, scaleAt } from '#core/evidence/estimates.ts'
import type { GroupHistory, Observation, ScaleFacts, TicketBook, TicketFacts } from '#core/evidence/history.ts'
import { liftFits } from '#core/evidence/lift.ts'
import { groupLimitLb } from '#core/evidence/limits.ts'
import { circuitShares } from '#core/evidence/pressure.ts'
import { type LineCircuits, readPressure } from '#core/evidence/read-pressure.ts'
import {
  type LifeSeries,
  type LinePrior,
  type SlipOption,
  type WeighedPoint,
  priorWeights,
} from '#core/evidence/state/series.ts'
import { sumSupports, transpositions } from '#core/evidence/slips.ts'
import { median } from '#core/line/statistics.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { barPerPsi, kPaPerPsi } from '#core/words/measures.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** One physical life of a group in one lift state, as the engine takes it, with the observations behind its points. */
export interface PhysicalLife {
  /** From recorded work to the next, ms; -Infinity and Infinity at the ends of the record. */
  readonly from: number
  readonly until: number
  readonly lift: LiftState | null
  /** The circuits that its pressures are the mean of: read them the same for any weight asked of this life. */
  readonly line: LineCircuits
  readonly observations: readonly Observation[]
  readonly series: LifeSeries
}

/** What the makers of lives read of the whole fleet. */
export interface LifeFacts {
  readonly rules: HouseRules
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly tickets: Pick<TicketBook, 'get'>
  readonly estimates: Pick<FleetEstimates, 'scales' | 'families'>
}

/**
 * Axle load over spring force, as wide as levers make it (the House Rules call 0.4 to 2.5 plausible), and what an axle
 * weighs below its springs; common knowledge of trailing arms.
 */
const usualLinkage = 1.15
const uLinkage = 0.5
const unsprungLbPerAxle = 2_200
const uUnsprungLbPerAxle = 700
/** Pressure at the limit of a group whose springs nobody entered, psi; common practice. */
const usualLimitPsi = 75
const uUsualSlope = 0.3
/** A family's spread is never taken as smaller than units of one model differ anyhow. */
const leastSlopeShare = 0.02
const leastInterceptLb = 200

/** Slope and intercept to be expected of a group before any ticket: of its family, its springs, or its limit alone. */
export function expectedLine(history: GroupHistory, limitLb: number, families: FleetEstimates['families']): LinePrior {
  const key = familyKey(history)
  const family = key === undefined ? undefined : families.get(key)
  if (family !== undefined && family.slope.median > 0) {
    return {
      slopeLbPerPsi: family.slope.median,
      uSlopeLbPerPsi: 2 * Math.max(family.slope.spread, leastSlopeShare * family.slope.median),
      interceptLb: family.intercept.median,
      uInterceptLb: 2 * Math.max(family.intercept.spread, leastInterceptLb),
    }
  }
  const interceptLb = unsprungLbPerAxle * history.axles
  const uInterceptLb = uUnsprungLbPerAxle * history.axles
  let area = 0
  for (const { airSprings, springAreaIn2 } of history.circuits)
    area += (airSprings ?? Number.NaN) * (springAreaIn2 ?? Number.NaN)
  if (area > 0)
    return { interceptLb, uInterceptLb, slopeLbPerPsi: usualLinkage * area, uSlopeLbPerPsi: uLinkage * area }
  // A limit below what the axles alone usually weigh says little, but a line rises all the same.
  const slopeLbPerPsi = Math.max(limitLb - interceptLb, limitLb / 2) / usualLimitPsi
  return { interceptLb, uInterceptLb, slopeLbPerPsi, uSlopeLbPerPsi: uUsualSlope * slopeLbPerPsi }
}

/** What work does to a slope and an offset, once or twice the usual size of unrecorded changes; a choice. */
const workSlopeShare = 0.1
const workOffsetPsi = 3

/** What is to be expected after recorded work: another spring or ride height sets a group apart from its family. */
function afterWork(expected: LinePrior): LinePrior {
  const { slopeLbPerPsi: b, uSlopeLbPerPsi, uInterceptLb } = expected
  return {
    ...expected,
    uSlopeLbPerPsi: Math.hypot(uSlopeLbPerPsi, workSlopeShare * b),
    uInterceptLb: Math.hypot(uInterceptLb, workOffsetPsi * b),
  }
}

/** Weighings that tell whether the slope expected can be believed, and how far they must lie apart, psi. */
const mostTellers = 12
const tellingPsi = 8
const believedZ = 3

/** Whether so many figures lie near another that their middle does: counted, which costs less than sorting them. */
function areMostNear(figures: readonly number[], from: number, band: number): boolean {
  const most = Math.floor((figures.length - 1) / 2)
  let below = 0
  let above = 0
  for (const figure of figures) {
    if (figure - from < -band) below += 1
    else if (figure - from > band) above += 1
  }
  return below <= most && above <= most
}

/**
 * What is to be expected where the weighings themselves contradict it, as springs wrongly on record do: the middle of
 * all slopes between two of them, held loosely. Source of the middle slope: H. Theil (1950), from memory.
 */
function believable(expected: LinePrior, points: readonly WeighedPoint[]): LinePrior {
  const slopes: number[] = []
  const tellers = points.slice(0, mostTellers)
  for (let i = 0; i < tellers.length; i += 1) {
    const one = tellers[i] as WeighedPoint
    for (let k = i + 1; k < tellers.length; k += 1) {
      const other = tellers[k] as WeighedPoint
      const apart = other.psi - one.psi
      if (Math.abs(apart) >= tellingPsi) slopes.push((other.weightLb - one.weightLb) / apart)
    }
  }
  const band = believedZ * expected.uSlopeLbPerPsi
  if (areMostNear(slopes, expected.slopeLbPerPsi, band)) return expected
  const slope = median(slopes)
  if (!(slope > 0) || Math.abs(slope - expected.slopeLbPerPsi) <= band) return expected
  return {
    slopeLbPerPsi: slope,
    uSlopeLbPerPsi: uLinkage * slope,
    interceptLb: median(tellers.map(({ psi, weightLb }) => weightLb - slope * psi)),
    uInterceptLb: 2 * expected.uInterceptLb,
  }
}

/**
 * The line through a life's points about which it is followed: the prior drawn to the points by Huber-weighted least
 * squares, so that a reading in kPa among them bends nothing. Only the slope that turns psi into lb rests on it.
 */
function nominalLine(prior: LinePrior, points: readonly WeighedPoint[], levelingPsi: number): { a: number; b: number } {
  let a = prior.interceptLb
  let b = prior.slopeLbPerPsi
  for (let round = 0; round < 6; round += 1) {
    const sd = Math.max(1, b * levelingPsi)
    let s00 = 1 / prior.uInterceptLb ** 2
    let s01 = 0
    let s11 = 1 / prior.uSlopeLbPerPsi ** 2
    let t0 = prior.interceptLb * s00
    let t1 = prior.slopeLbPerPsi * s11
    for (const { psi, weightLb } of points) {
      const z = Math.abs(weightLb - a - b * psi) / sd
      // The prior may be far off at first: the band closes round by round.
      const band = round < 2 ? 60 : 4
      const w = (z <= band ? 1 : (band / z) ** 2) / (sd * sd)
      s00 += w
      s01 += w * psi
      s11 += w * psi * psi
      t0 += w * weightLb
      t1 += w * psi * weightLb
    }
    const det = s00 * s11 - s01 * s01
    a = (t0 * s11 - t1 * s01) / det
    b = (t1 * s00 - t0 * s01) / det
    if (!(b > prior.slopeLbPerPsi / 4)) return { a: prior.interceptLb, b: prior.slopeLbPerPsi }
  }
  return { a, b }
}

/** How often tickets carry each slip, before a line is looked at; a choice, until the fleet has its own. */
export interface SlipPriors {
  readonly transposed: number
  readonly swapped: number
  readonly pressureUnit: number
}
export const defaultSlipPriors: SlipPriors = { transposed: 0.002, swapped: 0.002, pressureUnit: 0.001 }
/** How much more, or less, a slip is to be expected where the ticket's sum speaks for it, or against it. */
const sumSpeaks = 100

/** The slips of one observation that would explain a misfit, with what is to be expected of each. */
export function slipOptions(
  history: GroupHistory,
  observation: Observation,
  psi: number,
  line: LineCircuits,
  { rules, scales, tickets }: Pick<LifeFacts, 'rules' | 'scales' | 'tickets'>,
  priors: SlipPriors,
): SlipOption[] {
  const weightLb = observation.weightLb as number
  const ticket: TicketFacts | undefined = observation.ticketId === null ? undefined : tickets.get(observation.ticketId)
  const divisionLb = divisionOf(scales.get(observation.scaleId as number), rules)
  const options: SlipOption[] = []
  const typed = transpositions(weightLb, divisionLb)
  for (const lb of typed) {
    const supported = sumSupports(ticket, lb - weightLb, divisionLb)
    const odds = supported === null ? 1 : supported ? sumSpeaks : 1 / sumSpeaks
    options.push({
      code: 'digits-transposed',
      weightLb: lb,
      psi,
      prior: Math.min(0.3, (odds * priors.transposed) / typed.length),
    })
  }
  ticket?.groupIds.forEach((otherGroupId, i) => {
    const lb = ticket.weightsLb[i] as number
    if (otherGroupId !== history.groupId && lb > 0 && lb !== weightLb) {
      const prior = priors.swapped / (ticket.groupIds.length - 1)
      options.push({ code: 'groups-swapped', weightLb: lb, psi, prior, otherGroupId })
    }
  })
  const places = line.circuits.length > 1 ? [null, ...line.circuits] : [null]
  for (const [unit, factor] of [
    ['kPa', 1 / kPaPerPsi],
    ['bar', 1 / barPerPsi],
  ] as const) {
    for (const place of places) {
      const inUnit = (one: number | null, i: number) =>
        one === null || (place !== null && place !== i) ? one : one * factor
      const converted = { ...observation, psi: observation.psi.map(inUnit) }
      const read = readPressure(history, line, converted, rules.pressureResolutionPsi)
      const prior = priors.pressureUnit / (2 * places.length)
      if ('psi' in read) options.push({ code: 'wrong-pressure-unit', weightLb, psi: read.psi, prior, unit, place })
    }
  }
  return options
}

const emptyShare = 0.15

/** The circuits that most weighings of a life were read on: one that never had a sensor leaves the others alone. */
function circuitsOfLife({ circuits }: GroupHistory, observations: readonly Observation[]): LineCircuits {
  const timesRead = (place: number) =>
    observations.reduce((times, { psi }) => times + ((psi[place] ?? null) === null ? 0 : 1), 0)
  const read = [...circuits.keys()].filter((place) => 2 * timesRead(place) > observations.length)
  return { circuits: read, shares: circuitShares(read.map((place) => circuits[place]?.airSprings ?? null)) }
}

/** What a scale weighed, with a weight and a scale on record. */
const isWeighed = ({ weightLb, scaleId }: Observation): boolean => weightLb !== null && weightLb > 0 && scaleId !== null

/**
 * The observations that a scale weighed, in the order of time. A calibration may take its weight from a ticket that its
 * reading is not recorded with: such a point is a weighing as well.
 */
function weighedObservations({ observations, calibrations }: GroupHistory): Observation[] {
  const weighed = observations.filter(isWeighed)
  const others = new Map<number, Observation>()
  for (const { points } of calibrations) {
    for (const point of points) if (isWeighed(point) && !others.has(point.readingId)) others.set(point.readingId, point)
  }
  for (const { readingId } of weighed) others.delete(readingId)
  return others.size === 0
    ? weighed
    : [...weighed, ...others.values()].sort((a, b) => a.takenAt - b.takenAt || a.readingId - b.readingId)
}

/** The lives of a group in one lift state, oldest first; those without a weighing with a reading are left out. */
export function physicalLives(
  history: GroupHistory,
  lift: LiftState | null,
  facts: LifeFacts,
  levelingPsi: number,
  slipPriors = defaultSlipPriors,
): PhysicalLife[] {
  const { rules, scales, estimates } = facts
  const limitLb = groupLimitLb(history, rules)
  const family = expectedLine(history, limitLb, estimates.families)
  const stated = lift === 'raised' || lift === 'lowered' ? lift : null
  const weighed = weighedObservations(history).filter(({ lift: noted }) => liftFits(stated, noted))
  const first = weighed[0]
  if (first === undefined) return []
  const breaks = [...new Set(lineBreaks(history, first.takenAt).map(({ at }) => at)), Number.POSITIVE_INFINITY]
  const lives: PhysicalLife[] = []
  let from = Number.NEGATIVE_INFINITY
  let place = 0
  for (const until of breaks) {
    const here: Observation[] = []
    const observations: Observation[] = []
    const points: WeighedPoint[] = []
    for (; place < weighed.length && (weighed[place] as Observation).takenAt < until; place += 1) {
      here.push(weighed[place] as Observation)
    }
    const line = circuitsOfLife(history, here)
    const expected = from === Number.NEGATIVE_INFINITY ? family : afterWork(family)
    for (const observation of here) {
      const pressure = readPressure(history, line, observation, rules.pressureResolutionPsi)
      if (!('psi' in pressure)) continue
      const scaleId = observation.scaleId as number
      const scale = scales.get(scaleId)
      const effect = scaleAt(estimates, scaleId, observation.takenAt)
      const uTicket = ticketUncertaintyLb(divisionOf(scale, rules), rules.ticketRepeatabilityLb)
      observations.push(observation)
      points.push({
        at: observation.takenAt,
        psi: pressure.psi,
        weightLb: observation.weightLb as number,
        varOtherLb2: uTicket * uTicket + expected.slopeLbPerPsi ** 2 * pressure.resolutionVarPsi2,
        scaleId,
        scaleGain: effect?.gain ?? 0,
        uScaleGain: effect?.u ?? scaleGainUncertainty(toleranceOf(scale, rules)),
      })
    }
    if (points.length > 0) {
      const prior = believable(expected, points)
      const { a, b } = nominalLine(prior, points, levelingPsi)
      const limitPsi = Math.max(10, (limitLb - a) / b)
      const emptyPsi = emptyShare * limitPsi
      const slipsOf = (at: number) =>
        slipOptions(history, observations[at] as Observation, (points[at] as WeighedPoint).psi, line, facts, slipPriors)
      lives.push({
        from,
        until,
        lift,
        line,
        observations,
        series: {
          points,
          emptyPsi,
          limitPsi,
          slopeLbPerPsi: b,
          prior: priorWeights(prior, emptyPsi, limitPsi),
          slipsOf,
        },
      })
    }
    from = until
  }
  return lives
}
