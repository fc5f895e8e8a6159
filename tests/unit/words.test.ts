import { describe, expect, it } from 'vitest'
import { measureSets } from '#core/words/measures.ts'
import { sayIn, sayStored as storedIn } from '#core/words/say.ts'
import { count } from '#core/words/text.ts'

const sayKg = sayIn(measureSets['kg, bar, m'], 'America/Denver')
const sayStored = storedIn('UTC')
const { weight, ticket, pressure, percent, day } = sayStored

describe('the words of quantities', () => {
  it('write an onboard weight to its honest step', () => {
    expect(weight(33_874)).toBe('33,870 lb')
    expect(weight(33_876)).toBe('33,880 lb')
    expect(weight(4)).toBe('0 lb')
    expect(weight(-126)).toBe('-130 lb')
    expect(sayKg.weight(33_874)).toBe('15,365 kg')
  })

  it('write a printed weight as it stands on the ticket', () => {
    expect(ticket(33_876)).toBe('33,876 lb')
    expect(sayKg.ticket(33_876)).toBe('15,366 kg')
  })

  it('write a pressure with the decimals people use', () => {
    expect(pressure(62)).toBe('62.0 psi')
    expect(pressure(62.25)).toBe('62.3 psi')
    expect(sayKg.pressure(62)).toBe('4.27 bar')
  })

  it('write a slope with three figures, and a height in whole ones', () => {
    expect([sayStored.slope(548.7), sayKg.slope(548.7)]).toEqual(['549 lb per psi', '3,610 kg per bar'])
    expect([sayStored, sayKg].map((say) => say.elevation(say.climbFt))).toEqual(['1,000 ft', '300 m'])
  })

  it('write the 95 % interval as twice the standard uncertainty, never finer than the honest step', () => {
    expect([360, 1].map(sayStored.plusMinus)).toEqual(['± 720 lb', '± 10 lb'])
    expect([360, 1].map(sayKg.plusMinus)).toEqual(['± 325 kg', '± 5 kg'])
  })

  it('write a percentage with a space', () => {
    expect(percent(35)).toBe('35 %')
  })

  it('write a day as year, month, day, as the fleet counts them', () => {
    const at = Date.parse('2026-03-01T03:59:00Z')
    expect([day(at), sayKg.day(at)]).toEqual(['2026-03-01', '2026-02-28'])
  })

  it('write one and many', () => {
    expect(count(1, 'day')).toBe('1 day')
    expect(count(0, 'day')).toBe('0 days')
    expect(count(1200, 'day')).toBe('1,200 days')
    expect(count(2, 'axle group', 'axle groups')).toBe('2 axle groups')
  })

  it('never write minus zero', () => {
    expect(weight(-3)).toBe('0 lb')
    expect(pressure(-0.04)).toBe('0.0 psi')
  })
})
