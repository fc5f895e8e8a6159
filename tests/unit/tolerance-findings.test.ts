import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Observation } from '#core/evidence/history.ts'
import { dayOf } from '#core/words/day.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import {
  calibratedAt,
  calibration,
  check,
  checks,
  dayMs,
  daysOn,
  find,
  history,
  judge,
  point,
} from '#tests/unit/group-history.ts'
import { coverageFactor } from '#core/words/coverage.ts'

const forecastOn = (days: number, rules: Partial<HouseRules>) => {
  const { forecast } = judge(history(), { asOf: daysOn(days), rules: { maximumAgeDays: 3650, ...rules } })
  if (!forecast) throw new Error('the line of the fixture was not judged')
  return forecast
}

describe('the forecast of a line', () => {
  const day = fc.integer({ min: 0, max: 500 })
  const wanderPsi = fc.double({ min: 0.02, max: 1, noNaN: true })
  const tolerancePercent = fc.double({ min: 0.5, max: 10, noNaN: true })

  it('answers the last whole day on which the uncertainty is still allowed', () => {
    fc.assert(
      fc.property(day, wanderPsi, tolerancePercent, (days, wander, percent) => {
        const rules = { wanderPsi: wander, tolerancePercent: percent }
        const { daysLeft, allowedLb, uNowLb } = forecastOn(days, rules)
        const on = (ahead: number) => forecastOn(days + ahead, rules).uNowLb
        expect(allowedLb).toBeCloseTo(((percent / 100) * 34_000) / coverageFactor, 6)
        expect(Number.isInteger(daysLeft) && daysLeft >= 0).toBe(true)
        expect(on(daysLeft)).toBeLessThanOrEqual(Math.max(uNowLb, allowedLb) * (1 + 1e-9))
        expect(on(daysLeft + 1)).toBeGreaterThan(allowedLb * (1 - 1e-9))
      }),
    )
  })

  it('says the same moment of passing on every day', () => {
    fc.assert(
      fc.property(day, day, wanderPsi, tolerancePercent, (one, other, wander, percent) => {
        const rules = { wanderPsi: wander, tolerancePercent: percent }
        expect(forecastOn(one, rules).passesAt).toBe(forecastOn(other, rules).passesAt)
      }),
    )
  })

  it('leaves fewer days to the faster wandering and the stricter', () => {
    const more = fc.double({ min: 1, max: 3, noNaN: true })
    fc.assert(
      fc.property(day, wanderPsi, tolerancePercent, more, (days, wander, percent, times) => {
        const { daysLeft } = forecastOn(days, { wanderPsi: wander, tolerancePercent: percent })
        for (const stricter of [
          { wanderPsi: wander * times, tolerancePercent: percent },
          { wanderPsi: wander, tolerancePercent: percent / times },
        ])
          expect(forecastOn(days, stricter).daysLeft).toBeLessThanOrEqual(daysLeft)
      }),
    )
  })

  it('never ends for a line that does not wander, and has ended for one that is not sure enough', () => {
    expect(forecastOn(300, { wanderPsi: 0 })).toMatchObject({
      daysLeft: Number.POSITIVE_INFINITY,
      passesAt: Number.POSITIVE_INFINITY,
    })
    for (const wander of [0, 0.05])
      expect(forecastOn(300, { wanderPsi: wander, tolerancePercent: 0.1 })).toMatchObject({
        daysLeft: 0,
        passesAt: calibratedAt,
      })
  })
})

const code = 'uncertainty-over-tolerance'
const wandering = { wanderPsi: 0.3, maximumAgeDays: 3650 }
const on = (days: number, observations: readonly Observation[] = []) =>
  judge(history({ observations }), { asOf: daysOn(days), rules: wandering })
const told = (judged: ReturnType<typeof judge>) => judged.findings.find((each) => each.code === code)
/** First day on which the line of the fixture, wandering and unchecked, is no longer sure enough. */
const passed = Array.from({ length: 1000 }, (_, i) => i).find((days) => told(on(days))?.severity === 'warn') as number

describe('uncertainty-over-tolerance', () => {
  it('announces the day within the notice of the House Rules, and has then come to it', () => {
    expect(passed).toBeGreaterThan(100)
    expect(told(on(passed - 33))).toBeUndefined()
    const early = on(passed - 20)
    expect(told(early)).toMatchObject({ severity: 'note' })
    expect(early.trust).toBe('due soon')
    const left = told(early)?.numbers['days_left'] as number
    expect(early.dueOn).toBe(dayOf(early.forecast?.passesAt ?? 0, 'UTC'))
    expect(Math.abs(left - 20)).toBeLessThanOrEqual(1)
    expect(told(early)?.message).toMatch(
      new RegExp(
        `^By this line a weight near the 34,000 lb limit is good to ± [\\d,]+ lb today and will pass the tolerance of 1,020 lb \\(3 % of the limit\\) about ${early.dueOn}\\.$`,
      ),
    )
    expect(told(early)?.nextStep).toBe(`Plan a calibration, or a check weighing near the limit, before ${early.dueOn}.`)
  })

  it('gives the expanded uncertainty with the tolerance it is held against', () => {
    const { numbers } = told(on(passed + 10)) ?? { numbers: {} as Record<string, number> }
    expect(numbers['tolerance_lb'] as number).toBeCloseTo(1020, 6)
    expect(numbers['expanded_lb'] as number).toBeCloseTo(coverageFactor * (numbers['u_limit_lb'] as number), 6)
    expect(numbers['expanded_lb'] as number).toBeGreaterThan(1020)
    expect(on(passed + 10)).toMatchObject({ trust: 'overdue' })
  })

  it('says the same since-date of the same passing, whenever it is asked', () => {
    const since = [passed + 1, passed + 40, passed + 200].map((days) => told(on(days))?.since as number)
    for (const each of since) expect(Math.abs(each - daysOn(passed))).toBeLessThan(1.5 * dayMs)
    const notes = [passed - 25, passed - 10, passed - 3].map((days) => told(on(days))?.since as number)
    for (const each of notes) expect(Math.abs(each - daysOn(passed - 30))).toBeLessThan(2.5 * dayMs)
  })

  it('is due on the day of the passing from then on, so that it becomes late', () => {
    const due = [passed - 20, passed + 1, passed + 40, passed + 200].map((days) => on(days).dueOn)
    expect(new Set(due)).toEqual(new Set([due[0]]))
    expect(Math.abs(Date.parse(due[0] ?? '') - daysOn(passed))).toBeLessThan(1.5 * dayMs)
  })

  it('is due when a check showed it, and never later than its age allows', () => {
    const old = judge(history(), { asOf: daysOn(passed + 40), rules: { ...wandering, maximumAgeDays: passed - 100 } })
    expect(old.dueOn).toBe(dayOf(daysOn(passed - 100), 'UTC'))
  })

  it('is there from the calibration on where its points were never sure enough', () => {
    const points = [point(30, 19_000), point(36, 22_000)]
    const found = find(history({ calibrations: [calibration({ points })] }), code, { asOf: daysOn(50) })
    expect(found).toMatchObject({ severity: 'warn', since: calibratedAt })
    expect(found?.message).toMatch(
      /^By this line a weight near the 34,000 lb limit is only good to ± [\d,]+ lb; the tolerance is 1,020 lb \(3 % of the limit\)\.$/,
    )
  })

  it('is put off by checks near the limit, less by checks far from it', () => {
    const near = on(passed + 10, checks(Array.from({ length: Math.floor(passed / 16) }, () => 0)))
    expect(told(near)).toBeUndefined()
    expect(near.trust).toBe('sound')
    const far = Array.from({ length: 6 }, (_, i) => check(passed - 100 + 16 * i, 0, { psi: 16 }))
    const close = far.map((each) => ({ ...each, psi: [58], weightLb: 33_000 }))
    expect(on(passed - 1, far).uLimitLb as number).toBeGreaterThan(1.2 * (on(passed - 1, close).uLimitLb as number))
  })

  it('counts how far the line lies off its track, since the check that took it there', () => {
    const shift = checks([0, 0, 0, 0, ...Array.from({ length: 16 }, () => 620)])
    const judged = judge(history({ observations: shift }), { asOf: daysOn(16 * 20 + 1) })
    const found = told(judged)
    expect(found).toMatchObject({ severity: 'warn' })
    expect(found?.since as number).toBeGreaterThanOrEqual(daysOn(16 * 5))
    expect(found?.since as number).toBeLessThan(daysOn(16 * 20))
    const sooner = judge(history({ observations: shift.slice(0, 18) }), { asOf: daysOn(16 * 18 + 1) })
    expect(told(sooner)?.since).toBe(found?.since)
  })

  it('never lets the due date pass the largest age', () => {
    expect(judge(history(), { asOf: daysOn(10), rules: { wanderPsi: 0.001 } }).dueOn).toBe(dayOf(daysOn(365), 'UTC'))
    expect(
      (judge(history(), { asOf: daysOn(10), rules: { wanderPsi: 1 } }).dueOn as string) < dayOf(daysOn(365), 'UTC'),
    ).toBe(true)
  })

  it('follows the House Rules tolerance', () => {
    expect(find(history(), code, { rules: { tolerancePercent: 0.5 } })).toBeDefined()
    expect(find(history(), code, { rules: { tolerancePercent: 10 } })).toBeUndefined()
  })
})

describe('a line that a later check shows to have moved long ago', () => {
  const misses = [700, 700, 700, 700]
  const known = { maximumAgeDays: 3650 }
  const moved = (upTo: number) => history({ observations: checks(misses.slice(0, upTo)) })

  it('is late from the day on which that could be known, not from the day on which it began', () => {
    const { forecast, dueOn } = judge(moved(4), { asOf: daysOn(200), rules: known })
    // By all four the line was off from its calibration on; three of them had to be weighed to tell.
    expect(forecast?.passesAt).toBe(calibratedAt)
    expect(forecast?.knownAt).toBe(daysOn(48))
    expect(dueOn).toBe(dayOf(daysOn(48), 'UTC'))
  })

  it('was called late on no day before', () => {
    const { dueOn } = judge(moved(4), { asOf: daysOn(200), rules: known })
    for (const days of [17, 33, 47]) {
      const then = judge(moved(Math.floor(days / 16)), { asOf: daysOn(days), rules: known })
      expect(dayOf(daysOn(days), 'UTC') < String(dueOn)).toBe(true)
      expect(String(then.dueOn) > dayOf(daysOn(days), 'UTC')).toBe(true)
    }
  })
})
