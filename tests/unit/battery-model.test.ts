import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type LifePrior, coinCellVolume, fitLifeModel, houseRulesPrior } from '#core/cells/life-model.ts'
import type { CellLife } from '#core/cells/lives.ts'
import { type Watched, fitWeibull, survivalCurve, weibullQuantileDays } from '#core/cells/survival.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { type Condition, simulateFleet } from '#tests/unit/battery-fleet.ts'
import { seeded } from '#tests/seeded.ts'

const prior = houseRulesPrior(defaultHouseRules)
const life = (
  days: number,
  died: boolean,
  cell: string | null = 'CR2450',
  reportEveryS: number | null = 300,
): CellLife => ({
  serial: 'x',
  cell,
  reportEveryS,
  installedAt: 0,
  installAssumed: false,
  endedAt: days * 86_400_000,
  days,
  died,
  endedBy: died ? 'dead' : 'scheduled',
})
const watched = fc.array(fc.record({ days: fc.double({ min: 5, max: 3000, noNaN: true }), died: fc.boolean() }), {
  minLength: 1,
  maxLength: 30,
})
const asLives = (lives: readonly Watched[]) => lives.map(({ days, died }) => life(days, died))
const fitted = (lives: readonly Watched[]) => {
  const fit = fitWeibull(lives)
  return fit.ok ? fit.value : undefined
}
const close = (a: number, b: number, relative: number) =>
  expect(Math.abs(a - b)).toBeLessThanOrEqual(relative * Math.abs(b))

describe('survival estimates', () => {
  it('do not depend on the order of the lives', () => {
    fc.assert(
      fc.property(watched, (lives) => {
        const back = [...lives].reverse()
        expect(survivalCurve(back)).toEqual(survivalCurve(lives))
        const [one, other] = [fitted(lives), fitted(back)]
        if (one && other) close(other.lifeDays, one.lifeDays, 1e-9)
        const [law, same] = [fitLifeModel(asLives(lives), [], prior), fitLifeModel(asLives(back), [], prior)]
        close(same.shape, law.shape, 1e-7)
        close(same.strata[0]?.lifeDays as number, law.strata[0]?.lifeDays as number, 1e-7)
      }),
    )
  })

  it('scale with the unit of time: twice the days, twice the life, the same shape', () => {
    fc.assert(
      fc.property(watched, fc.double({ min: 0.1, max: 10, noNaN: true }), (lives, factor) => {
        const one = fitted(lives)
        const other = fitted(lives.map(({ days, died }) => ({ days: days * factor, died })))
        expect(other === undefined).toBe(one === undefined)
        if (!one || !other) return
        close(other.lifeDays, factor * one.lifeDays, 1e-8)
        close(other.shape, one.shape, 1e-8)
        close(other.varLnLife, one.varLnLife, 1e-5)
      }),
    )
  })

  it('never come out shorter when a death becomes a life cut short (median of the curve; Weibull mean time at one shape)', () => {
    fc.assert(
      fc.property(watched, fc.nat(), (lives, pick) => {
        const censored = lives.map((each, i) => (i === pick % lives.length ? { ...each, died: false } : each))
        const [before, after] = [survivalCurve(lives), survivalCurve(censored)]
        expect(after.medianDays ?? Number.POSITIVE_INFINITY).toBeGreaterThanOrEqual(
          before.medianDays ?? Number.POSITIVE_INFINITY,
        )
        const fixed: LifePrior = { ...prior, sdLnShape: 1e-6 }
        const [shorter, longer] = [fitLifeModel(asLives(lives), [], fixed), fitLifeModel(asLives(censored), [], fixed)]
        expect(longer.strata[0]?.lifeDays as number).toBeGreaterThanOrEqual(
          (shorter.strata[0]?.lifeDays as number) * (1 - 1e-6),
        )
      }),
    )
  })

  it('never come out shorter when a life cut short was watched for longer', () => {
    fc.assert(
      fc.property(watched, fc.double({ min: 1, max: 3, noNaN: true }), (lives, factor) => {
        const longer = lives.map(({ days, died }) => ({ days: died ? days : days * factor, died }))
        const fixed: LifePrior = { ...prior, sdLnShape: 1e-6 }
        expect(fitLifeModel(asLives(longer), [], fixed).strata[0]?.lifeDays as number).toBeGreaterThanOrEqual(
          (fitLifeModel(asLives(lives), [], fixed).strata[0]?.lifeDays as number) * (1 - 1e-6),
        )
      }),
    )
  })

  it('refuse what has no answer, in a sentence', () => {
    const code = (lives: readonly Watched[]) => {
      const fit = fitWeibull(lives)
      return fit.ok ? undefined : fit.problem.code
    }
    expect(code([{ days: 5, died: false }])).toBe('no-deaths')
    expect(
      code([
        { days: 5, died: true },
        { days: 5, died: true },
      ]),
    ).toBe('shape-unbounded')
    expect(code([{ days: 0, died: true }])).toBe('bad-life')
    expect(survivalCurve([])).toEqual({ lives: 0, deaths: 0, steps: [], medianDays: null })
  })
})

describe('the fleet’s laws of life', () => {
  it('are plain maximum likelihood once the prior vanishes', () => {
    const random = seeded(7)
    const lives = Array.from({ length: 80 }, () => ({ days: 50 + 900 * random(), died: random() < 0.6 }))
    const loose: LifePrior = { ...prior, covariance: () => 1e6, sdLnShape: 1e3 }
    const law = fitLifeModel(asLives(lives), [], loose).strata[0]
    const fit = fitted(lives)
    if (!law || !fit) throw new Error('both have an answer')
    close(law.lifeDays, fit.lifeDays, 1e-6)
    close(law.shape, fit.shape, 1e-6)
    close(law.varLnLife, fit.varLnLife, 1e-4)
    close(law.varLnShape, fit.varLnShape, 1e-4)
    close(law.covLnLifeLnShape, fit.covLnLifeLnShape, 1e-3)
  })

  it('are the House Rules without a record, and outlast them when no cell has died', () => {
    const empty = fitLifeModel([], [{ cell: 'CR2450', reportEveryS: 300 }], prior).strata[0]
    close(empty?.lifeDays as number, defaultHouseRules.batteryLifeDays, 0.03)
    close(empty?.shape as number, defaultHouseRules.batteryShape, 1e-6)
    const alive = fitLifeModel(
      Array.from({ length: 40 }, () => life(1200, false)),
      [],
      prior,
    ).strata[0]
    expect(alive?.lifeDays as number).toBeGreaterThan(1500)
    expect(alive?.deaths).toBe(0)
  })

  it('leave the House Rules as deaths come in: the distance to the record falls with their number', () => {
    const distance = (count: number) => {
      const random = seeded(count)
      const lives = Array.from({ length: count }, () => ({
        days: 1500 * (-Math.log(1 - random())) ** (1 / 3),
        died: true,
      }))
      const law = fitLifeModel(asLives(lives), [], prior).strata[0]
      return Math.abs(Math.log((law?.lifeDays as number) / (fitted(lives)?.lifeDays as number)))
    }
    expect(distance(3)).toBeGreaterThan(distance(30))
    expect(distance(30)).toBeGreaterThan(distance(300))
    expect(distance(300)).toBeLessThan(0.01)
  })

  it('lend a rare interval the strength of the common ones', () => {
    const conditions: Condition[] = [60, 300, 900].map((reportEveryS) => ({
      cell: 'CR2450',
      reportEveryS,
      lifeDays: 500 * (reportEveryS / 60) ** 0.4,
      share: reportEveryS === 900 ? 0.001 : 1,
    }))
    const { lives } = simulateFleet({
      seed: 3,
      sensors: 300,
      shape: 3,
      conditions,
      scheduledShare: 0.4,
      scheduledAt: [0.5, 0.9],
      days: 1461,
    })
    const rare = { cell: 'CR2450', reportEveryS: 900 }
    const alone = fitLifeModel([], [rare], prior).lawFor(rare)
    const borrowed = fitLifeModel(lives, [rare], prior).lawFor(rare)
    const truth = conditions[2]?.lifeDays as number
    expect(Math.abs(Math.log((borrowed?.lifeDays as number) / truth))).toBeLessThan(0.2)
    expect(borrowed?.varLnLife as number).toBeLessThan(0.4 * (alone?.varLnLife as number))
  })

  it('count a low swap as far as House Rules say', () => {
    const lives = [200, 300, 400, 500].map((days) => ({ ...life(days, false), endedBy: 'low' as const }))
    const at = (share: number) => fitLifeModel(lives, [], prior, share).strata[0]?.lifeDays as number
    expect(at(0)).toBeGreaterThan(at(0.5))
    expect(at(0.5)).toBeGreaterThan(at(1))
    expect(at(1)).toBeCloseTo(
      fitLifeModel(
        lives.map((each) => ({ ...each, died: true })),
        [],
        prior,
      ).strata[0]?.lifeDays as number,
      6,
    )
  })

  it('know a coin cell’s volume from its size code (IEC 60086: 20 mm by 3.2 mm, 24 mm by 7.7 mm)', () => {
    expect(coinCellVolume('CR2032')).toBeCloseTo(Math.PI * 100 * 3.2, 9)
    expect(coinCellVolume(' cr2477n')).toBeCloseTo(Math.PI * 144 * 7.7, 9)
    expect(coinCellVolume('AA')).toBeUndefined()
    expect(coinCellVolume(null)).toBeUndefined()
  })

  it('give back the quantiles of the Weibull law in closed form', () => {
    expect(weibullQuantileDays({ lifeDays: 730, shape: 3 }, 1 - Math.exp(-1))).toBeCloseTo(730, 9)
  })
})
