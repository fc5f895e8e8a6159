import { describe, expect, it } from 'vitest'
import { count, day, lb, percent, psi, ticketLb } from '#core/findings/words.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'

describe('the words of findings', () => {
  it('write an onboard weight to the nearest 10 lb', () => {
    expect(lb(33_874)).toBe('33,870 lb')
    expect(lb(33_876)).toBe('33,880 lb')
    expect(lb(4)).toBe('0 lb')
    expect(lb(-126)).toBe('-130 lb')
  })

  it('write a printed weight as it stands on the ticket', () => {
    expect(ticketLb(33_876)).toBe('33,876 lb')
  })

  it('write a pressure with one decimal', () => {
    expect(psi(62)).toBe('62.0 psi')
    expect(psi(62.25)).toBe('62.3 psi')
  })

  it('write a percentage with a space', () => {
    expect(percent(35)).toBe('35 %')
  })

  it('write a day as year, month, day, as the fleet counts them', () => {
    const late = Date.parse('2026-03-01T23:59:00Z')
    expect(day(late, defaultHouseRules)).toBe('2026-03-01')
    expect(day(late, { ...defaultHouseRules, zone: 'Europe/Berlin' })).toBe('2026-03-02')
  })

  it('write one and many', () => {
    expect(count(1, 'day')).toBe('1 day')
    expect(count(0, 'day')).toBe('0 days')
    expect(count(1200, 'day')).toBe('1,200 days')
    expect(count(2, 'axle group', 'axle groups')).toBe('2 axle groups')
  })

  it('never write minus zero', () => {
    expect(lb(-3)).toBe('0 lb')
    expect(psi(-0.04)).toBe('0.0 psi')
  })
})
