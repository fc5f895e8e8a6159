import { defaultHouseRules } from '#core/words/house-rules.ts'
import { describe, expect, it } from 'vitest'
import { weightAt } from '#core/evidence/state/best-weight.ts'
import { lineState } from '#core/evidence/state/line-state.ts'
import { lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import { Random } from '#demo/simulation/random.ts'
import { learnWorld, scoreKind } from '#tests/bed/score-lines.ts'
import { drawScales, ordinaryWorld, seriesOf, simulateLine } from '#tests/bed/simulate-lines.ts'
import { some } from '#tests/some.ts'

/** A small run of the bed of lines, with room for chance: tests/bed/score-lines.ts itself gives the real figures. */
const figures = learnWorld(ordinaryWorld, 60, 'unit')

describe('the engine on simulated lines', () => {
  it('learns leveling and wander of the world it sees', () => {
    expect(figures.noise.fleet.levelingPsi).toBeGreaterThan(0.31)
    expect(figures.noise.fleet.levelingPsi).toBeLessThan(0.39)
    expect(figures.noise.fleet.tailShare).toBeLessThan(0.01)
  })

  it('holds the truth of clean lines, nearer than the line alone', () => {
    const { held, readings, square, lineSquare } = scoreKind(ordinaryWorld, figures, null, 60, 'unit')
    expect(held / readings).toBeGreaterThan(0.93)
    expect(held / readings).toBeLessThan(0.975)
    expect(Math.sqrt(square / lineSquare)).toBeLessThan(0.85)
  })

  it.each([
    // A drift begins gently, so that its day is known less sharply.
    ['offset', 0.95],
    ['slope', 0.95],
    ['drift', 0.75],
  ] as const)('names, dates and outlives an unrecorded %s', (fault, leastWithin) => {
    const score = scoreKind(ordinaryWorld, figures, fault, 40, 'unit')
    expect(score.held / score.readings).toBeGreaterThan(0.9)
    expect(score.named).toBe(40)
    expect(score.wrong / score.sure).toBeLessThan(0.03)
    expect(score.within / score.dated).toBeGreaterThan(leastWithin)
  })
})

it('believes no story whose wild weighings vouch for a line far away from all of them', () => {
  const world = { ...ordinaryWorld, tailShare: 0.05 }
  const own = new Random('heavy tails/3/offset').fork('259')
  const line = simulateLine(world, 'offset', drawScales(own), own)
  const noise = { ...lineNoiseOf(defaultHouseRules), levelingPsi: 0.356, wanderPsi: 0.056, tailShare: 0.036 }
  const priors = {
    ...figures.priors,
    offsetsPerYear: 0.016,
    slopesPerYear: 0.018,
    driftsPerYear: 0.019,
    wildShare: 0.0002,
  }
  const state = lineState(seriesOf(line), noise, priors)
  for (const { at, psi, trueLb } of some(line.readings))
    expect(Math.abs(weightAt(state, at, psi, 0.4).weightLb - trueLb)).toBeLessThan(2_500)
})
