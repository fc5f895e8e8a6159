import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import type { LiftOfPoints } from '#core/evidence/lift.ts'
import { type PressureReading, readPressure } from '#core/evidence/read-pressure.ts'
import { type LineReader, ownPartsAt, readerOf, weightAt } from '#core/evidence/state/best-weight.ts'
import { type LifeState, type StateFacts, groupStates, settlingPsi } from '#core/evidence/state/life-states.ts'
import { atReference } from '#core/evidence/state/temperature.ts'
import { type OtherUnit, type Standing, inOtherUnit, standingOf } from '#core/evidence/state/troubles.ts'
import { type MixturePart, fewParts, mixtureOf } from '#core/evidence/state/weight-mixture.ts'
import type { CorrelatedWeight, GainPart } from '#core/weight/correlated.ts'
import { expanded } from '#core/words/coverage.ts'

/** A life of a group made ready to weigh many readings by all of its evidence. */
export interface WeighingLife extends Pick<LifeState, 'from' | 'until' | 'lift' | 'line' | 'weather'> {
  readonly reader: LineReader
  /** Variance of one pressure as leveled, psi². */
  readonly settlingVarPsi2: number
  readonly standing: Standing
  /** Its weighings whose pressure was noted in another unit, as their tickets tell, by when they were read, ms. */
  readonly inOtherUnit: ReadonlyMap<number, OtherUnit>
  /** Whether its weighings can carry a line by themselves while nobody has calibrated one: see `carriesLine`. */
  readonly carries: boolean
}

/**
 * A provisional line needs two weighings whose pressures lie a quarter of the way from empty to limit apart, or
 * evidence by which a weight at the limit is good to 5 % of it (95 %). Choices: nearer weighings tell no slope, and
 * 5 % is what a driver still can leave room for.
 */
const differentShare = 0.25
const narrowShare = 0.05

function carriesLine({ state, series, noise }: LifeState, limitLb: number): boolean {
  const { share, size, from } = state.columns
  if (Math.max(...share) - Math.min(...share) >= differentShare) return true
  const { points, limitPsi } = series
  const last = points[size - 1]?.at ?? from
  return expanded(weightAt(state, last, limitPsi, settlingPsi(noise)).uLb) <= narrowShare * limitLb
}

/** The lives of a group in the lift states that its lines keep apart, each with what its weighings together say. */
export const weighingLives = (
  history: GroupHistory,
  lifts: readonly LiftOfPoints[],
  limitLb: number,
  facts: StateFacts,
): WeighingLife[] =>
  groupStates(history, lifts, facts).map((life) => ({
    from: life.from,
    until: life.until,
    lift: life.lift,
    line: life.line,
    reader: readerOf(life.state),
    weather: life.weather,
    settlingVarPsi2: settlingPsi(life.noise) ** 2,
    standing: standingOf(life.state),
    inOtherUnit: new Map(
      life.observations.flatMap(({ takenAt }, place): [number, OtherUnit][] => {
        const other = inOtherUnit(life.state, place)
        return other === null ? [] : [[takenAt, other]]
      }),
    ),
    carries: carriesLine(life, limitLb),
  }))

/** A pressure as a life reads it, at the temperature that its line is kept at, with its whole variance, psi². */
export interface LifePressure {
  readonly psi: number
  readonly varPsi2: number
}

/** The pressure that a reading has for a life; undefined where a circuit of the life was not read. */
export function pressureOfLife(
  group: Pick<GroupHistory, 'circuits'>,
  life: WeighingLife,
  reading: PressureReading & Pick<Observation, 'temperatureF'>,
  resolutionPsi: number,
): LifePressure | undefined {
  const read = readPressure(group, life.line, reading, resolutionPsi)
  if ('reason' in read) return undefined
  const { psi, variance } = atReference(life.weather, read.psi, reading.temperatureF)
  return { psi, varPsi2: life.settlingVarPsi2 + read.resolutionVarPsi2 + variance }
}

const gainsOf = ({ scales }: LineReader, weightLb: number): GainPart[] =>
  scales.map(({ scaleId, u }) => ({ scaleId, lb: u * weightLb }))

/**
 * What all evidence of a life says that a pressure weighs at a time: smoothed in the past, forecast after its last
 * weighing (`ownPartsAt`). The scales' errors are kept apart, each as its share in the life's tickets, since other
 * weights have part in them.
 *
 * other: what the pressure is if it was noted in another unit, mixed in by how probable that is.
 *
 * Units: ms UTC, psi, psi²; lb.
 */
export function lifeWeight(
  { reader }: WeighingLife,
  at: number,
  { psi, varPsi2 }: LifePressure,
  other?: OtherUnit,
): CorrelatedWeight {
  const partsAt = (read: number) => ownPartsAt(reader, at, read, Math.sqrt(varPsi2))
  const sharing = (parts: readonly MixturePart[], share: number) =>
    share > 0 ? parts.map((part) => ({ ...part, share: share * part.share })) : []
  const parts = fewParts(
    other === undefined
      ? partsAt(psi)
      : [...sharing(partsAt(psi), 1 - other.probability), ...sharing(partsAt(other.psi), other.probability)],
  )
  const [only] = parts
  if (parts.length === 1 && only !== undefined) {
    const { mean: weightLb, variance: ownVarLb2 } = only
    return { weightLb, ownVarLb2, gains: gainsOf(reader, weightLb), follows: null }
  }
  const { weightLb, uLb } = mixtureOf(parts)
  const ownParts = parts.map(({ share, mean, variance }) => ({ share, mean: mean - weightLb, variance }))
  return { weightLb, ownVarLb2: uLb * uLb, ownParts, gains: gainsOf(reader, weightLb), follows: null }
}
