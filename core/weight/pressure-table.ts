import { predictWeight } from '#core/line/predict.ts'
import { ageDays, groupTargetPsi, readingUncertaintyPsi } from '#core/weight/target-pressure.ts'
import { judgeWeight, type Verdict } from '#core/weight/verdict.ts'
import type { PreparedGroup } from '#core/weight/weigh.ts'
import type { WeighingLine } from '#core/weight/weighing-line.ts'

/** What a gauge pressure stands for. */
export interface PressureStep {
  readonly psi: number
  readonly weightLb: number
  /** Standard uncertainty of one reading at that pressure, lb. */
  readonly uLb: number
  readonly verdict: Verdict
}

/** A group's pressures turned into weights on one of its lines, in even steps, to be read off without a computer. */
export interface PressureTable {
  readonly stepPsi: number
  readonly steps: readonly PressureStep[]
  readonly limitLb: number
  /** The highest pressure that is still surely under the limit; null where the line is too uncertain to load by. */
  readonly targetPsi: number | null
  /** Standard uncertainty of a reading at the limit, lb. */
  readonly uLimitLb: number
}

const niceSteps = [1, 2, 5, 10, 20] as const
/** So far past the limit the table goes on: who stands there must see how far over it is. */
const pastLimit = 1.12

/**
 * The table of a line from the pressure of its lightest calibration weight (or a little below) to one tenth past its
 * limit, in the smallest of 1, 2, 5, 10 or 20 psi that needs at most `mostSteps` steps.
 *
 * Uncertainty as in `weighGroup`, k = 1; the pressure is the mean of the line's circuits by their air springs. Units:
 * psi gauge, lb; at ms UTC. Range: slope above zero; undefined otherwise.
 */
export function pressureTable(
  group: PreparedGroup,
  line: WeighingLine,
  limitLb: number,
  confidencePercent: number,
  at: number,
  mostSteps: number,
): PressureTable | undefined {
  const { a, b } = line.line
  if (!(b > 0)) return undefined
  const days = ageDays(line, at)
  const uPsi = readingUncertaintyPsi(group, line, at)
  const uAt = (psi: number): number =>
    Math.sqrt(predictWeight(line.line, psi, uPsi).u ** 2 + (line.wander?.(psi, days) ?? 0))
  const last = (pastLimit * limitLb - a) / b
  const first = Math.max(0, -a / b, Math.min(line.lightestPsi, last))
  const fits = (step: number) => Math.floor(last / step) - Math.floor(first / step) + 1 <= mostSteps
  const stepPsi = niceSteps.find(fits) ?? Math.ceil((last - first) / mostSteps)
  const steps: PressureStep[] = []
  for (let place = Math.max(1, Math.floor(first / stepPsi)); place * stepPsi <= last; place += 1) {
    const psi = place * stepPsi
    const weightLb = a + b * psi
    const uLb = uAt(psi)
    if (weightLb >= 0)
      steps.push({ psi, weightLb, uLb, verdict: judgeWeight(weightLb, uLb, limitLb, confidencePercent).verdict })
  }
  return {
    stepPsi,
    steps,
    limitLb,
    targetPsi: groupTargetPsi(group, line, limitLb, confidencePercent, at) ?? null,
    uLimitLb: uAt((limitLb - a) / b),
  }
}
