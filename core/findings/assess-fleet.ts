import {
  type FleetEstimates,
  estimatesFromRules,
  familyFigures,
  familyKey,
  unlearntScale,
} from '#core/evidence/estimates.ts'
import {
  type FleetRecord,
  type FleetSource,
  type GroupFacts,
  type GroupHistory,
  sourceOf,
} from '#core/evidence/history.ts'
import { statedLifts } from '#core/evidence/lift.ts'
import { lineLives } from '#core/evidence/line-life.ts'
import { scaleEffects } from '#core/evidence/scales/scale-effects.ts'
import type { GroupLife } from '#core/evidence/scales/stretch.ts'
import { assessGroup } from '#core/findings/assess-group.ts'
import type { AssessmentContext, GroupAssessment } from '#core/findings/assessment.ts'
import type { Finding } from '#core/findings/finding.ts'
import { notDismissed } from '#core/findings/set-aside.ts'
import { scaleFindings, ticketFindings } from '#core/findings/ticket-findings.ts'
import { type WeatherOf, type WeatheredLife, fleetWeather } from '#core/evidence/state/fleet-weather.ts'
import { type FleetTeacher, learnFleet } from '#core/evidence/state/learn-fleet.ts'
import { physicalLives } from '#core/evidence/state/physical-lives.ts'
import { changePriorsOf, lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import type { Line } from '#core/line/fit.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** A group as judged within its fleet. */
export interface JudgedGroup extends GroupAssessment {
  /** Ids of other groups whose lines were looked at: a change of theirs may be one for this group. */
  readonly lookedAt: readonly number[]
}

/** A fleet as judged; the groups of a large one are judged one at a time, as they are asked for. */
export interface FleetJudgement {
  readonly groups: Iterable<JudgedGroup>
  /** Findings about tickets and scales, not about one group. */
  readonly others: readonly Finding[]
  readonly estimates: FleetEstimates
}

export interface FleetAssessment extends FleetJudgement {
  readonly groups: readonly JudgedGroup[]
}

/**
 * Groups that teach what the fleet's scales, noise and families are like: all of a small fleet, an even choice of a
 * large one.
 */
const mostTeachers = 1500
/** Of them, as many as teach noise and troubles, which cost some hundred passes over each. */
const mostNoiseTeachers = 240

const evenChoice = <G>(groups: readonly G[], most: number): G[] => {
  const step = Math.max(1, Math.ceil(groups.length / most))
  return groups.filter((_, place) => place % step === 0)
}

/** The groups of a fleet that teach: no other history is asked for while its figures are learnt. */
export const teachersOf = (groups: readonly GroupFacts[]): ReadonlySet<GroupFacts> =>
  new Set([...evenChoice(groups, mostTeachers), ...evenChoice(groups, mostNoiseTeachers)])

/** A line as its family sees it. */
interface LineOfGroup {
  readonly group: GroupFacts
  readonly line: Line
}

/**
 * The lines of the groups that teach with how their pressures follow the weather, each made when it is asked for: only
 * what is learnt from them stays in memory. The newest of each group is noted for the families.
 */
function* teach(
  { groups, historyOf, scales }: FleetSource,
  { rules, estimates, weather }: { rules: HouseRules; estimates: FleetEstimates; weather: WeatherOf },
  newest: Map<number, LineOfGroup>,
): Generator<GroupLife> {
  for (const group of evenChoice(groups, mostTeachers)) {
    const { groupId } = group
    const history = historyOf(groupId)
    if (!history) continue
    for (const life of lineLives(history, { rules, scales, estimates })) {
      newest.set(groupId, { group, line: { ...life.line.fit } })
      yield { groupId, life, weatherAt: (at) => weather(groupId, at) }
    }
  }
}

/** The lift states whose weighings teach apart: both where both were weighed in, else whatever it was. */
function liftsApart({ observations }: GroupHistory): (LiftState | null)[] {
  const weighed = (state: LiftState) => observations.some(({ lift, weightLb }) => lift === state && weightLb !== null)
  return statedLifts.every(weighed) ? [...statedLifts] : [null]
}

/** The physical lives of some groups, an even choice of so many at most, as they teach how lines behave. */
function* lifeTeachers(
  { groups, historyOf, scales, tickets }: FleetSource,
  most: number,
  rules: HouseRules,
  estimates: FleetEstimates,
): Generator<FleetTeacher & WeatheredLife> {
  for (const { groupId } of evenChoice(groups, most)) {
    const history = historyOf(groupId)
    if (!history) continue
    const facts = { rules, scales, tickets, estimates }
    const lives = liftsApart(history).flatMap((lift) => physicalLives(history, lift, facts, rules.levelingPsi))
    for (const { from, until, series, observations } of lives) {
      const degreesF = observations.map(({ temperatureF }) => temperatureF)
      yield { groupId, from, until, series, kind: familyKey(history), degreesF }
    }
  }
}

/**
 * What the record tells about the whole fleet: how pressures follow the weather by the House Rules' noise, with that
 * the biases of scales, families of lines, then how lines behave, go wrong and follow the weather with these taken into
 * account.
 */
export function learnEstimates(source: FleetSource, rules: HouseRules): FleetEstimates {
  const initial = estimatesFromRules(rules)
  const trueScales = new Map([...source.scales.keys()].map((scaleId) => [scaleId, unlearntScale(scaleId, 0)]))
  const weather = fleetWeather(lifeTeachers(source, mostTeachers, rules, initial), initial.noise.fleet, initial.priors)
  const newest = new Map<number, LineOfGroup>()
  const taught = teach(source, { rules, estimates: { ...initial, scales: trueScales }, weather }, newest)
  const scales = scaleEffects(taught, source.scales, rules)
  const known = { ...initial, scales, families: familyFigures([...newest.values()]) }
  const { noise, priors, temperature } = learnFleet(
    [...lifeTeachers(source, mostNoiseTeachers, rules, known)],
    lineNoiseOf(rules),
    changePriorsOf(rules),
  )
  const { fleet, kinds, u, weighings: checks } = noise
  return {
    ...known,
    noise: { fleet, kinds },
    priors,
    temperature,
    leveling: { value: fleet.levelingPsi, u: u?.levelingPsi ?? null, checks },
    wander: { value: fleet.wanderPsi, u: u?.wanderPsi ?? null, checks },
  }
}

interface Given {
  /** The fleet's estimates from an earlier judgement of the whole: with them a part is judged as within the whole. */
  readonly known?: FleetEstimates | undefined
  /** How far the fleet's readings reach, ms UTC; the day itself where it is left out. */
  readonly heardUntil?: number | undefined
  /** Marks of findings set aside, see `dismissalMark`. */
  readonly dismissed?: ReadonlySet<string>
}

/** What the groups of a source are judged by. */
export function contextOf(
  source: FleetSource,
  known: Omit<AssessmentContext, 'scales' | 'tickets' | 'historyOf' | 'livesOf'>,
): AssessmentContext {
  const { scales, tickets } = source
  const historyOf = (groupId: number) => source.historyOf(groupId)
  const livesOf = (groupId: number) => {
    const history = historyOf(groupId)
    return history && lineLives(history, { ...known, scales })
  }
  return { ...known, scales, tickets, historyOf, livesOf }
}

/** Judges every sensed group of a source, one at a time. */
export function* judgeGroups(source: FleetSource, context: AssessmentContext): Generator<JudgedGroup> {
  for (const { groupId } of source.groups) {
    const history = source.historyOf(groupId)
    if (!history) continue
    const lookedAt = new Set<number>()
    const noting = (other: number) => {
      lookedAt.add(other)
      return context.livesOf(other)
    }
    yield { ...assessGroup(history, { ...context, livesOf: noting }), lookedAt: [...lookedAt] }
  }
}

/** Findings about the tickets and scales of a source, not about one group. */
export function otherFindings({ scales, tickets }: FleetSource, context: AssessmentContext): Finding[] {
  const { rules, estimates, dismissed } = context
  const others = scaleFindings(scales, rules, estimates)
  for (const ticket of tickets.values()) others.push(...ticketFindings(ticket, context))
  return notDismissed(others, dismissed)
}

/** Judges every sensed group of a source on a day, and its tickets and scales. */
export function judgeFleet(
  source: FleetSource,
  rules: HouseRules,
  asOf: number,
  { known, heardUntil = asOf, dismissed = new Set() }: Given = {},
): FleetJudgement {
  const estimates = known ?? learnEstimates(source, rules)
  const context = contextOf(source, { rules, estimates, asOf, heardUntil, dismissed })
  const groups = { [Symbol.iterator]: () => judgeGroups(source, context) }
  return { groups, others: otherFindings(source, context), estimates }
}

/** Judges a record that is in memory, all groups at once. */
export function assessFleet(record: FleetRecord, rules: HouseRules, asOf: number, given: Given = {}): FleetAssessment {
  const { groups, others, estimates } = judgeFleet(sourceOf(record), rules, asOf, given)
  return { groups: [...groups], others, estimates }
}
