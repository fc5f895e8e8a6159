import { describe, expect, it } from 'vitest'
import { addDays, dayOf, endOfDay, startOfDay } from '#core/words/day.ts'
import { laterBy } from '#core/words/instant.ts'
import { calibratedAt, find, history, judge } from '#tests/unit/group-history.ts'

const dueOn = addDays(dayOf(calibratedAt, 'UTC'), 365)
const endsAt = endOfDay(dueOn, 'UTC')
const noticeAt = startOfDay(addDays(dueOn, -30), 'UTC')

describe('age-over-limit', () => {
  it('begins when the day on which the allowed age is reached has ended', () => {
    expect(find(history(), 'age-over-limit', { asOf: endsAt })).toBeUndefined()
    expect(find(history(), 'age-over-limit', { asOf: endsAt + 1 })).toMatchObject({
      severity: 'warn',
      unitId: 1,
      groupId: 10,
      since: endsAt,
    })
  })

  it('says how old, since when, and what is allowed', () => {
    const finding = find(history(), 'age-over-limit', { asOf: laterBy(calibratedAt, 400) })
    expect(finding?.numbers).toEqual({ age_days: 400, limit_days: 365 })
    expect(finding?.message).toBe(
      'The line of 2025-03-01 passed its allowed age of 365 days on 2026-03-01; it is 400 days old.',
    )
    expect(finding?.nextStep).toMatch(/calibrate again/)
  })

  it('follows the House Rules', () => {
    expect(
      find(history(), 'age-over-limit', { asOf: laterBy(calibratedAt, 91), rules: { maximumAgeDays: 90 } })?.numbers,
    ).toEqual({ age_days: 91, limit_days: 90 })
    expect(
      find(history(), 'age-over-limit', { asOf: laterBy(calibratedAt, 500), rules: { maximumAgeDays: 730 } }),
    ).toBeUndefined()
  })
})

describe('age-near-limit', () => {
  it('begins on the first moment of the notice and lasts to the allowed age', () => {
    expect(find(history(), 'age-near-limit', { asOf: noticeAt - 1 })).toBeUndefined()
    expect(find(history(), 'age-near-limit', { asOf: noticeAt })).toMatchObject({ severity: 'note', since: noticeAt })
    expect(find(history(), 'age-near-limit', { asOf: endsAt })?.numbers).toMatchObject({ days_left: 0 })
    expect(find(history(), 'age-near-limit', { asOf: endsAt + 1 })).toBeUndefined()
  })

  it('says on which day the age is reached', () => {
    const finding = find(history(), 'age-near-limit', { asOf: laterBy(calibratedAt, 350) })
    expect(finding?.numbers).toEqual({ age_days: 350, limit_days: 365, days_left: 15 })
    expect(finding?.message).toBe('The line of 2025-03-01 reaches its allowed age of 365 days on 2026-03-01.')
    expect(finding?.nextStep).toBe('Plan a calibration before 2026-03-01.')
  })
})

describe('the due date', () => {
  it('is a day of the fleet, in whatever zone it counts its days', () => {
    // Calibrated at noon UTC: in Auckland that is one o'clock of the next morning, daylight saving time.
    expect(judge(history(), { rules: { zone: 'Pacific/Auckland' } }).dueOn).toBe('2026-03-02')
    const lateInDenver = Date.parse('2026-03-02T05:00:00Z')
    expect(judge(history(), { asOf: lateInDenver, rules: { zone: 'America/Denver' } })).toMatchObject({
      trust: 'due soon',
      ageDays: 365,
    })
    expect(judge(history(), { asOf: lateInDenver })).toMatchObject({ trust: 'overdue', ageDays: 366 })
  })

  it('is the day on which the allowed age is reached', () => {
    expect(judge(history()).dueOn).toBe('2026-03-01')
    expect(judge(history(), { rules: { maximumAgeDays: 30 }, asOf: calibratedAt }).dueOn).toBe('2025-03-31')
  })

  it('goes with trust: sound, due soon, overdue', () => {
    expect(judge(history(), { asOf: noticeAt - 1 })).toMatchObject({ trust: 'sound', ageDays: 334 })
    expect(judge(history(), { asOf: noticeAt })).toMatchObject({ trust: 'due soon', ageDays: 335 })
    expect(judge(history(), { asOf: endsAt + 1 })).toMatchObject({ trust: 'overdue', ageDays: 366 })
  })
})
