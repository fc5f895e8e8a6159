import { describe, expect, it } from 'vitest'
import { bridgeSets } from '#core/weight/bridge.ts'
import { covarianceLb2 } from '#core/weight/correlated.ts'
import { type TareTicket, tareBook, tareOf } from '#core/weight/tare.ts'
import { cargoOf, grossOf } from '#core/weight/verdict.ts'
import {
  type CombinationReading,
  type UnitToWeigh,
  planCombination,
  weighCombination,
} from '#core/weight/weigh-combination.ts'
import { type GroupWeighing, prepareGroup } from '#core/weight/weigh.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { weighBridgeSet, weightsByGroup } from '#tests/unit/weigh-bridge-set.ts'
import { calibration, dayMs, driveGroup, pointsAt, scale, spring, terms } from '#tests/unit/weight-fleet.ts'
import { sayStored } from '#core/words/say.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'

const rules = defaultHouseRules
const scaleOf = () => scale
const place = { limitLb: null, axles: 2, axleSpacingFt: 4, firstAxleFt: 16 }
const tractor: UnitToWeigh = {
  unitId: 1,
  unit: 'T-1',
  kind: 'tractor',
  grossLimitLb: null,
  fifthWheelFt: 17,
  groups: [
    { ...place, groupId: 1, group: 'steer', role: 'steer', axles: 1, firstAxleFt: 0, measuredBy: 'estimate' },
    { ...place, groupId: 2, group: 'drive', role: 'drive', measuredBy: 'circuit' },
  ],
}
const trailer: UnitToWeigh = {
  unitId: 2,
  unit: 'R-1',
  kind: 'trailer',
  grossLimitLb: null,
  fifthWheelFt: null,
  groups: [
    { ...place, groupId: 3, group: 'tandem', role: 'trailer', firstAxleFt: 36, measuredBy: 'circuit' },
    { ...place, groupId: 4, group: 'lift', role: 'lift', axles: 1, firstAxleFt: 31, measuredBy: 'ticket' },
  ],
}
const prepared = new Map([
  [2, prepareGroup(driveGroup(), terms())],
  [3, prepareGroup(driveGroup({ groupId: 3, unit: 'R-1', group: 'tandem' }), terms())],
])
const tickets = [8000, 20_000, 33_000].map((driveLb) => ({
  weighedAt: 0,
  scaleId: 1,
  lift: null,
  driveLb,
  steerLb: 9000 + 0.12 * driveLb,
}))
const planWith = (over: Partial<Parameters<typeof planCombination>[0]> = {}) =>
  planCombination({
    units: [tractor, trailer],
    prepared,
    steer: new Map([[1, { tickets, statics: null, driveLimitLb: 34_000 }]]),
    scaleOf,
    rules,
    ...over,
  })
const reading = (over: Partial<CombinationReading> = {}): CombinationReading => ({
  takenAt: spring + dayMs,
  elevationFt: 0,
  temperatureF: null,
  lift: 'raised',
  pressures: new Map([
    [2, [60]],
    [3, [55]],
  ]),
  ticket: null,
  ...over,
})
const saying = (groups: readonly GroupWeighing[]) =>
  groups.map((group) => (group.weighed ? group.source : group.reason))

describe('weighing a combination', () => {
  it('weighs sensed groups by their lines, steer by estimate, and a raised lift axle as nothing', () => {
    const groups = weighCombination(planWith(), reading())
    expect(saying(groups)).toEqual(['estimate', 'line', 'line', 'raised'])
    const gross = grossOf(groups)
    expect(gross).toMatchObject({
      complete: true,
      weightLb: expect.closeTo(9000 + 0.12 * 29_800 + 29_800 + 27_400, 0),
    })
  })

  it("never lets a trailer's lift axle judge the tractor's line", () => {
    const lowered = [calibration(spring, pointsAt(spring, { lift: 'lowered' }))]
    const own = new Map([
      [2, prepareGroup(driveGroup({ calibrations: lowered }), terms())],
      [3, prepareGroup(driveGroup({ groupId: 3, unit: 'R-1', group: 'tandem', calibrations: lowered }), terms())],
    ])
    // The lift axle is the trailer's: raised, it is another state for the trailer's line alone.
    expect(saying(weighCombination(planWith({ prepared: own }), reading()))).toEqual([
      'estimate',
      'line',
      'other lift state',
      'raised',
    ])
    // Where no unit has one on record, what was noted counts for all.
    const bare = { ...trailer, groups: trailer.groups.filter(({ role }) => role !== 'lift') }
    expect(saying(weighCombination(planWith({ units: [tractor, bare], prepared: own }), reading()))).toEqual([
      'no estimate',
      'other lift state',
      'other lift state',
    ])
  })

  it('adds up gross with the whole covariance: more than independent groups would give', () => {
    const groups = weighCombination(planWith(), reading())
    const gross = grossOf(groups)
    if (!gross.complete) throw new Error('gross is incomplete')
    const weights = [...weightsByGroup(groups).values()]
    const full = weights.reduce(
      (sum, one) => sum + weights.reduce((inner, other) => inner + covarianceLb2(one, other), 0),
      0,
    )
    const independent = weights.reduce((sum, one) => sum + covarianceLb2(one, one), 0)
    expect(gross.uLb ** 2).toBeCloseTo(full, 3)
    expect(full).toBeGreaterThan(1.1 * independent)
  })

  it('says what gross lacks, and what the rest comes to', () => {
    const groups = weighCombination(planWith(), reading({ lift: 'lowered', pressures: new Map([[3, [55]]]) }))
    expect(saying(groups)).toEqual(['no estimate', 'no pressure', 'line', 'not measured'])
    const gross = grossOf(groups)
    if (gross.complete) throw new Error('gross is complete')
    expect(gross.missing.map(({ why }) => sayUnweighed(why, sayStored('UTC')))).toEqual([
      'T-1 steer was not weighed: the drive group, which its estimate follows, was not weighed.',
      'T-1 drive was not weighed: the reading has no pressure of it.',
      'R-1 lift was not weighed: it has no circuit of its own; only a scale ticket gives its weight.',
    ])
    expect(gross.weighed.weightLb).toBeCloseTo(27_400, 4)
    expect(cargoOf(groups, { weightLb: 30_000, ownVarLb2: 0, gains: [], follows: null })).toBeUndefined()
  })

  it("takes the reading's own ticket for what nothing else weighs", () => {
    const ticket = {
      scaleId: 1,
      weightsLb: new Map([
        [1, 12_400],
        [2, 29_700],
        [4, 9000],
      ]),
    }
    const groups = weighCombination(planWith({ steer: new Map() }), reading({ lift: 'lowered', ticket }))
    expect(saying(groups)).toEqual(['ticket', 'line', 'line', 'ticket'])
    expect(grossOf(groups)).toMatchObject({ complete: true })
  })

  it('does not estimate a steer axle from two drive groups', () => {
    const two = {
      ...tractor,
      groups: [
        ...tractor.groups,
        { ...place, groupId: 5, group: 'second drive', role: 'drive', firstAxleFt: 22, measuredBy: 'circuit' } as const,
      ],
    }
    expect(saying(weighCombination(planWith({ units: [two, trailer] }), reading()))[0]).toBe('no estimate')
  })

  it('knows its limits and its bridge in either lift state', () => {
    const plan = planWith({ units: [{ ...tractor, grossLimitLb: 105_500 }, trailer] })
    expect(plan.grossLimitLb).toBe(105_500)
    expect(planWith().grossLimitLb).toBe(80_000)
    expect(planWith().bridge('raised').sets).toHaveLength(10)
    expect(planWith().bridge('lowered').sets).toHaveLength(15)
    const weights = weightsByGroup(weighCombination(plan, reading()))
    const outer = plan.bridge('raised').sets.find(({ name }) => name === 'outer bridge')
    expect(outer && weighBridgeSet(outer, weights)?.weightLb).toBeCloseTo(9000 + 1.12 * 29_800 + 27_400, 0)
    expect(bridgeSets(plan.bridge('raised').ruler)).toHaveLength(10)
  })
})

describe('tare and cargo', () => {
  const pair = [tractor, trailer]
  const ticket = (ticketId: number, unitIds: readonly number[], grossLb: number, day = ticketId): TareTicket => ({
    ticketId,
    unitIds,
    grossLb,
    scaleId: 1,
    weighedAt: spring + day * dayMs,
  })
  const tare = (list: readonly TareTicket[], until = spring + 100 * dayMs) =>
    tareOf(pair, { book: tareBook(list), scaleOf, rules, grossLimitLb: 80_000, until }, pair)

  it('is the latest empty ticket of the combination, whatever the order of its units', () => {
    const result = tare([
      ticket(1, [1, 2], 33_000),
      ticket(2, [2, 1], 33_400),
      ticket(3, [1, 2], 36_500),
      ticket(4, [1, 2], 79_000),
      ticket(5, [1, 3], 31_000),
    ])
    expect(result).toMatchObject({
      ok: true,
      value: { basis: 'combination ticket', ticketIds: [2], weight: { weightLb: 33_400 } },
    })
  })

  it('knows only tickets of its time, and takes no loaded one for empty', () => {
    expect(tare([ticket(1, [1, 2], 33_000), ticket(2, [1, 2], 33_400)], spring + 1.5 * dayMs)).toMatchObject({
      value: { ticketIds: [1] },
    })
    expect(tare([ticket(1, [1, 2], 78_000)])).toMatchObject({
      ok: false,
      problem: { code: 'no-tare', value: 'T-1, R-1' },
    })
  })

  it("is the sum of the units' own, each alone or as the difference of an empty pair", () => {
    expect(tare([ticket(1, [1], 18_000), ticket(2, [2], 14_500)])).toMatchObject({
      ok: true,
      value: { basis: 'sum of units', ticketIds: [1, 2], weight: { weightLb: 32_500 } },
    })
    const other: UnitToWeigh = { ...tractor, unitId: 9, unit: 'T-9' }
    const book = tareBook([ticket(1, [1], 18_000), ticket(2, [9], 17_000), ticket(3, [9, 2], 31_600)])
    expect(
      tareOf(pair, { book, scaleOf, rules, grossLimitLb: 80_000, until: Number.POSITIVE_INFINITY }, [other]),
    ).toMatchObject({ ok: true, value: { ticketIds: [1, 3, 2], weight: { weightLb: 32_600 } } })
  })

  it('is as uncertain as three and more empty tickets scatter', () => {
    const steady = tare([ticket(1, [1, 2], 33_000), ticket(2, [1, 2], 33_000), ticket(3, [1, 2], 33_000)])
    const fuelled = tare([ticket(1, [1, 2], 33_000), ticket(2, [1, 2], 33_900), ticket(3, [1, 2], 33_400)])
    if (!steady.ok || !fuelled.ok) throw new Error('no tare')
    expect(Math.sqrt(steady.value.weight.ownVarLb2)).toBeCloseTo(Math.hypot(20 / Math.sqrt(12), 40), 9)
    expect(Math.sqrt(fuelled.value.weight.ownVarLb2)).toBeGreaterThan(400)
  })

  it('cancels from cargo what one scale does to both', () => {
    const groups = weighCombination(planWith(), reading())
    const result = tare([ticket(1, [1, 2], 33_000)])
    const gross = grossOf(groups)
    if (!result.ok || !gross.complete) throw new Error('no tare or gross')
    const cargo = cargoOf(groups, result.value.weight)
    const elsewhere = cargoOf(groups, {
      ...result.value.weight,
      gains: result.value.weight.gains.map(({ lb }) => ({ scaleId: 2, lb })),
    })
    expect(cargo?.weightLb).toBeCloseTo(gross.weightLb - 33_000, 6)
    expect(cargo?.uLb).toBeLessThan(elsewhere?.uLb ?? 0)
  })
})
