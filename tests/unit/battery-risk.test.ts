import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fitLifeModel, houseRulesPrior } from '#core/cells/life-model.ts'
import { cellOutlook, lifeOutlook } from '#core/cells/outlook.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { type Condition, simulateFleet } from '#tests/unit/battery-fleet.ts'

const dayMs = 86_400_000
const certain = { lifeDays: 730, shape: 3, varLnLife: 0, varLnShape: 0, covLnLifeLnShape: 0 }
const anyLaw = fc
  .record({
    lifeDays: fc.double({ min: 50, max: 4000, noNaN: true }),
    shape: fc.double({ min: 0.8, max: 8, noNaN: true }),
    sdLife: fc.double({ min: 0, max: 0.5, noNaN: true }),
    sdShape: fc.double({ min: 0, max: 0.3, noNaN: true }),
    lean: fc.double({ min: -0.9, max: 0.9, noNaN: true }),
  })
  .map(({ lifeDays, shape, sdLife, sdShape, lean }) => ({
    lifeDays,
    shape,
    varLnLife: sdLife ** 2,
    varLnShape: sdShape ** 2,
    covLnLifeLnShape: lean * sdLife * sdShape,
  }))
const age = fc.double({ min: 0, max: 3000, noNaN: true })
const cell = {
  serial: 'PA-1',
  cell: 'CR2450',
  reportEveryS: 300,
  installedAt: 0,
  installAssumed: false,
  deadSince: null,
}

describe('risk of a cell dying', () => {
  it('is Weibull’s closed form when the law is known', () => {
    const { risk, ageAtRisk, predictedLifeDays } = lifeOutlook(certain)
    expect(risk(200, 500)).toBeCloseTo(1 - Math.exp((200 / 730) ** 3 - (500 / 730) ** 3), 12)
    expect(ageAtRisk(0, 0.1)).toBeCloseTo(730 * (-Math.log(0.9)) ** (1 / 3), 6)
    expect(predictedLifeDays).toBeCloseTo(730 * Math.log(2) ** (1 / 3), 6)
  })

  it('never falls with time, and is never negative or more than 1', () => {
    fc.assert(
      fc.property(anyLaw, age, age, age, (law, from, one, other) => {
        const { risk } = lifeOutlook(law)
        const [sooner, later] = [risk(from, Math.min(one, other)), risk(from, Math.max(one, other))]
        expect(sooner).toBeGreaterThanOrEqual(0)
        expect(later).toBeGreaterThanOrEqual(sooner)
        expect(later).toBeLessThanOrEqual(1 + 1e-12)
      }),
    )
  })

  it('is the stated risk on the last day before it exceeds it', () => {
    fc.assert(
      fc.property(anyLaw, age, fc.double({ min: 0.01, max: 0.8, noNaN: true }), (law, from, wanted) => {
        const { risk, ageAtRisk } = lifeOutlook(law)
        const at = ageAtRisk(from, wanted)
        expect(at).toBeGreaterThanOrEqual(from)
        expect(risk(from, at - 2e-6)).toBeLessThanOrEqual(wanted + 1e-12)
        expect(risk(from, at + 2e-6)).toBeGreaterThanOrEqual(wanted - 1e-12)
      }),
    )
  })

  it('comes earlier when the law is less well known', () => {
    const known = lifeOutlook(certain).ageAtRisk(0, 0.1)
    const thin = lifeOutlook({ ...certain, varLnLife: 0.05 }).ageAtRisk(0, 0.1)
    expect(thin).toBeLessThan(known)
    expect(thin).toBeGreaterThan(0.7 * known)
  })
})

describe('what is to be done about a cell', () => {
  const rules = { ...defaultHouseRules, visitIntervalDays: 90 }
  const outlook = lifeOutlook(certain)
  const on = (ageDays: number, nextVisitDays: number | null = null) =>
    cellOutlook(
      cell,
      outlook,
      rules,
      ageDays * dayMs,
      nextVisitDays === null ? null : (ageDays + nextVisitDays) * dayMs,
    )

  it('turns from fine to due when waiting for the next visit would risk too much, and to overdue at the predicted life', () => {
    expect(on(100)).toMatchObject({ state: 'fine', visitAssumed: true })
    expect(on(500)).toMatchObject({ state: 'due' })
    expect(on(500, 14)).toMatchObject({ state: 'fine', visitAssumed: false })
    expect(on(660)).toMatchObject({ state: 'overdue', swapByAt: 660 * dayMs })
  })

  it('is to be swapped now where it is counted as dead, and has been due since it died', () => {
    const now = cellOutlook({ ...cell, deadSince: 60 * dayMs }, outlook, rules, 100 * dayMs, null)
    expect(now).toMatchObject({
      state: 'dead',
      riskBeforeVisit: 1,
      predictedEndAt: 60 * dayMs,
      dueAt: 60 * dayMs,
      swapByAt: 100 * dayMs,
    })
  })

  it('gives an old cell a later date than when it was fresh, but less time, until it stands at 15 % of fresh cells dead, from when on it is today', () => {
    const latest = outlook.ageAtRisk(0, 0.15) * dayMs
    let before = on(0)
    for (let ageDays = 10; ageDays <= 640; ageDays += 10) {
      const now = on(ageDays)
      expect(now.swapByAt).toBeGreaterThanOrEqual(before.swapByAt)
      const [left, leftBefore] = [now.swapByAt - now.asOf, before.swapByAt - before.asOf]
      const isPast = now.asOf >= latest
      expect(now.swapByAt).toBeLessThanOrEqual(isPast ? now.asOf : latest)
      expect([left === 0, isPast || left < leftBefore]).toEqual([isPast, true])
      before = now
    }
  })

  it('is due exactly when the visit would risk too much or come after the predicted life; then swap-by lies before it', () => {
    fc.assert(
      fc.property(
        anyLaw,
        fc.integer({ min: 0, max: 2000 }),
        fc.integer({ min: 1, max: 400 }),
        (law, ageDays, visitDays) => {
          const now = cellOutlook(cell, lifeOutlook(law), rules, ageDays * dayMs, (ageDays + visitDays) * dayMs)
          const { state, riskBeforeVisit: risk } = now
          expect(state === 'fine' || now.swapByAt < now.nextVisitAt).toBe(true)
          // At the risk itself either will do.
          const isNear = Math.abs(risk - 0.1) <= 1e-6
          const isLate = now.predictedEndAt < now.nextVisitAt
          expect((isNear && !isLate) || (state !== 'fine') === (risk > 0.1 || isLate)).toBe(true)
        },
      ),
    )
  })
})

describe('swapping at swap-by, on simulated fleets of four years with scheduled swaps mixed in', () => {
  const common: Condition[] = [
    { cell: 'CR2450', reportEveryS: 60, lifeDays: 400, share: 3 },
    { cell: 'CR2450', reportEveryS: 300, lifeDays: 800, share: 5 },
    { cell: 'CR2450', reportEveryS: 900, lifeDays: 1100, share: 0.3 },
  ]
  // Lives far from the House Rules, not in proportion to volume or any power of the interval.
  const unlike: Condition[] = [
    { cell: 'CR2477', reportEveryS: 300, lifeDays: 580, share: 5 },
    { cell: 'CR2477', reportEveryS: 900, lifeDays: 1000, share: 3 },
    { cell: 'CR2450', reportEveryS: 600, lifeDays: 790, share: 2 },
    { cell: 'CR2032', reportEveryS: 30, lifeDays: 250, share: 1 },
  ]
  for (const [name, conditions] of [
    ['common', common],
    ['unlike the House Rules', unlike],
  ] as const) {
    for (const [sensors, shape] of [
      [40, 3],
      [150, 2.5],
      [150, 3],
      [600, 3],
      [600, 3.6],
    ] as const) {
      it(`leaves a mean chance of death of 1 to 15 % and spares the first third: ${sensors} sensors, shape ${shape}, lives ${name}`, () => {
        let swaps = 0
        let early = 0
        for (let seed = 1; seed <= 8; seed += 1) {
          const fleet = simulateFleet({
            seed,
            sensors,
            shape,
            conditions,
            scheduledShare: 0.4,
            scheduledAt: [0.5, 0.9],
            days: 1461,
          })
          const model = fitLifeModel(fleet.lives, fleet.inService, houseRulesPrior(defaultHouseRules))
          let chance = 0
          let fromNew = 0
          let old = 0
          for (const each of fleet.inService) {
            const law = model.lawFor(each)
            const truth = conditions.find(
              (condition) => condition.cell === each.cell && condition.reportEveryS === each.reportEveryS,
            )
            if (!law || !truth) throw new Error('every cell in service has a law')
            const { swapByAt, ageDays } = cellOutlook(each, lifeOutlook(law), defaultHouseRules, fleet.asOf, null)
            const swapAge = (Math.floor(swapByAt / dayMs) * dayMs - each.installedAt) / dayMs
            chance -= Math.expm1(Math.min(0, (ageDays / truth.lifeDays) ** shape - (swapAge / truth.lifeDays) ** shape))
            fromNew -= Math.expm1(-((swapAge / truth.lifeDays) ** shape))
            old -= Math.expm1(-((ageDays / truth.lifeDays) ** shape))
            if (swapAge < truth.lifeDays / 3) early += 1
            swaps += 1
          }
          const mean = chance / fleet.inService.length
          expect(mean).toBeGreaterThan(0.01)
          expect(mean).toBeLessThan(0.15)
          // Counted from new: the age that a cell has already reached is past any rule's help, the rest is within the
          // bounds.
          const meanFromNew = fromNew / fleet.inService.length
          expect(meanFromNew).toBeGreaterThan(0.01)
          expect(meanFromNew - old / fleet.inService.length).toBeLessThan(0.15)
        }
        expect(early / swaps).toBeLessThan(0.01)
      })
    }
  }

  for (const shape of [2.7, 3, 3.3]) {
    it(`leaves 1 to 15 % also counted from the installation where scheduled swaps keep the cells young: shape ${shape}`, () => {
      for (const [from, to] of [
        [0.3, 0.5],
        [0.4, 0.6],
      ] as const) {
        for (let seed = 1; seed <= 4; seed += 1) {
          const fleet = simulateFleet({
            seed,
            sensors: 300,
            shape,
            conditions: common,
            scheduledShare: 0.97,
            scheduledAt: [from, to],
            days: 1461,
          })
          const model = fitLifeModel(fleet.lives, fleet.inService, houseRulesPrior(defaultHouseRules))
          let fromNew = 0
          let alive = 0
          for (const each of fleet.inService) {
            const law = model.lawFor(each)
            const truth = common.find(({ reportEveryS }) => reportEveryS === each.reportEveryS)
            if (!law || !truth) throw new Error('every cell in service has a law')
            const { swapByAt, ageDays } = cellOutlook(each, lifeOutlook(law), defaultHouseRules, fleet.asOf, null)
            const swapAge = (swapByAt - each.installedAt) / dayMs
            fromNew -= Math.expm1(-((swapAge / truth.lifeDays) ** shape))
            alive -= Math.expm1((ageDays / truth.lifeDays) ** shape - (swapAge / truth.lifeDays) ** shape)
          }
          for (const mean of [fromNew / fleet.inService.length, alive / fleet.inService.length]) {
            expect(mean).toBeGreaterThan(0.01)
            expect(mean).toBeLessThan(0.15)
          }
        }
      }
    })
  }
})
