import {
  type ScaleLookup,
  type ScaleShift,
  divisionOf,
  scaleGainUncertainty,
  scaleShifts,
  ticketUncertaintyLb,
  toleranceOf,
} from '#core/evidence/calibrate.ts'
import { liftFits, liftOfPoints } from '#core/evidence/lift.ts'
import { type Line, type Point, fitLine } from '#core/line/fit.ts'
import { predictWeight } from '#core/line/predict.ts'
import { chiSquaredQuantile, standardNormalQuantile } from '#core/line/statistics.ts'
import type { CorrelatedWeight, GainPart } from '#core/weight/correlated.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Result, ok, refuse } from '#core/words/problem.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

/** Half of a slider notch: what a recorded fifth-wheel position may be off by, ft, taken as rectangular. */
const fifthWheelHalfWidthFt = 0.25
/** A recorded axle position to the nearest inch or two, ft, taken as rectangular. */
const axleHalfWidthFt = 0.1

/** How a kingpin load divides between steer and drive, with standard uncertainties. */
export interface FifthWheelStatics {
  readonly fifthWheelFt: number
  /** From the front axle to the middle of the drive group. */
  readonly wheelbaseFt: number
  /**
   * Share of the kingpin load that comes on the steer axle; below zero with the fifth wheel behind the drive group's
   * middle.
   */
  readonly steerShare: number
  /** Pounds on the steer axle per pound on the drive group. */
  readonly slope: number
  readonly uSlope: number
}

/**
 * Moment balance of the kingpin load about the drive group, with the fifth wheel a distance f and the middle of the
 * drive group a distance c behind the front axle:
 *   share on the steer axle = (c - f)/c,   steer per drive = (c - f)/f,   u² = (u(c)/f)² + (c u(f)/f²)².
 *
 * Units: ft, lb/lb. Holds for one drive group on level ground; a pusher or tag axle changes it.
 * Errors (as values): not-positive. Source: elementary statics; u from half a slider notch and the nearest inch or two.
 */
export function fifthWheelStatics(fifthWheelFt: number, wheelbaseFt: number): Result<FifthWheelStatics> {
  if (!(fifthWheelFt > 0 && wheelbaseFt > 0 && Number.isFinite(fifthWheelFt + wheelbaseFt))) {
    return refuse({
      code: 'not-positive',
      field: 'fifth_wheel_ft',
      value: phrase('{fifthWheelFt} ft with the drive group at {wheelbaseFt} ft', { fifthWheelFt, wheelbaseFt }),
      accepted: phrase('distances above zero behind the front axle'),
      message: phrase(
        'A fifth wheel {fifthWheelFt} ft and a drive group {wheelbaseFt} ft behind the front axle: both must be above zero.',
        { fifthWheelFt, wheelbaseFt },
      ),
    })
  }
  const uF = fifthWheelHalfWidthFt / Math.sqrt(3)
  const uC = axleHalfWidthFt / Math.sqrt(3)
  return ok({
    fifthWheelFt,
    wheelbaseFt,
    steerShare: (wheelbaseFt - fifthWheelFt) / wheelbaseFt,
    slope: (wheelbaseFt - fifthWheelFt) / fifthWheelFt,
    uSlope: Math.hypot(uC / fifthWheelFt, (wheelbaseFt * uF) / (fifthWheelFt * fifthWheelFt)),
  })
}

/** How many tickets' worth the given scatter counts against what the tractor's own tickets show. */
const priorTickets = 4
/** An estimate less sure than this says no more than that a steer axle usually weighs 9,000 to 14,000 lb. */
const uselessLb = 1500
/** So many times the given scatter means that tickets contradict each other, not that they are few. */
const disagreeing = 3
/** An empty drive group as a share of its limit: where an estimate must still serve. */
const emptyShare = 0.25

/**
 * Steer and drive weights of one tractor from one ticket, lb. lift: of the reading that belongs to the ticket, if any.
 */
export interface SteerTicket {
  readonly weighedAt: number
  readonly scaleId: number
  readonly steerLb: number
  readonly driveLb: number
  readonly lift: LiftState | null
}

/**
 * Steer weight from drive weight, steer = a + b · drive, lb and lb/lb. `line` without the scales' part, which is in
 * `shifts`; `scatterLb` is by how much the steer weight itself differs at one drive weight (fuel, people, load).
 */
export interface SteerModel {
  readonly basis: 'tickets' | 'fifth wheel'
  readonly tickets: number
  readonly line: Line
  readonly scatterLb: number
  readonly shifts: readonly ScaleShift[]
}

/** What a steer model is made from. */
export interface SteerFacts {
  readonly tickets: readonly SteerTicket[]
  /** null: fifth wheel or drive position not on record. */
  readonly statics: FifthWheelStatics | null
  readonly driveLimitLb: number
}

type TicketPoint = Point & { readonly scaleId: number }

/**
 * Steer against drive weight: x drive, y steer, lb. The steer weight scatters on top of what the ticket is uncertain
 * by.
 */
export function steerPoints(tickets: readonly SteerTicket[], scaleOf: ScaleLookup, rules: HouseRules): TicketPoint[] {
  return tickets.map(({ scaleId, steerLb, driveLb }) => {
    const ticketLb = ticketUncertaintyLb(divisionOf(scaleOf(scaleId), rules), rules.ticketRepeatabilityLb)
    return { x: driveLb, y: steerLb, scaleId, ux: ticketLb, uy: Math.hypot(ticketLb, rules.steerScatterLb) || 1 }
  })
}

function fromTickets(
  points: readonly TicketPoint[],
  gainOf: (scaleId: number) => number,
  rules: HouseRules,
): SteerModel | undefined {
  const fitted = fitLine(points)
  if (!fitted.ok) return undefined
  const fit = fitted.value
  const widening = (priorTickets + fit.chi2) / (priorTickets + fit.dof)
  const k = Math.sqrt(widening)
  // A gain error moves both coordinates, so a point leaves the line by what it moves steer beyond b · drive.
  const shifts = scaleShifts(
    fit,
    points.map((point) => ({ ...point, y: point.y - fit.b * point.x })),
    gainOf,
  )
  return {
    basis: 'tickets',
    tickets: points.length,
    shifts,
    scatterLb: k * rules.steerScatterLb,
    line: { a: fit.a, b: fit.b, uA: k * fit.uA, uB: k * fit.uB, covAB: widening * fit.covAB },
  }
}

/** The slope from the fifth wheel's position, the height from the tickets' means. */
function fromStatics(
  points: readonly TicketPoint[],
  { slope, uSlope }: FifthWheelStatics,
  gainOf: (scaleId: number) => number,
  rules: HouseRules,
): SteerModel {
  const n = points.length
  let meanDrive = 0
  let a = 0
  let varMean = 0
  const gains = new Map<number, number>()
  for (const { x, y, ux, uy, scaleId } of points) {
    meanDrive += x / n
    a += (y - slope * x) / n
    varMean += (uy * uy + slope * slope * ux * ux) / (n * n)
    gains.set(scaleId, (gains.get(scaleId) ?? 0) + (y - slope * x) / n)
  }
  const varB = uSlope * uSlope
  return {
    basis: 'fifth wheel',
    tickets: n,
    scatterLb: rules.steerScatterLb,
    line: { a, b: slope, uA: Math.sqrt(varMean + meanDrive * meanDrive * varB), uB: uSlope, covAB: -meanDrive * varB },
    shifts: Array.from(gains, ([scaleId, lb]) => ({ scaleId, da: lb * gainOf(scaleId), db: 0 })),
  }
}

/** The model's largest standard uncertainty between an empty and a full drive group, lb. */
function worstLb({ line, scatterLb }: SteerModel, driveLimitLb: number): number {
  return Math.hypot(
    scatterLb,
    Math.max(predictWeight(line, emptyShare * driveLimitLb).u, predictWeight(line, driveLimitLb).u),
  )
}

/**
 * How a tractor's steer weight follows from its drive weight, for readings in one lift state, from tickets that carry
 * both.
 *
 * Two candidates; the one that is surer between an empty and a full drive group is taken:
 * - tickets: the line through steer against drive weight, both uncertain (`fitLine`; ticket rounding and repeatability
 * on
 *   both, scatter on steer). Its covariance and the scatter's variance are scaled by (4 + chi²)/(4 + dof): the scatter
 *   given in the rules (best the fleet's own, `fleetSteerScatterLb`) counts as four tickets against the tractor's own.
 * - fifth wheel: the slope by statics, the height from the mean of the tickets, one empty ticket being enough.
 *
 * Units: lb. Errors (as values): no-ticket (none carries both weights in a fitting lift state), tickets-disagree (they
 * follow no line), no-position (too few or too similar tickets, and no fifth-wheel or drive position to make up for
 * it).
 * Source: as `fitLine`; the pooled scatter is this project's own, a weighted mean of prior and observed variance.
 */
export function steerModel(
  { tickets, statics, driveLimitLb }: SteerFacts,
  lift: LiftState | null,
  scaleOf: ScaleLookup,
  rules: HouseRules,
): Result<SteerModel> {
  const fitting = tickets.filter((ticket) => liftFits(liftOfPoints([ticket.lift]), lift))
  if (fitting.length === 0) {
    return refuse({
      code: 'no-ticket',
      field: 'ticket',
      value: String(tickets.length),
      accepted: phrase('a ticket with steer and drive weights in this lift state'),
      message: phrase(
        'The steer weight cannot be estimated: no ticket carries the steer and the drive weight in this lift state.',
      ),
    })
  }
  const gainOf = (scaleId: number) => scaleGainUncertainty(toleranceOf(scaleOf(scaleId), rules))
  const points = steerPoints(fitting, scaleOf, rules)
  const candidates = [
    fromTickets(points, gainOf, rules),
    statics === null ? undefined : fromStatics(points, statics, gainOf, rules),
  ]
    .filter((model) => model !== undefined)
    .map((model) => ({ model, u: worstLb(model, driveLimitLb) }))
    .sort((a, b) => a.u - b.u)
  const best = candidates[0]
  if (best && best.u <= uselessLb) return ok(best.model)
  if (candidates.some(({ model }) => model.scatterLb > disagreeing * rules.steerScatterLb)) {
    return refuse({
      code: 'tickets-disagree',
      field: 'ticket',
      value: phrase('{fitting} tickets', { fitting: fitting.length }),
      accepted: phrase('tickets whose steer and drive weights follow one line'),
      message: phrase(
        'The steer weight cannot be estimated: its tickets disagree about how steer follows drive. Check them for slips.',
      ),
    })
  }
  return refuse({
    code: 'no-position',
    field: 'fifth_wheel_ft',
    value: phrase('{fitting} tickets', { fitting: fitting.length }),
    accepted: phrase('tickets empty and loaded, or the positions of fifth wheel and drive group'),
    message: phrase(
      'The steer weight cannot be estimated: weigh the tractor empty and loaded with steer and drive weights, or record the positions of its fifth wheel and drive group.',
    ),
  })
}

const gainsAt = (shifts: readonly ScaleShift[], driveLb: number): GainPart[] =>
  shifts.map(({ scaleId, da, db }) => ({ scaleId, lb: da + db * driveLb }))

/**
 * The steer weight that goes with a drive weight D:
 *   S = a + b D,   u²(S) = u²(a) + D² u²(b) + 2 D cov(a,b) + scatter² + b² u²(D),
 *   cov(S, D) = b u²(D) + shared scales.
 * The last part comes through `follows`, so that sums of steer and drive count it once and with its sign.
 * Units: lb. Source: JCGM 100:2008 5.2.2, equation (13).
 */
export function estimateSteer({ line, scatterLb, shifts }: SteerModel, drive: CorrelatedWeight): CorrelatedWeight {
  const { value, u } = predictWeight(line, drive.weightLb)
  return {
    weightLb: value,
    ownVarLb2: u * u + scatterLb * scatterLb,
    gains: gainsAt(shifts, drive.weightLb),
    follows: { weight: drive, slope: line.b },
  }
}

/** The tickets' slope against the one by statics: what a finding needs. */
export interface SteerCheck {
  readonly tickets: number
  readonly slopeTickets: number
  readonly slopeStatics: number
  /** By how much the two differ in what a full drive group adds to the steer axle over an empty one, lb. */
  readonly differenceLb: number
  readonly uDifferenceLb: number
  /** Difference in standard uncertainties. */
  readonly z: number
  /** Where the fifth wheel would have to stand for the tickets to be right, ft behind the front axle. */
  readonly impliedFifthWheelFt: number
  readonly disagree: boolean
}

/**
 * Holds the tickets' line against fifth-wheel statics: z = (b - r)/√(u²(b) + u²(r)); they disagree beyond the two-sided
 * `disagreeConfidence` of the House Rules. Disagreement means a moved or mistyped fifth wheel, mistyped axle positions,
 * or tickets with groups swapped. undefined when the tickets make no line of their own.
 * Units: lb, ft. Source: as `fifthWheelStatics` and `fitLine`.
 */
export function compareWithStatics(
  { tickets, driveLimitLb }: SteerFacts,
  statics: FifthWheelStatics,
  scaleOf: ScaleLookup,
  rules: HouseRules,
): SteerCheck | undefined {
  const model = fromTickets(steerPoints(tickets, scaleOf, rules), () => 0, rules)
  if (model === undefined) return undefined
  const { b, uB } = model.line
  const difference = b - statics.slope
  const uDifference = Math.hypot(uB, statics.uSlope)
  const rangeLb = (1 - emptyShare) * driveLimitLb
  const factor = standardNormalQuantile(0.5 + rules.disagreeConfidence / 200)
  return {
    tickets: model.tickets,
    slopeTickets: b,
    slopeStatics: statics.slope,
    differenceLb: difference * rangeLb,
    uDifferenceLb: uDifference * rangeLb,
    z: difference / uDifference,
    impliedFifthWheelFt: statics.wheelbaseFt / (1 + b),
    disagree: Math.abs(difference) > factor * uDifference,
  }
}

/** How many tickets' worth the House Rules' scatter counts against what the fleet shows. */
const scatterPriorTickets = 4
const mostLb = 2000
const halvings = 20
/**
 * A tractor counts at most this quantile of its chi², so that one mistyped ticket does not make the whole fleet unsure.
 */
const capQuantile = 0.997

/**
 * By how much the fleet's steer weights scatter about their drive weights beyond what tickets are uncertain by, lb: the
 * scatter s at which the tickets' lines of all tractors fit as well as they should,
 *   Σ min(chi²(s), cap) + 4 v(rules)/v(s) = Σ dof + 4,   v(s) = ticket² + s²,
 * found by halving to 0.002 lb between 0 and 2,000; 0 where the tickets agree better than their own uncertainty.
 *
 * Only tractors with three and more tickets tell. Give the result to `steerModel` in place of the House Rules' scatter.
 * Source: the moment estimator of Paule and Mandel, J. Res. NBS 87 (1982) 377 (from memory), with a prior and a cap of
 * this project's own; tested by simulation.
 */
export function fleetSteerScatterLb(
  fleet: readonly Pick<SteerFacts, 'tickets'>[],
  scaleOf: ScaleLookup,
  rules: HouseRules,
): number {
  const telling = fleet.filter(({ tickets }) => tickets.length > 2)
  const ticketVar = ticketUncertaintyLb(rules.scaleDivisionLb, rules.ticketRepeatabilityLb) ** 2
  const ruleVar = ticketVar + rules.steerScatterLb ** 2
  const isTooSmall = (scatterLb: number): boolean => {
    const trial = { ...rules, steerScatterLb: scatterLb }
    let excess = scatterPriorTickets * (ruleVar / (ticketVar + scatterLb * scatterLb) - 1)
    for (const { tickets } of telling) {
      const fit = fitLine(steerPoints(tickets, scaleOf, trial))
      if (fit.ok) excess += Math.min(fit.value.chi2, chiSquaredQuantile(capQuantile, fit.value.dof)) - fit.value.dof
    }
    return excess > 0
  }
  let low = 0
  let high = mostLb
  if (!isTooSmall(low)) return 0
  for (let step = 0; step < halvings; step += 1) {
    const middle = (low + high) / 2
    if (isTooSmall(middle)) low = middle
    else high = middle
  }
  return high
}
