import { describe, expect, it } from 'vitest'
import type { GroupHistory } from '#core/evidence/history.ts'
import { compareLives } from '#core/findings/line-findings.ts'
import { chiSquaredQuantile } from '#core/line/statistics.ts'
import {
  calibratedAt,
  calibration,
  daysOn,
  event,
  find,
  goodPoints,
  history,
  judge,
  point,
  scale,
} from '#tests/unit/group-history.ts'

/** Three points of a line that reads `empty` more at 14 psi and `limit` more at 60 psi than the first. */
const movedPoints = (empty: number, limit: number, at: number, scaleId = scale.scaleId) =>
  [14, 38, 60].map((psi, i) =>
    point(psi, (goodPoints()[i]?.weightLb as number) + empty + ((limit - empty) * (psi - 14)) / 46, {
      takenAt: at,
      scaleId,
    }),
  )
const again = (empty: number, limit: number, days = 120) =>
  calibration({ calibrationId: 501, calibratedAt: daysOn(days), points: movedPoints(empty, limit, daysOn(days)) })
const twice = (empty: number, limit: number, change: Partial<GroupHistory> = {}) =>
  history({ calibrations: [calibration(), again(empty, limit)], ...change })
const later = { asOf: daysOn(130) }

describe('line-moved', () => {
  it('tells a recalibration that found the line elsewhere, since the calibration before', () => {
    const found = find(twice(1500, 1500), 'line-moved', later)
    expect(found).toMatchObject({
      severity: 'warn',
      groupId: 10,
      numbers: { calibrated_on: '2025-06-29', before_on: '2025-03-01' },
    })
    // Nothing was weighed between the two: any day of them is as likely.
    expect(found?.since as number).toBeGreaterThan(calibratedAt)
    expect(found?.since as number).toBeLessThan(daysOn(120))
    expect(found?.numbers['probability'] as number).toBeGreaterThan(0.95)
    expect(found?.numbers['at_empty_lb'] as number).toBeCloseTo(1500, 6)
    expect(found?.numbers['at_limit_lb'] as number).toBeCloseTo(1500, 6)
    expect(found?.numbers['chi2'] as number).toBeGreaterThan(chiSquaredQuantile(0.999, 2))
    expect(found?.message).toMatch(
      /^The calibration of 2025-06-29 reads 1,500 lb more near (the limit|empty) than that of 2025-03-01, \d+\.\d times what chance explains, and no work is on record between them\.$/,
    )
    expect(found?.nextStep).toMatch(/Ask the shop/)
  })

  it('names the end that moved, and the way', () => {
    expect(find(twice(0, -2500), 'line-moved', later)?.message).toMatch(/reads 2,500 lb less near the limit/)
    expect(find(twice(2500, 0), 'line-moved', later)?.message).toMatch(/reads 2,500 lb more near empty/)
  })

  it('stays silent within both uncertainties and the wander between them', () => {
    expect(find(twice(0, 0), 'line-moved', later)).toBeUndefined()
    expect(find(twice(250, 300), 'line-moved', later)).toBeUndefined()
    const years = history({ calibrations: [calibration(), again(900, 900, 1400)] })
    expect(find(years, 'line-moved', { asOf: daysOn(1401), rules: { wanderPsi: 0.5 } })).toBeUndefined()
    expect(find(years, 'line-moved', { asOf: daysOn(1401), rules: { wanderPsi: 0.001 } })).toBeDefined()
  })

  it('fires beyond the House Rules confidence only, and there where the state says that something changed', () => {
    let told = 0
    for (const shift of [600, 700, 800, 900, 1000, 1100]) {
      for (const movedConfidence of [95, 99.9, 99.9999]) {
        const judged = judge(twice(shift, shift), { ...later, rules: { movedConfidence } })
        const [one, two] = judged.lives
        if (!one || !two) throw new Error('two lines were expected')
        if (!judged.findings.some(({ code }) => code === 'line-moved')) continue
        told += 1
        expect(compareLives(one, two).chi2).toBeGreaterThan(chiSquaredQuantile(movedConfidence / 100, 2))
      }
    }
    expect(told).toBeGreaterThan(3)
  })

  it('is not said of what a settling out of the ordinary explains', () => {
    const shifts = Array.from({ length: 40 }, (_, i) => 400 + 20 * i)
    const first = (of: (judged: ReturnType<typeof judge>) => boolean) =>
      shifts.find((shift) => of(judge(twice(shift, shift), later))) as number
    const beyond = first(
      ({ lives: [one, two] }) =>
        one !== undefined && two !== undefined && compareLives(one, two).chi2 > chiSquaredQuantile(0.999, 2),
    )
    const told = first(({ findings }) => findings.some(({ code }) => code === 'line-moved'))
    expect(told).toBeGreaterThan(beyond)
    expect(told).toBeLessThan(beyond + 250)
  })

  it('is no riddle where work is on record between the two, even at the very time of the second', () => {
    for (const at of [daysOn(60), daysOn(120)]) {
      expect(
        find(twice(1500, 1500, { events: [event('height set', at)] }), 'line-moved', later),
        String(at),
      ).toBeUndefined()
    }
    expect(
      find(twice(1500, 1500, { events: [event('height set', calibratedAt - 1)] }), 'line-moved', later),
    ).toBeDefined()
    expect(find(twice(1500, 1500, { events: [event('body work', daysOn(60))] }), 'line-moved', later)).toBeDefined()
  })

  it('counts work of the day of the second for its reason, where only the day of the calibration was entered', () => {
    const dated = { ...again(1500, 1500), calibratedAt: daysOn(119.5) }
    const group = history({ calibrations: [calibration(), dated], events: [event('height set', daysOn(119.8))] })
    expect(find(group, 'line-moved', later)).toBeUndefined()
    expect(judge(group, later).trust).toBe('sound')
  })

  it('compares with the newest line of the same lift state', () => {
    const lifted = (points: ReturnType<typeof goodPoints>, lift: 'raised' | 'lowered') =>
      points.map((each) => ({ ...each, lift }))
    const raised = calibration({ points: lifted(goodPoints(), 'raised') })
    const lowered = calibration({
      calibrationId: 501,
      calibratedAt: daysOn(1),
      points: lifted(movedPoints(3000, 3000, daysOn(1)), 'lowered'),
    })
    expect(find(history({ calibrations: [raised, lowered] }), 'line-moved', later)).toBeUndefined()
    const third = calibration({
      calibrationId: 502,
      calibratedAt: daysOn(120),
      points: lifted(movedPoints(3000, 3000, daysOn(120)), 'lowered'),
    })
    expect(find(history({ calibrations: [raised, lowered, third] }), 'line-moved', later)).toBeUndefined()
    const thirdRaised = calibration({
      calibrationId: 502,
      calibratedAt: daysOn(120),
      points: lifted(movedPoints(1500, 1500, daysOn(120)), 'raised'),
    })
    expect(find(history({ calibrations: [raised, lowered, thirdRaised] }), 'line-moved', later)?.numbers).toMatchObject(
      { before_on: '2025-03-01' },
    )
  })

  it('does not take trust from the new line', () => {
    expect(judge(twice(1500, 1500), later).trust).toBe('sound')
  })

  it('allows for scales that may differ within their tolerance', () => {
    const other = { ...scale, scaleId: 8, name: 'Other scale', tolerancePercent: 3 }
    const onOther = calibration({
      calibrationId: 501,
      calibratedAt: daysOn(120),
      points: movedPoints(900, 1400, daysOn(120), 8),
    })
    const group = history({ calibrations: [calibration(), onOther] })
    expect(find(group, 'line-moved', { ...later, scales: [scale, other] })).toBeUndefined()
    expect(find(group, 'line-moved', { ...later, scales: [scale, { ...other, tolerancePercent: 0.05 }] })).toBeDefined()
  })
})
