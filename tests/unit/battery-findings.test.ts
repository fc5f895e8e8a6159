import { describe, expect, it } from 'vitest'
import { batteryFinding } from '#core/cells/fleet-cells.ts'
import { fitLifeModel, houseRulesPrior } from '#core/cells/life-model.ts'
import { cellCosts } from '#core/cells/cell-costs.ts'
import { cellLives, swapsByMonth } from '#core/cells/lives.ts'
import { cellOutlook, lifeOutlook, yearlyCost } from '#core/cells/outlook.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { sayStored } from '#core/words/say.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'

const dayMs = 86_400_000
const start = Date.UTC(2024, 0, 1)
const certain = { lifeDays: 730, shape: 3, varLnLife: 0, varLnShape: 0, covLnLifeLnShape: 0 }
const outlook = lifeOutlook(certain)
const seat = { unitId: 1, groupId: 2, circuitId: 3 }
const cell = {
  serial: 'PA-7',
  cell: 'CR2450',
  reportEveryS: 300,
  installedAt: start,
  installAssumed: false,
  deadSince: null,
}
/** With its words. */
const told = (judged: ReturnType<typeof cellOutlook>) => {
  const finding = batteryFinding(judged, seat, defaultHouseRules)
  return finding && { ...finding, ...sayFinding(finding, sayStored('UTC')) }
}
const at = (ageDays: number) => told(cellOutlook(cell, outlook, defaultHouseRules, start + ageDays * dayMs, null))

describe('battery findings', () => {
  it('are silent about a cell that reaches the next visit', () => {
    expect(at(100)).toBeNull()
  })

  it('tell risk, limit and date of a cell that may not reach the next visit', () => {
    const finding = at(500)
    expect(finding).toMatchObject({
      code: 'battery-due',
      severity: 'note',
      ...seat,
      since: null,
      message:
        'The CR2450 cell of sensor PA-7 is 500 days old; its risk of dying before a visit on 2025-08-13 is 19 %, above the House Rules’ 10 %.',
    })
    expect(finding?.numbers).toMatchObject({
      age_days: 500,
      limit_percent: 10,
      next_visit: '2025-08-13',
      installed_on: '2024-01-01',
    })
    expect(finding?.numbers['risk_percent']).toBeCloseTo(100 * (1 - Math.exp((500 / 730) ** 3 - (590 / 730) ** 3)), 1)
    // The day on which the risk passed lies behind: the same word as on the Roster, and not today's date as a date to
    // keep.
    expect(finding?.nextStep).toMatch(/^Swap the cell now and .*children/)
  })

  it('name the predicted life where it ends before the visit although the risk is small', () => {
    const young = cellOutlook(cell, outlook, defaultHouseRules, start + 645 * dayMs, start + 647 * dayMs)
    expect(young.riskBeforeVisit).toBeLessThan(0.1)
    expect(told(young)).toMatchObject({
      code: 'battery-due',
      message:
        'The CR2450 cell of sensor PA-7 is 645 days old; its predicted life ends on 2025-10-08, before the visit planned on 2025-10-09.',
    })
  })

  it('tell of a silent sensor that its cell is most likely dead, whatever its age, until that is another silence', () => {
    const deadSince = start + 90 * dayMs
    const dead = told(cellOutlook({ ...cell, deadSince }, outlook, defaultHouseRules, start + 100 * dayMs, null))
    expect(dead).toMatchObject({
      code: 'battery-overdue',
      since: deadSince,
      numbers: { swap_by: '2024-04-10' },
      message:
        'The CR2450 cell of sensor PA-7, 100 days old, is most likely dead: its sensor has been silent since 2024-03-31.',
    })
    expect(dead?.evidence).not.toBe(at(700)?.evidence)
  })

  it('tell since when a cell has outlived its predicted life', () => {
    const finding = at(700)
    expect(finding).toMatchObject({
      code: 'battery-overdue',
      numbers: { predicted_life_days: 646, swap_by: '2025-12-01' },
    })
    expect(finding?.since).toBeCloseTo(start + 730 * Math.log(2) ** (1 / 3) * dayMs, -2)
  })
})

describe('what cells cost', () => {
  it('a year, is the renewal rate: with exponential lives 365.25 · F(s) / (η F(s)) = 365.25/η deaths', () => {
    const { cells, deaths } = yearlyCost(lifeOutlook({ ...certain, shape: 1 }), 0.1)
    expect(deaths).toBeCloseTo(365.25 / 730, 9)
    expect(cells).toBeCloseTo(10 * deaths, 6)
  })

  it('by month, counts swaps, deaths and the deaths that swaps avoided', () => {
    const changes = (
      [
        [0, 'new'],
        [500, 'scheduled'],
        [900, 'dead'],
        [910, 'low'],
      ] as const
    ).map(([day, reason]) => ({ changedAt: start + day * dayMs, reason, cell: null }))
    const { lives } = cellLives(
      { serial: 'PA-7', cell: 'CR2450', reportEveryS: 300, mounts: [{ mountedAt: start, removedAt: null }], changes },
      start + 1000 * dayMs,
      'UTC',
    )
    const model = fitLifeModel(lives, [], houseRulesPrior(defaultHouseRules))
    const months = swapsByMonth(lives, model, cellCosts(new Map(), defaultHouseRules), defaultHouseRules)
    expect(months.map(({ month, swaps, deaths }) => ({ month, swaps, deaths }))).toEqual([
      { month: '2025-05', swaps: 1, deaths: 0 },
      { month: '2026-06', swaps: 1, deaths: 1 },
    ])
    const law = model.lawFor({ cell: 'CR2450', reportEveryS: 300 })
    if (!law) throw new Error('the lives have a law')
    expect(months[0]?.deathsAvoided).toBeCloseTo(lifeOutlook(law).risk(500, 590), 12)
  })
})
