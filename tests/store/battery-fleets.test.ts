import { describe, expect, it } from 'vitest'
import type { CellHistory } from '#core/cells/lives.ts'
import { readFleetCells } from '#core/store/cells.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { insertSimulatedFleet } from '#tests/store/battery-store.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { seeded } from '#tests/seeded.ts'

const dayMs = 86_400_000
const asOf = Date.UTC(2026, 0, 5)
const shape = 3
const trueLife: Record<string, number> = { 'CR2450 60': 380, 'CR2450 300': 640, 'CR2477 300': 960, 'CR2477 600': 1300 }

/**
 * Four years of cells that die, are swapped when they report low shortly before, or on schedule, in the shares asked
 * for.
 */
function fourYears(seed: number, lowShare: number, scheduledShare: number): CellHistory[] {
  const random = seeded(seed)
  const conditions = Object.keys(trueLife)
  return Array.from({ length: 300 }, (_, i) => {
    const [cell = '', interval = ''] = (conditions[i % conditions.length] as string).split(' ')
    const eta = trueLife[`${cell} ${interval}`] as number
    const mountedAt = asOf - (1461 - Math.floor(random() * 200)) * dayMs
    const changes: CellHistory['changes'][number][] = [{ changedAt: mountedAt, reason: 'new', cell }]
    for (let at = mountedAt; ; ) {
      const life = eta * (-Math.log(1 - random())) ** (1 / shape)
      const schedule = random() < scheduledShare ? eta * (0.5 + 0.3 * random()) : Number.POSITIVE_INFINITY
      const low = random() < lowShare ? life * (0.9 + 0.08 * random()) : Number.POSITIVE_INFINITY
      const ends = Math.min(life, schedule, low)
      at += Math.max(1, Math.round(ends)) * dayMs
      if (at > asOf) break
      changes.push({ changedAt: at, reason: ends === life ? 'dead' : ends === low ? 'low' : 'scheduled', cell })
    }
    return { serial: `S${i}`, cell, reportEveryS: Number(interval), mounts: [{ mountedAt, removedAt: null }], changes }
  })
}

describe('swap-by on fleets of four years, as stored and read', () => {
  for (const [name, low, scheduled] of [
    ['no low swaps', 0, 0.4],
    ['half low', 0.5, 0.2],
    ['nearly all low', 0.85, 0.15],
    ['scheduled only', 0, 1],
  ] as const) {
    it(`leaves a cell alive today a mean chance of death of 1 to 15 %, and spares the first third of its life: ${name}`, async () => {
      for (const seed of [1, 2, 3]) {
        await withStore((store) => {
          insertSimulatedFleet(store, { histories: fourYears(seed, low, scheduled) })
          const { mounted } = readFleetCells(store, defaultHouseRules, asOf)
          let chance = 0
          let early = 0
          for (const {
            outlook: { cell, reportEveryS, ageDays, swapByAt, installedAt },
          } of mounted) {
            const eta = trueLife[`${cell} ${reportEveryS}`] as number
            const swapAge = (swapByAt - installedAt) / dayMs
            chance -= Math.expm1((ageDays / eta) ** shape - (swapAge / eta) ** shape)
            if (swapAge < eta / 3) early += 1
          }
          expect(mounted).toHaveLength(300)
          expect(chance / mounted.length).toBeGreaterThan(0.01)
          expect(chance / mounted.length).toBeLessThan(0.15)
          expect(early / mounted.length).toBeLessThan(0.01)
        })
      }
    })
  }

  it('does not ask what low swaps mean where there are none', () =>
    withStore((store) => {
      insertSimulatedFleet(store, { histories: fourYears(4, 0, 0.4) })
      const at = (lowCellDeathPercent: number) =>
        readFleetCells(store, { ...defaultHouseRules, lowCellDeathPercent }, asOf).mounted.map(
          ({ outlook }) => outlook.swapByAt,
        )
      expect(at(50)).toEqual(at(0))
    }))
})
