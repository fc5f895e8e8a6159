import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type BenchVisit, lateSentence, planBench } from '#core/bench/plan.ts'
import { type Benches, yardBenches } from '#core/bench/yard-bench.ts'
import { type PlannedVisit, type Visit, type WorkItem, gatherVisits } from '#core/bench/visits.ts'
import { cellWork } from '#core/bench/work.ts'
import { fitLifeModel, houseRulesPrior } from '#core/cells/life-model.ts'
import { cellOutlook, lifeOutlook } from '#core/cells/outlook.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { simulateFleet } from '#tests/unit/battery-fleet.ts'

const item = (id: string, unitId: number, dueDay: number, part: Partial<WorkItem> = {}): WorkItem => ({
  id,
  kind: 'cell',
  unitId,
  unit: `T-${unitId}`,
  yardId: 1,
  dueDay,
  minutes: 15,
  urgency: 0,
  ...part,
})
const window = { firstDay: 100, lastDay: 128, gatherDays: 10 }
const ids = (visits: readonly Visit[]) =>
  visits.map(({ unitId, plannedDay, dueDay, items }) => ({
    unitId,
    plannedDay,
    dueDay,
    work: items.map(({ id }) => id),
  }))
const visit = (
  unitId: number,
  dueDay: number,
  minutes: number,
  plannedDay: number | null = null,
  yardId: number | null = 1,
): Visit => ({
  unitId,
  unit: `T-${unitId}`,
  yardId,
  dueDay,
  minutes,
  urgency: 0,
  plannedDay,
  items: [item(`w${unitId}`, unitId, dueDay, { minutes, yardId })],
})

describe('gathering work into visits', () => {
  it('does in one visit all that is due or nearly due', () => {
    expect(
      ids(
        gatherVisits(
          [
            item('late', 1, 115),
            item('first', 1, 105),
            item('later', 1, 116),
            item('other', 2, 110),
            item('far', 3, 200),
          ],
          [],
          window,
        ),
      ),
    ).toEqual([
      { unitId: 1, plannedDay: null, dueDay: 105, work: ['first', 'late'] },
      { unitId: 1, plannedDay: null, dueDay: 116, work: ['later'] },
      { unitId: 2, plannedDay: null, dueDay: 110, work: ['other'] },
    ])
  })

  it('uses planned visits first: the one from which the work is nearly due, else the last before its day', () => {
    const planned: PlannedVisit[] = [
      { unitId: 1, day: 104, yardId: null },
      { unitId: 1, day: 118, yardId: 7 },
      { unitId: 1, day: 90, yardId: null },
    ]
    expect(
      ids(
        gatherVisits(
          [
            item('near', 1, 112),
            item('last', 1, 117),
            item('second', 1, 126),
            item('along', 1, 137),
            item('before', 1, 102),
          ],
          planned,
          window,
        ),
      ),
    ).toEqual([
      { unitId: 1, plannedDay: 104, dueDay: 112, work: ['near', 'last'] },
      { unitId: 1, plannedDay: 118, dueDay: 126, work: ['second'] },
      { unitId: 1, plannedDay: null, dueDay: 102, work: ['before'] },
    ])
  })

  it('lets work whose day has passed wait a week for a planned visit, not longer', () => {
    expect(gatherVisits([item('old', 1, 80)], [{ unitId: 1, day: 107, yardId: null }], window)[0]?.plannedDay).toBe(107)
    expect(
      gatherVisits([item('old', 1, 80)], [{ unitId: 1, day: 108, yardId: null }], window)[0]?.plannedDay,
    ).toBeNull()
  })

  it('loses no work that is due in the window and does none twice, in any order of input', () => {
    const anyItem = fc.record({ unitId: fc.integer({ min: 1, max: 4 }), dueDay: fc.integer({ min: 85, max: 145 }) })
    const anyPlanned = fc.array(
      fc.record({
        unitId: fc.integer({ min: 1, max: 4 }),
        day: fc.integer({ min: 95, max: 140 }),
        yardId: fc.constant(null),
      }),
      { maxLength: 5 },
    )
    fc.assert(
      fc.property(fc.array(anyItem, { maxLength: 12 }), anyPlanned, (facts, planned) => {
        const items = facts.map(({ unitId, dueDay }, i) => item(`w${i}`, unitId, dueDay))
        const visits = gatherVisits(items, planned, window)
        const done = visits.flatMap(({ items: work }) => work.map(({ id }) => id))
        expect(new Set(done).size).toBe(done.length)
        expect(done).toEqual(
          expect.arrayContaining(items.filter(({ dueDay }) => dueDay <= window.lastDay).map(({ id }) => id)),
        )
        for (const each of visits) {
          expect(each.items.every(({ unitId }) => unitId === each.unitId)).toBe(true)
          expect(each.dueDay).toBe(Math.min(...each.items.map(({ dueDay }) => dueDay)))
        }
        expect(ids(gatherVisits([...items].reverse(), [...planned].reverse(), window)).length).toBe(visits.length)
      }),
    )
  })
})

/**
 * The least number of late visits of any order, one after the other through the days' minutes: tried out, all of them.
 */
function fewestLateOfAll(visits: readonly Visit[], minutesOf: readonly number[], firstDay: number): number {
  let fewest = visits.length
  const attempt = (left: readonly Visit[], day: number, used: number, late: number): void => {
    if (late >= fewest) return
    if (left.length === 0) {
      fewest = late
      return
    }
    left.forEach((next, i) => {
      let at = day
      let spent = used
      let wanted = next.minutes
      while (at < minutesOf.length) {
        const taken = Math.min(wanted, (minutesOf[at] as number) - spent)
        wanted -= taken
        spent += taken
        if (wanted === 0) break
        at += 1
        spent = 0
      }
      attempt(
        left.filter((_, j) => j !== i),
        at,
        spent,
        late + (firstDay + at > next.dueDay ? 1 : 0),
      )
    })
  }
  attempt(visits, 0, 0, 0)
  return fewest
}

/** Benches that count minutes, as many as are said. */
const inMinutes =
  (minutesOn: (yardId: number | null, day: number) => number): Benches =>
  (yardId) => ({
    counts: 'minutes',
    roomOn: (day) => minutesOn(yardId, day),
    sizeOf: ({ minutes }) => minutes,
    closedOn: () => null,
  })

const load = (visits: readonly BenchVisit[]) => {
  const used = new Map<number, number>()
  for (const { parts } of visits) for (const { day, size } of parts) used.set(day, (used.get(day) ?? 0) + size)
  return used
}

describe('the bench plan', () => {
  const anyVisits = fc
    .array(fc.record({ dueDay: fc.integer({ min: 98, max: 107 }), minutes: fc.integer({ min: 1, max: 9 }) }), {
      minLength: 1,
      maxLength: 6,
    })
    .map((facts) => facts.map(({ dueDay, minutes }, i) => visit(i + 1, dueDay, minutes)))
  const anyDays = fc.array(fc.integer({ min: 0, max: 10 }), { minLength: 8, maxLength: 8 })

  it('misses as few dates as the best of all orders, so none that could be met', () => {
    fc.assert(
      fc.property(anyVisits, anyDays, (visits, days) => {
        const minutesOf = [...days, ...Array<number>(60).fill(5)]
        const plan = planBench(
          visits,
          inMinutes((_, day) => minutesOf[day - 100] ?? 0),
          100,
        )
        expect(plan.visits).toHaveLength(visits.length)
        expect(plan.late.length).toBe(fewestLateOfAll(visits, minutesOf, 100))
        for (const [day, used] of load(plan.visits)) expect(used).toBeLessThanOrEqual(minutesOf[day - 100] as number)
      }),
      { numRuns: 400 },
    )
  })

  it('keeps planned visits on their day and serves the rest as well as what is left allows', () => {
    const plannedDays = fc.array(fc.option(fc.integer({ min: 100, max: 103 })), { minLength: 6, maxLength: 6 })
    fc.assert(
      fc.property(anyVisits, anyDays, plannedDays, (plain, days, planned) => {
        const visits = plain.map((each, i) => ({
          ...each,
          plannedDay: planned[i] !== null && (planned[i] as number) <= each.dueDay ? (planned[i] as number) : null,
        }))
        const minutesOf = [...days, ...Array<number>(60).fill(5)]
        const plan = planBench(
          visits,
          inMinutes((_, day) => minutesOf[day - 100] ?? 0),
          100,
        )
        const kept = plan.visits.filter(({ plannedDay }) => plannedDay !== null)
        for (const { day, untilDay, plannedDay } of kept) expect([day, untilDay]).toEqual([plannedDay, plannedDay])
        const left = [...minutesOf]
        for (const { day, minutes } of kept) left[day - 100] = (left[day - 100] as number) - minutes
        const rest = visits.filter(({ unitId }) => !kept.some((each) => each.unitId === unitId))
        expect(plan.late.filter(({ plannedDay }) => plannedDay === null).length).toBe(fewestLateOfAll(rest, left, 100))
        for (const { unitId, plannedDay } of rest) {
          const at = plan.visits.find((each) => each.unitId === unitId)
          expect(at?.missedPlannedDay).toBe(plannedDay)
        }
        for (const [day, used] of load(plan.visits)) expect(used).toBeLessThanOrEqual(minutesOf[day - 100] as number)
      }),
    )
  })

  it('keeps a unit overnight only where a date would be missed otherwise', () => {
    const whole = planBench(
      [visit(1, 102, 40), visit(2, 102, 40)],
      inMinutes(() => 60),
      100,
    )
    expect(whole.visits.map(({ day, untilDay }) => [day, untilDay])).toEqual([
      [100, 100],
      [101, 101],
    ])
    const overnight = planBench(
      [visit(1, 101, 40), visit(2, 101, 40), visit(3, 101, 40)],
      inMinutes(() => 60),
      100,
    )
    expect(overnight.late).toEqual([])
    expect(overnight.visits[1]).toMatchObject({
      day: 100,
      untilDay: 101,
      parts: [
        { day: 100, size: 20 },
        { day: 101, size: 20 },
      ],
    })
  })

  it('does overdue work first as long as that makes nothing else late, and says what it cannot meet', () => {
    const plan = planBench(
      [visit(1, 90, 30), visit(2, 100, 40), visit(3, 100, 30), visit(4, 103, 10)],
      inMinutes(() => 60),
      100,
    )
    expect(plan.visits.map(({ unitId, day }) => [unitId, day])).toContainEqual([3, 100])
    expect(plan.visits.find(({ unitId }) => unitId === 1)).toMatchObject({
      day: 100,
      lateBecause: 'date already past',
      lateDays: 10,
    })
    expect(plan.late.map(lateSentence)).toEqual([
      'Unit T-1 was due on 1970-04-01; the first room on the bench is 1970-04-11.',
      'Unit T-2 is due on 1970-04-11, but the yard’s bench is full until 1970-04-12.',
    ])
  })

  it('plans each yard by itself, and leaves over what a yard without bench time cannot do', () => {
    const plan = planBench(
      [visit(1, 100, 60, null, 1), visit(2, 100, 60, null, 2), visit(3, 100, 60, null, null)],
      inMinutes((yardId) => (yardId === 2 ? 0 : 60)),
      100,
    )
    expect(plan.visits.map(({ unitId, lateDays }) => [unitId, lateDays])).toEqual([
      [1, 0],
      [3, 0],
    ])
    expect(plan.unplaced.map(({ unitId }) => unitId)).toEqual([2])
  })

  it('works Monday to Friday by House Rules (1970-01-01 was a Thursday)', () => {
    const { roomOn } = yardBenches(new Map(), defaultHouseRules)(null)
    expect([0, 1, 2, 3, 4, 11, -1].map(roomOn)).toEqual([480, 480, 0, 0, 480, 480, 480])
  })

  it('takes sensors by the thousand from their record to a plan that has every visit', () => {
    const conditions = [60, 300, 900].map((reportEveryS) => ({
      cell: 'CR2450',
      reportEveryS,
      lifeDays: 500 * (reportEveryS / 60) ** 0.3,
      share: 1,
    }))
    const fleet = simulateFleet({
      seed: 1,
      sensors: 5000,
      shape: 3,
      conditions,
      scheduledShare: 0.4,
      scheduledAt: [0.5, 0.9],
      days: 1461,
    })
    const model = fitLifeModel(fleet.lives, fleet.inService, houseRulesPrior(defaultHouseRules))
    const outlooks = new Map(model.strata.map((law) => [law, lifeOutlook(law)]))
    const firstDay = Math.ceil(fleet.asOf / 86_400_000)
    const items = fleet.inService.map((cell, i) => {
      const law = model.lawFor(cell)
      const outlook = law && outlooks.get(law)
      if (!outlook) throw new Error('every cell in service has a law')
      const unitId = i >> 2
      return cellWork(
        cellOutlook(cell, outlook, defaultHouseRules, fleet.asOf, null),
        { unitId, unit: `T-${unitId}`, yardId: unitId % 12 },
        defaultHouseRules,
      )
    })
    const planned = Array.from(
      { length: 400 },
      (_, i): PlannedVisit => ({ unitId: i * 3, day: firstDay + (i % 28), yardId: null }),
    )
    const visits = gatherVisits(items, planned, { firstDay, lastDay: firstDay + 28, gatherDays: 30 })
    const plan = planBench(visits, yardBenches(new Map(), defaultHouseRules), firstDay)
    expect(plan.visits.length).toBe(visits.length)
    expect(plan.visits.length).toBeGreaterThan(1000)
  })
})
