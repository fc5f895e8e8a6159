import { parseArgs } from 'node:util'
import { lineState } from '#core/evidence/state/line-state.ts'
import { changePriorsOf, lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import type { WeighedPoint } from '#core/evidence/state/series.ts'
import { teachingWeighings, weightsNow } from '#core/evidence/state/weigh-next.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { dayMs } from '#demo/simulation/clock.ts'
import { Random } from '#demo/simulation/random.ts'
import { drawScales, ordinaryWorld, seriesOf, simulateLine } from '#tests/bed/simulate-lines.ts'

const noise = {
  ...lineNoiseOf(defaultHouseRules),
  levelingPsi: ordinaryWorld.levelingPsi,
  wanderPsi: ordinaryWorld.wanderPsi,
  tailShare: 0.001,
}
const priors = changePriorsOf(defaultHouseRules)
const uGain = 0.002 / Math.sqrt(3)

/**
 * Root mean squares over many lines of the error at the limit, lb: expected with the weighing, realised, and without.
 */
export interface Lesson {
  readonly lines: number
  readonly expectedLb: number
  readonly realisedLb: number
  readonly beforeLb: number
}

/**
 * Follows lines through their first calibration and few checks, sends each to the weighing that teaches most, and
 * compares what was promised with what came of it, at the limit and on the day. Healthy lines: the promise is about
 * noise, changes come on top.
 */
export function expectedAndRealised(seed: string, lines: number): Lesson {
  const sum = { expected: 0, realised: 0, before: 0 }
  for (let k = 0; k < lines; k += 1) {
    const random = new Random(`${seed}/${k}`)
    const gains = drawScales(random)
    const line = simulateLine({ ...ordinaryWorld, wanderPsi: 0 }, null, gains, random)
    const whole = seriesOf(line)
    const points = whole.points.slice(0, 4)
    const series = { ...whole, points, slipsOf: () => [] }
    const still = { ...noise, wanderPsi: 0.001 }
    const state = lineState(series, still, priors)
    const at = (points.at(-1) as WeighedPoint).at + 7 * dayMs
    const offered = gains.map((_, scaleId) => ({ scaleId, uGain, uTicketLb: 40 }))
    const [best] = teachingWeighings(state, at, offered)
    if (best === undefined) throw new RangeError('no scale to weigh on')
    const { atLimit } = weightsNow(state, at)
    // The truth of the simulator: what stands on the group where its pressure is the limit one.
    const trueLb = (psi: number) => line.interceptLb + line.slopeLbPerPsi * psi
    const psi = whole.emptyPsi + best.share * (whole.limitPsi - whole.emptyPsi)
    const shown = trueLb(psi) * (1 + (gains[best.scaleId] as number)) + random.normal(40)
    const next: WeighedPoint = {
      at,
      psi: psi + random.normal(ordinaryWorld.levelingPsi),
      weightLb: shown,
      varOtherLb2: 40 * 40,
      scaleId: best.scaleId,
      scaleGain: 0,
      uScaleGain: uGain,
    }
    const after = weightsNow(lineState({ ...series, points: [...points, next] }, still, priors), at)
    const truth = trueLb(whole.limitPsi)
    sum.expected += best.uAfterLb ** 2
    sum.realised += (after.atLimit - truth) ** 2
    sum.before += (atLimit - truth) ** 2
  }
  return {
    lines,
    expectedLb: Math.sqrt(sum.expected / lines),
    realisedLb: Math.sqrt(sum.realised / lines),
    beforeLb: Math.sqrt(sum.before / lines),
  }
}

if (import.meta.main) {
  const { values } = parseArgs({ options: { lines: { type: 'string', default: '2000' } } })
  const { expectedLb, realisedLb, beforeLb } = expectedAndRealised('next', Number(values.lines))
  console.log(
    `at the limit ${beforeLb.toFixed(0)} lb before, ${expectedLb.toFixed(0)} lb promised, ${realisedLb.toFixed(0)} lb realised`,
  )
}
