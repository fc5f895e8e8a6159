import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { lineState } from '#core/evidence/state/line-state.ts'
import { changePriorsOf, lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import { weightAt } from '#core/evidence/state/best-weight.ts'
import { teachingWeighings, weighingGain, weightsNow } from '#core/evidence/state/weigh-next.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { Random } from '#demo/simulation/random.ts'
import { expectedAndRealised } from '#tests/bed/next-weighing.ts'
import { ordinaryWorld, seriesOf, simulateLine } from '#tests/bed/simulate-lines.ts'

const noise = { ...lineNoiseOf(defaultHouseRules), levelingPsi: 0.35, wanderPsi: 0.05 }
const priors = changePriorsOf(defaultHouseRules)
const scale = (scaleId: number) => ({ scaleId, uGain: 0.002 / Math.sqrt(3), uTicketLb: 40 })

const lineOf = (seed: string) => simulateLine(ordinaryWorld, null, [0, 0, 0, 0, 0, 0], new Random(seed))

describe('what one weighing would teach', () => {
  it('reads both ends as the best weight does', () => {
    const series = seriesOf(lineOf('ends'))
    const state = lineState(series, noise, priors)
    const at = (series.points.at(-1)?.at ?? 0) + 30 * 86_400_000
    const { atEmpty, atLimit, varLimit } = weightsNow(state, at)
    expect(weightAt(state, at, series.emptyPsi, 0).weightLb).toBeCloseTo(atEmpty, 6)
    const limit = weightAt(state, at, series.limitPsi, 0)
    expect(limit.weightLb).toBeCloseTo(atLimit, 6)
    expect(limit.uLb ** 2).toBeGreaterThan(varLimit)
  })

  it('never makes the limit less sure, whatever the line, load and scale', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 10_000 }),
        fc.double({ min: 0, max: 1.1, noNaN: true }),
        fc.integer({ min: 0, max: 7 }),
        (seed, share, scaleId) => {
          const series = seriesOf(lineOf(`gain ${seed}`))
          const state = lineState(series, noise, priors)
          const now = weightsNow(state, (series.points.at(-1)?.at ?? 0) + 86_400_000)
          const own = weighingGain(state, now, share, scale(scaleId))
          expect(own.uAfterLb).toBeLessThanOrEqual(own.uNowLb)
          expect(own.uAfterLb).toBeGreaterThan(0)
        },
      ),
      { numRuns: 60 },
    )
  })

  it('sends a line that was only ever weighed empty to the scale loaded, and to a scale that is new to it', () => {
    const series = seriesOf(lineOf('thin'))
    const light = series.points.filter(({ weightLb }) => weightLb < 14_000).slice(0, 3)
    const points = light.map((point) => ({ ...point, scaleId: 1 }))
    expect(points.length).toBe(3)
    const state = lineState({ ...series, points, slipsOf: () => [] }, noise, priors)
    const at = (points.at(-1)?.at ?? 0) + 86_400_000
    const [best] = teachingWeighings(state, at, [scale(1), scale(2)])
    expect(best).toMatchObject({ share: 1, scaleId: 2 })
    expect(best?.uAfterLb).toBeLessThan((best?.uNowLb ?? 0) / 3)
  })

  it('brings what it promises: over many lines the realised error agrees with the expected one', () => {
    const { lines, expectedLb, realisedLb, beforeLb } = expectedAndRealised('promise', 300)
    expect(lines).toBe(300)
    expect(expectedLb).toBeLessThan(0.9 * beforeLb)
    expect(realisedLb / expectedLb).toBeGreaterThan(0.85)
    expect(realisedLb / expectedLb).toBeLessThan(1.15)
  })
})
