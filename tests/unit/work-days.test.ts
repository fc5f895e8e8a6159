import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type BenchDay, closedSentences, spanName, visitTimeOf } from '#core/bench/bench-days.ts'
import { planBench } from '#core/bench/plan.ts'
import { whyEmpty } from '#core/bench/why-empty.ts'
import { nextBenchDay, yardBenches } from '#core/bench/yard-bench.ts'
import type { Visit } from '#core/bench/visits.ts'
import { dayNumber, storedDay } from '#core/words/day.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { closedOn, holidaysIn, readHolidays, readWeekdays, weekdaysIn } from '#core/words/work-days.ts'

const day = storedDay
const weekdays = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun']

describe('working days as people type them', () => {
  it.each([
    ['Mon-Fri', 'Mon Tue Wed Thu Fri'],
    ['monday – saturday', 'Mon Tue Wed Thu Fri Sat'],
    ['Fri-Mon', 'Mon Fri Sat Sun'],
    ['sat, MON wed;mon', 'Mon Wed Sat'],
    ['Sun', 'Sun'],
  ])('%s is stored as %s', (text, stored) => {
    expect(readWeekdays(text)).toBe(stored)
    expect([...weekdaysIn(stored)].map((place) => weekdays[place - 1])).toEqual(stored.split(' '))
  })

  it.each(['', '  ', 'Mo', 'Mon-', '-', 'Mon-Tue-Wed', 'Moon', 'daily', '1'])('%j is none', (text) => {
    expect(readWeekdays(text)).toBeUndefined()
  })

  it('are stored in one way only: what is stored reads as itself', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray(weekdays, { minLength: 1 }), (days) => {
        const stored = readWeekdays(days.join(' ')) ?? ''
        expect(stored).toBe(weekdays.filter((name) => days.includes(name)).join(' '))
        expect(readWeekdays(stored)).toBe(stored)
      }),
    )
  })
})

describe('holidays as people type them', () => {
  it('are days, or days of every year, in order and each once', () => {
    expect(readHolidays('2026-11-26 12-25; 01-01,2026-11-26')).toBe('01-01, 12-25, 2026-11-26')
    expect(readHolidays('02-29')).toBe('02-29')
    for (const text of ['', '2026-02-29', '02-30', '13-01', 'Christmas', '2026-1-1'])
      expect(readHolidays(text)).toBeUndefined()
    const isHoliday = holidaysIn('12-25, 2026-11-26')
    expect(['2026-12-25', '2031-12-25', '2026-11-26', '2027-11-26'].map((text) => isHoliday(day(text)))).toEqual([
      true,
      true,
      true,
      false,
    ])
  })
})

describe('the bench of a yard', () => {
  const own = { workingDays: 'Mon Tue Wed Thu Fri Sat', holidays: '12-25', jobsPerDay: 2 }
  const benches = yardBenches(new Map([[1, own]]), defaultHouseRules)
  const visit = (unitId: number, items: number): Visit => ({
    unitId,
    unit: `T-${unitId}`,
    yardId: 1,
    dueDay: dayNumber(day('2026-12-31')),
    minutes: 300 * items,
    urgency: 0,
    items: Array.from({ length: items }, (_, i) => ({
      id: `${unitId} ${i}`,
      kind: 'repair' as const,
      unitId,
      unit: `T-${unitId}`,
      yardId: 1,
      dueDay: dayNumber(day('2026-12-31')),
      minutes: 300,
      urgency: 0,
    })),
    plannedDay: null,
  })

  it('works its own days, else those of the House Rules, and says why it is closed', () => {
    const closed = closedOn(own, 5)
    expect(closed(day('2026-12-26')), 'a Saturday').toBeNull()
    expect(closed(day('2026-12-27')), 'a Sunday').toBe('no working day')
    expect(closed(day('2026-12-25')), 'a Friday').toBe('holiday')
    const houseRules = benches(null)
    expect(houseRules.closedOn(dayNumber(day('2026-12-26')))).toBe('no working day')
    expect(houseRules.closedOn(dayNumber(day('2026-12-25')))).toBeNull()
    expect(nextBenchDay(houseRules, dayNumber(day('2026-11-28')))).toBe(dayNumber(day('2026-11-30')))
    expect(nextBenchDay(benches(1), dayNumber(day('2026-11-28')))).toBe(dayNumber(day('2026-11-28')))
  })

  it('counts jobs where it is told how many a day: so many pieces of work, whatever their minutes', () => {
    const plan = planBench([visit(1, 1), visit(2, 1), visit(3, 2), visit(4, 1)], benches, dayNumber(day('2026-12-24')))
    const on = (unitId: number) => plan.visits.find((each) => each.unitId === unitId)?.day
    expect([1, 2, 3, 4].map(on)).toEqual(
      ['2026-12-24', '2026-12-24', '2026-12-26', '2026-12-28'].map((d) => dayNumber(day(d))),
    )
    expect(plan.late).toEqual([])
  })

  it('takes a visit of more jobs than a day has over two of its days', () => {
    const [only] = planBench([visit(1, 3)], benches, dayNumber(day('2026-12-24'))).visits
    expect(only?.parts).toEqual([
      { day: dayNumber(day('2026-12-24')), size: 2 },
      { day: dayNumber(day('2026-12-26')), size: 1 },
    ])
  })
})

describe('a day on which benches are closed', () => {
  const saturday = day('2026-11-28')
  const closed = (yard: string | null, next: string | null = '2026-11-30'): BenchDay => ({
    yard,
    closed: 'no working day',
    next,
  })
  const works = (yard: string): BenchDay => ({ yard, closed: null, next: saturday })

  it('says so, and which bench day is next', () => {
    expect(closedSentences([closed('Cinder Gap'), closed('Larch Hollow')], saturday)).toEqual([
      'Closed today (Saturday); next bench day Monday, 2026-11-30.',
    ])
    expect(
      closedSentences(
        [works('Cinder Gap'), closed('Larch Hollow'), { yard: 'Salt Bend', closed: 'holiday', next: null }],
        saturday,
      ),
    ).toEqual([
      'Larch Hollow: closed today (Saturday); next bench day Monday, 2026-11-30.',
      'Salt Bend: closed today (a holiday); no bench day within a year.',
    ])
    expect(closedSentences([works('Cinder Gap')], saturday)).toEqual([])
  })

  it('shows the work of the next bench day, and of its week', () => {
    const next = day('2026-11-30')
    expect(
      ['2026-11-30', '2026-12-01', '2026-12-06', '2026-12-07'].map((text) => visitTimeOf(day(text), next)),
    ).toEqual(['today', 'this week', 'this week', 'later'])
    const of = (...days: BenchDay[]) => [spanName('today', days, saturday), spanName('this week', days, saturday)]
    expect(of(closed('Cinder Gap'))).toEqual(['on the next bench day', 'next week'])
    expect(of(closed('Cinder Gap'), works('Larch Hollow'))).toEqual(['today', 'this week'])
    expect(of(closed('Cinder Gap', '2026-12-14'))).toEqual(['on the next bench day', 'in the next bench week'])
  })
})

describe('an empty list of work', () => {
  const facts = { lastDay: '2026-12-25', sensors: 3, groups: 2, visits: [], later: [] }
  it('says why', () => {
    expect(whyEmpty({ ...facts, groups: 0 }, undefined, 'today')).toMatch(/^No unit in service has an axle group yet/)
    expect(whyEmpty(facts, undefined, null)).toBe(
      'Nothing to do through 2026-12-25. No cell, calibration line or finding asks for work.',
    )
    expect(whyEmpty({ ...facts, sensors: 0 }, 'Cinder Gap', 'today')).toBe(
      'Nothing to do today at Cinder Gap. No sensor sits on a unit in service, so no cell runs out.',
    )
    const later = [
      { yard: 'Larch Hollow', unit: 'T-2', dueOn: '2027-01-04' },
      { yard: 'Cinder Gap', unit: 'T-1', dueOn: '2027-02-03' },
    ]
    expect(whyEmpty({ ...facts, later }, 'Cinder Gap', null)).toBe(
      'Nothing to do through 2026-12-25 at Cinder Gap. The next job is due on 2027-02-03, on unit T-1.',
    )
    const visits = [
      { yard: 'Larch Hollow', day: '2026-12-01' },
      { yard: 'Cinder Gap', day: '2026-12-03' },
    ]
    expect(whyEmpty({ ...facts, visits }, 'Cinder Gap', 'this week')).toBe(
      'Nothing to do this week at Cinder Gap. The first visit is on Thursday, 2026-12-03.',
    )
    expect(whyEmpty({ ...facts, visits }, null, 'this week')).toBe(
      'Nothing to do this week on units without a yard. No cell, calibration line or finding asks for work. ' +
        'Other yards have 2 visits.',
    )
  })
})
