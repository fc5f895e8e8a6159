import { divisionOf, ticketUncertaintyLb, toleranceOf } from '#core/evidence/calibrate.ts'
import type { CheckTrail } from '#core/evidence/follow-checks.ts'
import { effectOf } from '#core/evidence/line-life.ts'
import { scaleVerdict } from '#core/evidence/scales/scale-standing.ts'
import type { GroupStates, LifeState } from '#core/evidence/state/life-states.ts'
import { type ScaleToWeighOn, type WeighingGain, teachingWeighings } from '#core/evidence/state/weigh-next.ts'
import type { AssessmentContext } from '#core/findings/assessment.ts'
import { expanded } from '#core/words/coverage.ts'
import { daysBetween, dayOf } from '#core/words/day.ts'
import type { Load, WhyWeigh } from '#core/words/sentences/weigh-next.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** One weighing that would teach something of a group. */
export interface OfferedWeighing {
  readonly load: Load
  readonly scaleId: number
  /** Standard uncertainty of the best weight at the limit with it, lb. */
  readonly uAfterLb: number
  /** Share of the tolerance that the 95 % half-width at the limit falls by. */
  readonly regained: number
  readonly why: WhyWeigh
  /** Whether it teaches enough to send the unit to a scale for it alone; else only when it passes one anyway. */
  readonly isWorthTrip: boolean
}

/** The weighings that would teach most of a group; plain data, kept with its standing. */
export interface WeighingOffer {
  /** The lift state to weigh in; null for any. */
  readonly lift: LiftState | null
  readonly uNowLb: number
  /** The one that teaches most first; at least one, none of them twice. */
  readonly weighings: readonly OfferedWeighing[]
}

/** A trip is worth it where the 95 % half-width at the limit falls by this share, and by the ticket's own scatter. */
const leastFall = 0.1
/** What a weighing teaches is told from so many lb on: less would not show in the figures. */
const leastToldLb = 10
/** A scale that the group never stood on has to leave so much less than one that it did; it may be far away. */
const leastForNewScale = 0.05
const mostScales = 8
/** Kept of either load: a trip serves all groups of a unit, and one scale suits them all. */
const keptOfLoad = 3
/** A weighing within this share of the span from an end counts as empty, or as loaded. */
const nearEnd = 0.25
/** So many days without a weighing are long. */
const longAgoDays = 60
const fewWeighings = 8

/** A scale that a group could be weighed on. */
interface Candidate extends ScaleToWeighOn {
  /** Whether the group stood on it in this life of its line. */
  readonly isOwn: boolean
  /** Its finding says to weigh elsewhere until it is settled. */
  readonly isBiased: boolean
}

/**
 * What is known of a scale on the day. A fleet's scale is taken as usual: an edit of it touches only those it weighed.
 */
function candidate(scaleId: number, isOwn: boolean, context: AssessmentContext): Candidate {
  const { rules, scales, asOf } = context
  const scale = isOwn ? scales.get(scaleId) : undefined
  const effect = effectOf(context, scaleId, asOf)
  return {
    scaleId,
    isOwn,
    isBiased: scaleVerdict(effect, toleranceOf(scale, rules), rules) === 'biased',
    uGain: effect.u,
    uTicketLb: ticketUncertaintyLb(divisionOf(scale, rules), rules.ticketRepeatabilityLb),
  }
}

/**
 * The scales of a life that are not biased, the last one first; where it was on one alone, those too that the fleet
 * uses most.
 */
function candidates({ series }: LifeState, context: AssessmentContext): Candidate[] {
  const own: number[] = []
  for (let place = series.points.length - 1; place >= 0 && own.length < mostScales; place -= 1) {
    const { scaleId } = series.points[place] as (typeof series.points)[number]
    if (!own.includes(scaleId)) own.push(scaleId)
  }
  const others =
    own.length > 1
      ? []
      : [...context.estimates.scales.values()]
          .filter(({ scaleId, weighings }) => weighings > 0 && !own.includes(scaleId))
          .sort((a, b) => b.weighings - a.weighings || a.scaleId - b.scaleId)
          .slice(0, mostScales - own.length)
  return [
    ...own.map((scaleId) => candidate(scaleId, true, context)),
    ...others.map(({ scaleId }) => candidate(scaleId, false, context)),
  ].filter(({ isBiased }) => !isBiased)
}

const isTold = ({ uNowLb, uAfterLb }: WeighingGain): boolean => expanded(uNowLb - uAfterLb) >= leastToldLb

const isWorthIt = ({ uNowLb, uAfterLb }: WeighingGain, { uTicketLb }: Candidate): boolean => {
  const fallLb = expanded(uNowLb - uAfterLb)
  return fallLb >= leastFall * expanded(uNowLb) && fallLb >= uTicketLb
}

const loadOf = ({ share }: Pick<WeighingGain, 'share'>): Load => (share < 0.5 ? 'empty' : 'loaded')

/** When a life was last weighed with a load, ms; undefined where it never was. */
function lastWeighed({ state, series }: LifeState, load: Load): number | undefined {
  const { share } = state.columns
  return series.points.findLast((_, place) =>
    load === 'empty' ? (share[place] as number) <= nearEnd : (share[place] as number) >= 1 - nearEnd,
  )?.at
}

function whyWeigh(
  load: Load,
  isNewScale: boolean,
  life: LifeState,
  trail: CheckTrail,
  context: AssessmentContext,
): WhyWeigh {
  const { asOf, rules } = context
  if (trail.physical === life && trail.standing !== 'holds') return [trail.standing]
  const on = lastWeighed(life, load)
  const workedAt = Number.isFinite(life.from) ? life.from : null
  if (on === undefined) return ['never', { load, workedAt }]
  if (isNewScale) return ['one scale']
  const { length } = life.series.points
  const isLongAgo = daysBetween(dayOf(on, rules.zone), dayOf(asOf, rules.zone)) > longAgoDays
  return isLongAgo || length > fewWeighings ? ['last', { load, on }] : ['few', { weighings: length, workedAt }]
}

/**
 * The weighings that would teach most of the weight at the limit, by the newest line of a group and the life that it is
 * in by now; null where none would teach anything to speak of, and where the group has to be calibrated first.
 */
export function weighingOffer(
  trail: CheckTrail,
  states: GroupStates,
  toleranceLb: number,
  context: AssessmentContext,
): WeighingOffer | null {
  const life = states.find(({ lift, until }) => lift === trail.life.lift && until === Number.POSITIVE_INFINITY)
  if (!life) return null
  const scales = new Map(candidates(life, context).map((each) => [each.scaleId, each]))
  const all = teachingWeighings(life.state, context.asOf, [...scales.values()]).map((gain) => ({
    ...gain,
    load: loadOf(gain),
    scale: scales.get(gain.scaleId) as Candidate,
  }))
  const isFarBetter = ({ load, uAfterLb }: (typeof all)[number]) =>
    all.every((each) => !each.scale.isOwn || each.load !== load || uAfterLb < (1 - leastForNewScale) * each.uAfterLb)
  const told = all.filter((gain) => isTold(gain) && (gain.scale.isOwn || isFarBetter(gain)))
  const weighings = told
    .filter(({ load }, place) => told.slice(0, place).filter((each) => each.load === load).length < keptOfLoad)
    .map((gain) => ({
      load: gain.load,
      scaleId: gain.scaleId,
      uAfterLb: gain.uAfterLb,
      regained: expanded(gain.uNowLb - gain.uAfterLb) / toleranceLb,
      why: whyWeigh(gain.load, !gain.scale.isOwn, life, trail, context),
      isWorthTrip: isWorthIt(gain, gain.scale),
    }))
  return told[0] ? { lift: life.lift, uNowLb: told[0].uNowLb, weighings } : null
}
