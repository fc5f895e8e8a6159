import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { beforeAll, describe, expect, it } from 'vitest'
import { importFolder } from '#core/exchange/import-folder.ts'
import { type WeighedReading, weighEach } from '#core/store/weigh-each.ts'
import type { Judgement } from '#core/weight/verdict.ts'
import type { Noise } from '#demo/simulation/weighing.ts'
import { simulateFleet } from '#tests/bed/simulate-fleet.ts'
import type { WeighingTruth } from '#tests/bed/truth.ts'
import { openNewStore } from '#tests/store/temporary-store.ts'

/** How often the intervals held the truth, and how the verdicts fared. */
class Score {
  readonly held = new Map<string, { within: number; of: number }>()
  decided = 0
  wrong = 0
  close = 0

  #interval(what: string, truthLb: number, weightLb: number, uLb: number): void {
    const tally = this.held.get(what) ?? { within: 0, of: 0 }
    tally.of += 1
    if (Math.abs(weightLb - truthLb) <= 1.959964 * uLb) tally.within += 1
    this.held.set(what, tally)
  }

  #verdict({ verdict, limitLb }: Judgement, truthLb: number): void {
    if (verdict === 'too close to call') {
      this.close += 1
      return
    }
    this.decided += 1
    if ((verdict === 'over') !== truthLb > limitLb) this.wrong += 1
  }

  add({ ready, weights }: WeighedReading, truth: WeighingTruth): void {
    const lbOf = new Map(truth.groups.map(({ unit, group, weightLb }) => [`${unit} ${group}`, weightLb]))
    let grossLb = 0
    for (const [i, { weighing, judgement }] of weights.groups.entries()) {
      const { unitId, place } = ready.plan.groups[i] as (typeof ready.plan.groups)[number]
      const truthLb = lbOf.get(`${ready.units.find((unit) => unit.unitId === unitId)?.unit} ${place.group}`)
      if (truthLb === undefined) throw new RangeError(`the simulation knows no ${place.group}`)
      grossLb += truthLb
      // A lift axle off the road weighs nothing and is sure to.
      if (!weighing.weighed || !judgement || weighing.source === 'raised') continue
      this.#interval('groups', truthLb, weighing.weightLb, weighing.uLb)
      this.#interval(`${weighing.source} ${place.role}`, truthLb, weighing.weightLb, weighing.uLb)
      this.#verdict(judgement, truthLb)
    }
    if (!weights.gross.total || !weights.gross.judgement) return
    this.#interval('gross', grossLb, weights.gross.total.weightLb, weights.gross.total.uLb)
    this.#verdict(weights.gross.judgement, grossLb)
  }
}

/**
 * Brings a simulated fleet in and weighs its readings as the command line does; the noise of the fleet is unknown to
 * it.
 */
async function scoreFleet(score: Score, seed: string, noise: Partial<Noise>): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-weights-'))
  try {
    const truth = simulateFleet({
      folder: join(folder, 'fleet'),
      seed,
      units: 36,
      months: 12,
      faults: {},
      noise,
      readingsPerDay: 0.15,
    })
    const truthOf = new Map(truth.weighings.map((weighing) => [weighing.reading, weighing]))
    const store = await openNewStore(join(folder, 'fleet.tareline'))
    try {
      expect((await importFolder(store, join(folder, 'fleet'))).outcome).toBe('stored')
      const weighed = weighEach(store, (one) => {
        const known = truthOf.get(one.reading.name)
        if (known) score.add(one, known)
      })
      while ((await weighed.next()).done !== true);
    } finally {
      await store.close()
    }
  } finally {
    rmSync(folder, { recursive: true })
  }
}

/** The gains of a fleet's few scales are drawn once a fleet: several fleets together say more than a large one. */
const fleetsOfAKind = 4

describe.each([
  ['of ordinary noise', {}],
  ['whose valves level badly and whose lines wander', { levelingPsi: 0.7, wanderPsi: 0.1 }],
  ['whose valves level well', { levelingPsi: 0.2, wanderPsi: 0.03 }],
] as const)('simulated fleets %s', (kind, noise) => {
  const score = new Score()
  beforeAll(async () => {
    for (let i = 1; i <= fleetsOfAKind; i += 1) await scoreFleet(score, `${kind} ${i}`, noise)
  }, 120_000)
  const percent = (what: string) => {
    const { within, of } = score.held.get(what) ?? { within: 0, of: 0 }
    return (100 * within) / of
  }

  it.each(['groups', 'gross', 'line drive', 'line trailer'])(
    'hold the true weight in 92 to 98.5 percent of the 95 % intervals of %s',
    (what) => {
      expect(score.held.get(what)?.of).toBeGreaterThan(1500)
      expect(percent(what)).toBeGreaterThanOrEqual(92)
      expect(percent(what)).toBeLessThanOrEqual(98.5)
    },
  )

  it('hold the true steer weight as often, estimated from the drive group', () => {
    expect(score.held.get('estimate steer')?.of).toBeGreaterThan(1000)
    expect(percent('estimate steer')).toBeGreaterThanOrEqual(92)
  })

  it('decide wrongly in under 5 percent of the decided verdicts, and most are decided', () => {
    expect(score.decided).toBeGreaterThan(5000)
    expect(score.wrong / score.decided).toBeLessThan(0.05)
    expect(score.close / (score.close + score.decided)).toBeLessThan(0.15)
  })
})
