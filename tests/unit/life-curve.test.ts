import { describe, expect, it } from 'vitest'
import { viewLives } from '#core/jobs/bench-view.ts'
import { assessCells } from '#core/cells/fleet-cells.ts'
import type { CellHistory } from '#core/cells/lives.ts'
import { survivalCurve } from '#core/cells/survival.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { at } from '#core/words/lists.ts'
import { seeded } from '#tests/seeded.ts'

const dayMs = 86_400_000
const asOf = Date.UTC(2026, 10, 25)

describe('the curve of the record', () => {
  it('counts an end in part where it is a death in part (by hand: a low swap at 50 %)', () => {
    // Five cells: low at 100, dead at 200, still in at 250, low at 300, dead at 400 days.
    const { steps, deaths, medianDays } = survivalCurve([
      { days: 100, deaths: 0.5 },
      { days: 200, deaths: 1 },
      { days: 250, deaths: 0 },
      { days: 300, deaths: 0.5 },
      { days: 400, deaths: 1 },
    ])
    const alive = [1 - 0.5 / 5, (1 - 0.5 / 5) * (1 - 1 / 4), 0, 0, 0]
    alive[2] = at(alive, 1) * (1 - 0.5 / 2)
    expect(steps.map(({ days, atRisk }) => [days, atRisk])).toEqual([
      [100, 5],
      [200, 4],
      [300, 2],
      [400, 1],
    ])
    steps.forEach(({ survival }, i) => {
      expect(survival).toBeCloseTo(at(alive, i), 12)
    })
    expect([deaths, medianDays]).toEqual([3, 400])
  })

  it('is the same as ever where every end is a death or none', () => {
    const lives = [3, 5, 5, 8, 9].map((days, i) => ({ days, died: i % 2 === 0 }))
    expect(survivalCurve(lives.map(({ days, died }) => ({ days, deaths: Number(died) })))).toEqual(survivalCurve(lives))
  })
})

/**
 * Sensors over four years whose cells last 600 days and are mostly swapped when they report low, some days before their
 * end: the record that a shop with watchful people has.
 */
function watchfulShop(): CellHistory[] {
  const random = seeded(7)
  return Array.from({ length: 120 }, (_, i) => {
    const mountedAt = asOf - (1461 - Math.floor(random() * 200)) * dayMs
    const changes: CellHistory['changes'][number][] = [{ changedAt: mountedAt, reason: 'new', cell: null }]
    for (let at = mountedAt; ; ) {
      const low = random() < 0.75
      at += Math.round(600 * (-Math.log(1 - random())) ** (1 / 4) * (low ? 0.97 : 1)) * dayMs
      if (at > asOf) break
      changes.push({ changedAt: at, reason: low ? 'low' : 'dead', cell: null })
    }
    return { serial: `S${i}`, cell: 'CR2450', reportEveryS: 300, mounts: [{ mountedAt, removedAt: null }], changes }
  })
}

describe('the law of life', () => {
  it('runs through the record that it is drawn over: most cells swapped low, at 500 days', () => {
    const cells = assessCells(
      watchfulShop().map((history, sensorId) => ({ ...history, sensorId, seat: null })),
      defaultHouseRules,
      asOf,
      () => null,
    )
    const [stratum] = viewLives({ rules: defaultHouseRules, cells, items: [], groups: 0 }).strata
    if (!stratum) throw new Error('the lives are of one stratum')
    const { observed, law, low, died } = stratum
    expect(low).toBeGreaterThan(2 * died)
    const seen = observed.days.findLastIndex((days) => days <= 500)
    const drawn = law.days.findLastIndex((days) => days <= 500)
    // Low swaps that count for nothing in the record alone left it 15 points above the law.
    expect(Math.abs(at(observed.alive, seen) - at(law.alive, drawn))).toBeLessThan(0.08)
  })
})
