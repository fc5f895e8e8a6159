import { type FleetEstimates, familyKey } from '#core/evidence/estimates.ts'
import type { GroupFacts, GroupHistory, Observation } from '#core/evidence/history.ts'
import { type LiftOfPoints, liftFits } from '#core/evidence/lift.ts'
import { columnsOf } from '#core/evidence/state/columns.ts'
import { type LineState, lineState, stateOf } from '#core/evidence/state/line-state.ts'
import { type LifeFacts, type PhysicalLife, physicalLives } from '#core/evidence/state/physical-lives.ts'
import type { LineNoise } from '#core/evidence/state/series.ts'
import {
  type TemperatureEffect,
  seriesAtReference,
  temperatureEffect,
  temperatureSign,
} from '#core/evidence/state/temperature.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** One physical life with what all its weighings together say of its line. */
export interface LifeState extends PhysicalLife {
  readonly state: LineState
  readonly noise: LineNoise
  /** How its pressure follows the weather: bring a pressure to the reference temperature before it is weighed. */
  readonly weather: TemperatureEffect
}

/** What states are made of beside the group's own history. */
export interface StateFacts extends LifeFacts {
  readonly estimates: FleetEstimates
}

/** How healthy lines of a group's kind of suspension behave. */
export const noiseOf = (history: GroupFacts, { noise }: FleetEstimates): LineNoise =>
  noise.kinds.get(familyKey(history) ?? '') ?? noise.fleet

/** Standard uncertainty of one pressure as levelled, psi: an ordinary settling and the wild ones among them. */
export const settlingPsi = ({ levelingPsi, tailShare, tailScale }: LineNoise): number =>
  levelingPsi * Math.sqrt(1 - tailShare + tailShare * tailScale * tailScale)

/** The lives of a group in one lift state (null: whatever it is), oldest first, each followed through its weighings. */
export function lifeStates(history: GroupHistory, lift: LiftState | null, facts: StateFacts): LifeState[] {
  const { estimates } = facts
  const noise = noiseOf(history, estimates)
  return physicalLives(history, lift, facts, noise.levelingPsi).map((life) => {
    const degreesF = life.observations.map(({ temperatureF }) => temperatureF)
    const columns = columnsOf(life.series, noise, estimates.priors)
    const weather = temperatureEffect(temperatureSign(columns, degreesF), estimates.temperature)
    const series = seriesAtReference(life.series, degreesF, weather)
    const state = series === life.series ? stateOf(columns) : lineState(series, noise, estimates.priors)
    return { ...life, series, noise, weather, state }
  })
}

/** The states of a group by the lift states that its lines keep apart. */
export type GroupStates = readonly LifeState[]

/** The lives of a group in every lift state that its lines keep apart; points that mix the states make no life. */
export function groupStates(history: GroupHistory, lifts: readonly LiftOfPoints[], facts: StateFacts): GroupStates {
  const apart = [...new Set(lifts)].filter((lift) => lift !== 'both')
  return apart.flatMap((lift) => lifeStates(history, lift, facts))
}

/** The life that a reading belongs to: of its time, in the lift state of the line that weighs it. */
export const lifeAt = <L extends Pick<LifeState, 'from' | 'until' | 'lift'>>(
  states: readonly L[],
  lineLift: LiftOfPoints,
  { takenAt, lift }: Pick<Observation, 'takenAt' | 'lift'>,
): L | undefined =>
  states.find(
    (life) => life.lift === lineLift && life.from <= takenAt && takenAt < life.until && liftFits(lineLift, lift),
  )
