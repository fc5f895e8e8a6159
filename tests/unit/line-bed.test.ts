import { describe, expect, it } from 'vitest'
import { learnWorld, scoreKind } from '#tests/bed/score-lines.ts'
import { ordinaryWorld } from '#tests/bed/simulate-lines.ts'

/** A small run of the bed of lines, with room for chance: `npm run` of the bed itself gives the real figures. */
describe('the engine on simulated lines', () => {
  const figures = learnWorld(ordinaryWorld, 60, 'unit')

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

  it.each(['offset', 'slope', 'drift'] as const)('names, dates and outlives an unrecorded %s', (fault) => {
    const score = scoreKind(ordinaryWorld, figures, fault, 40, 'unit')
    expect(score.held / score.readings).toBeGreaterThan(0.9)
    expect(score.named).toBe(40)
    expect(score.wrong / score.sure).toBeLessThan(0.03)
    if (fault !== 'drift') expect(score.within / score.dated).toBeGreaterThan(0.95)
  })
})
