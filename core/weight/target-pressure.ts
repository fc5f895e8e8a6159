import { pressureUncertaintyPsi } from '#core/evidence/calibrate.ts'
import { lineAt } from '#core/evidence/line-in-use.ts'
import { type LineCircuits, mountAt } from '#core/evidence/read-pressure.ts'
import { lifeAt } from '#core/evidence/state/life-states.ts'
import { probabilityAbove } from '#core/evidence/state/weight-mixture.ts'
import { type CorrelatedWeight, type WeightSum, sumWeights } from '#core/weight/correlated.ts'
import { type WeighingLife, lifeWeight } from '#core/weight/life-weight.ts'
import { type Verdict, judgeSum, probabilityOver } from '#core/weight/verdict.ts'
import {
  type PreparedGroup,
  type UnweighedGroup,
  type WeighingLine,
  lineWeight,
  nameOf,
  withoutLine,
} from '#core/weight/weigh.ts'
import type { WhyNoLoad } from '#core/words/sentences/load-to.ts'
import type { LiftState } from '#core/words/vocabulary.ts'

/** What turns pressures of a group into weights at a time: by all evidence of its life, or else by its line. */
export interface PressureReader {
  readonly line: WeighingLine
  /** The line is ended by recorded work: the weighings since then read provisionally. */
  readonly isProvisional: boolean
  /** A change is suspected and not established. */
  readonly isSuspect: boolean
  readonly isThin: boolean
  readonly circuits: LineCircuits
  /** The weight of a gauge pressure, psi, as leveled and as the sensors mounted then show it. */
  readonly weightOf: (psi: number) => CorrelatedWeight
}

/**
 * Variance of one look at a group's pressure, psi²: as leveled, and the resolution of the sensors mounted at a time.
 */
function lookVarPsi2(group: PreparedGroup, { circuits, shares }: LineCircuits, levelingVarPsi2: number, at: number) {
  const resolutions = circuits.map((place) => {
    const circuit = group.circuits[place]
    return (circuit && mountAt(circuit, at)?.resolutionPsi) ?? group.resolutionPsi
  })
  return pressureUncertaintyPsi(resolutions, shares, Math.sqrt(levelingVarPsi2)) ** 2
}

function readerOf(group: PreparedGroup, line: WeighingLine, life: WeighingLife | undefined, at: number) {
  if (life === undefined) {
    const varPsi2 = lookVarPsi2(group, line, group.levelingVarPsi2, at)
    return {
      isSuspect: false,
      isThin: false,
      circuits: line,
      weightOf: (psi: number) => lineWeight(line, at, { psi, varPsi2 }),
    }
  }
  const varPsi2 = lookVarPsi2(group, life.line, life.settlingVarPsi2, at)
  return {
    isSuspect: life.standing.isSuspect,
    isThin: at > life.standing.thinFrom,
    circuits: life.line,
    weightOf: (psi: number) => lifeWeight(life, at, { psi, varPsi2 }),
  }
}

/** What reads the pressures of a group at a time (ms UTC) in a lift state, or why nothing does. */
export function pressureReader(
  group: PreparedGroup,
  at: number,
  lift: LiftState | null,
): PressureReader | UnweighedGroup {
  const reading = { takenAt: at, lift }
  const found = lineAt(group.lines, reading)
  if (!('reason' in found))
    return {
      ...readerOf(group, found, lifeAt(group.lives, found.lift, reading), at),
      line: found,
      isProvisional: false,
    }
  const life = found.reason === 'upset' ? lifeAt(group.lives, found.line.lift, reading) : undefined
  return found.reason === 'upset' && life?.carries === true
    ? { ...readerOf(group, found.line, life, at), line: found.line, isProvisional: true }
    : withoutLine(group, found, reading)
}

const weigh = ({ weightOf }: PressureReader, psi: number): WeightSum => sumWeights([weightOf(psi)])

/** The weight at no pressure and what a psi adds, lb: every reader's weight rises evenly with the pressure. */
function slopeOf({ weightOf }: PressureReader): { readonly a: number; readonly b: number } {
  const a = weightOf(0).weightLb
  return { a, b: weightOf(1).weightLb - a }
}

const smallestStepPsi = 1e-7

/**
 * The highest gauge pressure at which a group is still `under` its limit at a confidence c: where the probability of
 * being over rises to 1 - c. By halving between the pressure that reads nothing and the one that reads the limit,
 * where it is about a half; on the side that is under, to 1e-7 psi.
 *
 * Units: psi gauge, lb, percent. undefined where even the lightest load is not surely under, or the weight does not
 * rise with the pressure. Source: JCGM 106:2012, 8.3 for the guard band.
 */
export function targetPressurePsi(
  reader: PressureReader,
  limitLb: number,
  confidencePercent: number,
): number | undefined {
  const { a, b } = slopeOf(reader)
  if (!(b > 0)) return undefined
  const isUnder = (psi: number): boolean => {
    const sum = weigh(reader, psi)
    const pOver = sum.mixture ? probabilityAbove(sum.mixture, limitLb) : probabilityOver(sum.weightLb, sum.uLb, limitLb)
    return pOver <= 1 - confidencePercent / 100
  }
  let under = Math.max(0, -a / b)
  let above = (limitLb - a) / b
  if (above > under && isUnder(above)) return above
  if (!(under < above && isUnder(under))) return undefined
  while (above - under > smallestStepPsi) {
    const middle = (under + above) / 2
    if (isUnder(middle)) under = middle
    else above = middle
  }
  return under
}

/** The pressure to load a group to, psi gauge, or why its line cannot carry one. */
export type LoadTo = { readonly psi: number } | { readonly why: WhyNoLoad }

function findLoadTo(
  group: PreparedGroup,
  limitLb: number,
  confidencePercent: number,
  at: number,
  lift: LiftState | null,
): LoadTo {
  const reader = pressureReader(group, at, lift)
  if ('reason' in reader) return { why: ['no line', reader.why] }
  if (reader.isSuspect) return { why: ['suspect', { name: nameOf(group) }] }
  const psi = targetPressurePsi(reader, limitLb, confidencePercent)
  return psi === undefined
    ? { why: ['too uncertain', { name: nameOf(group), percent: confidencePercent, provisional: reader.isProvisional }] }
    : { psi }
}

interface Known {
  readonly at: number
  readonly limitLb: number
  readonly confidencePercent: number
  readonly byLift: Map<LiftState | null, LoadTo>
}
const known = new WeakMap<PreparedGroup, Known>()

/**
 * The one pressure to load a group to, everywhere: guarded by the House Rules' confidence, by all evidence, at a time
 * (ms UTC) which is today's. Found once for all readings of a group.
 */
export function loadTo(
  group: PreparedGroup,
  limitLb: number,
  confidencePercent: number,
  at: number,
  lift: LiftState | null,
): LoadTo {
  let kept = known.get(group)
  if (kept?.at !== at || kept.limitLb !== limitLb || kept.confidencePercent !== confidencePercent) {
    kept = { at, limitLb, confidencePercent, byLift: new Map() }
    known.set(group, kept)
  }
  let found = kept.byLift.get(lift)
  if (found === undefined) {
    found = findLoadTo(group, limitLb, confidencePercent, at, lift)
    kept.byLift.set(lift, found)
  }
  return found
}

/** What a gauge pressure stands for. */
export interface PressureStep {
  readonly psi: number
  readonly weightLb: number
  /** Standard uncertainty of one reading at that pressure, lb. */
  readonly uLb: number
  readonly verdict: Verdict
}

/** A group's pressures turned into weights, in even steps, to be read off without a computer. */
export interface PressureTable {
  readonly stepPsi: number
  readonly steps: readonly PressureStep[]
  readonly limitLb: number
  /** Standard uncertainty of a reading at the limit, lb. */
  readonly uLimitLb: number
}

const niceSteps = [1, 2, 5, 10, 20] as const
/** So far past the limit the table goes on: who stands there must see how far over it is. */
const pastLimit = 1.12

/**
 * The table of a group from the pressure of its line's lightest calibration weight (or a little below) to one tenth
 * past its limit, in the smallest of 1, 2, 5, 10 or 20 steps of a gauge (`gaugeStepPsi`) that needs at most
 * `mostSteps` rows.
 *
 * Uncertainty as in `weighGroup`, k = 1; the pressure is the mean of the circuits by their air springs. Units: psi
 * gauge, lb. Range: a weight that rises with the pressure; undefined otherwise.
 */
export function pressureTable(
  reader: PressureReader,
  limitLb: number,
  confidencePercent: number,
  mostSteps: number,
  gaugeStepPsi = 1,
): PressureTable | undefined {
  const { a, b } = slopeOf(reader)
  if (!(b > 0)) return undefined
  const last = (pastLimit * limitLb - a) / b
  const first = Math.max(0, -a / b, Math.min(reader.line.lightestPsi, last))
  const fits = (step: number) => Math.floor(last / step) - Math.floor(first / step) + 1 <= mostSteps
  const stepPsi =
    niceSteps.map((steps) => steps * gaugeStepPsi).find(fits) ??
    Math.ceil((last - first) / mostSteps / gaugeStepPsi) * gaugeStepPsi
  const steps: PressureStep[] = []
  for (let place = Math.max(1, Math.floor(first / stepPsi)); place * stepPsi <= last; place += 1) {
    const psi = place * stepPsi
    const sum = weigh(reader, psi)
    const { weightLb, uLb } = sum
    if (weightLb >= 0)
      steps.push({ psi, weightLb, uLb, verdict: judgeSum(sum, limitLb, confidencePercent, reader.isThin).verdict })
  }
  return { stepPsi, steps, limitLb, uLimitLb: weigh(reader, (limitLb - a) / b).uLb }
}
