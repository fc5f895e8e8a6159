import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bridgeSets } from '#core/weight/bridge.ts'
import { cargoAt, judgedSet, loadToOf, weighReading, weighTicket } from '#core/weight/combination-weights.ts'
import { type CorrelatedWeight, errorRows, sumWeights, uncertaintyOfSum } from '#core/weight/correlated.ts'
import { heavyWeights, unitVerdicts } from '#core/weight/heavy.ts'
import { grossOf, judgeWeight } from '#core/weight/verdict.ts'
import { type CombinationReading, type UnitToWeigh, weighCombination } from '#core/weight/weigh-combination.ts'
import { type WeighFacts, weigherOf } from '#core/weight/weigher.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { weighBridgeSet, weightsByGroup } from '#tests/unit/weigh-bridge-set.ts'
import { calibration, dayMs, driveGroup, estimates, pointsAt, recordOf, spring } from '#tests/unit/weight-fleet.ts'
import { some } from '#tests/some.ts'

const own = fc.record({
  weightLb: fc.integer({ min: 0, max: 40_000 }),
  ownVarLb2: fc.integer({ min: 0, max: 90_000 }),
  gains: fc.uniqueArray(fc.record({ scaleId: fc.integer({ min: 1, max: 3 }), lb: fc.integer({ min: -80, max: 80 }) }), {
    selector: ({ scaleId }) => scaleId,
    maxLength: 3,
  }),
})
/** Some weights, a few of which follow an earlier one. */
const weights = fc
  .array(
    fc.tuple(
      own,
      fc.option(fc.record({ of: fc.nat(5), slope: fc.double({ min: -0.5, max: 0.5, noNaN: true }) }), { nil: null }),
    ),
    { minLength: 1, maxLength: 6 },
  )
  .map((list) => {
    const made: CorrelatedWeight[] = []
    for (const [weight, follows] of list) {
      const weightFollowed = follows && made[follows.of]
      made.push({ ...weight, follows: weightFollowed ? { weight: weightFollowed, slope: follows.slope } : null })
    }
    return made
  })

describe('errors as rows over independent sources', () => {
  it('give any sum the uncertainty that sumWeights gives it', () => {
    fc.assert(
      fc.property(
        weights,
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 6, maxLength: 6 }),
        (some, shares) => {
          const parts = some.map((_, place) => ({ place, share: shares[place] as number }))
          const { uLb } = sumWeights(
            some,
            parts.map(({ share }) => share),
          )
          expect(uncertaintyOfSum(errorRows(some), parts)).toBeCloseTo(uLb, 6)
        },
      ),
    )
  })

  it('reckon with a weight that is followed without being in the sum itself', () => {
    const drive: CorrelatedWeight = {
      weightLb: 30_000,
      ownVarLb2: 40_000,
      gains: [{ scaleId: 1, lb: 30 }],
      follows: null,
    }
    const steer: CorrelatedWeight = {
      weightLb: 11_000,
      ownVarLb2: 2500,
      gains: [],
      follows: { weight: drive, slope: 0.1 },
    }
    expect(uncertaintyOfSum(errorRows([steer]), [{ place: 0, share: 1 }])).toBeCloseTo(Math.sqrt(2500 + 400 + 9), 9)
  })
})

const place = { limitLb: null, axles: 2, axleSpacingFt: 4, firstAxleFt: 16 }
const tractor: UnitToWeigh = {
  unitId: 1,
  unit: 'T-1',
  kind: 'tractor',
  grossLimitLb: null,
  fifthWheelFt: 17,
  groups: [
    {
      ...place,
      groupId: 1,
      group: 'steer',
      role: 'steer',
      axles: 1,
      firstAxleFt: 0,
      limitLb: 14_600,
      measuredBy: 'estimate',
    },
    { ...place, groupId: 2, group: 'drive', role: 'drive', measuredBy: 'circuit' },
  ],
}
const trailer: UnitToWeigh = {
  unitId: 2,
  unit: 'R-1',
  kind: 'trailer',
  grossLimitLb: null,
  fifthWheelFt: null,
  groups: [{ ...place, groupId: 3, group: 'tandem', role: 'trailer', firstAxleFt: 25, measuredBy: 'circuit' }],
}
const facts: WeighFacts = {
  units: [tractor, trailer],
  record: recordOf([
    driveGroup(),
    driveGroup({
      groupId: 3,
      unitId: 2,
      unit: 'R-1',
      unitKind: 'trailer',
      group: 'tandem',
      role: 'trailer',
      calibrations: [calibration(spring, pointsAt(spring))],
    }),
  ]),
  steer: [
    {
      unitId: 1,
      statics: null,
      driveLimitLb: 34_000,
      tickets: [8000, 20_000, 33_000].map((driveLb) => ({
        weighedAt: 0,
        scaleId: 1,
        lift: null,
        driveLb,
        steerLb: 9000 + 0.12 * driveLb,
      })),
    },
  ],
  estimates,
  rules: defaultHouseRules,
  tickets: [
    { ticketId: 1, weighedAt: spring, scaleId: 1, unitIds: [1, 2], grossLb: 33_000 },
    { ticketId: 2, weighedAt: spring + 60 * dayMs, scaleId: 1, unitIds: [2, 1], grossLb: 33_200 },
  ],
}
const ready = weigherOf(facts).ready([1, 2])
const reading = (drivePsi: number, tandemPsi: number | null, day = 10): CombinationReading => ({
  takenAt: spring + day * dayMs,
  elevationFt: 600,
  temperatureF: null,
  lift: 'none',
  pressures: new Map([
    [2, [drivePsi]],
    [3, [tandemPsi]],
  ]),
  ticket: null,
})

describe('a reading judged whole', () => {
  it('says of groups, gross and every set what each says for itself', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 80, noNaN: true }),
        fc.double({ min: 20, max: 80, noNaN: true }),
        (drivePsi, tandemPsi) => {
          const taken = reading(drivePsi, tandemPsi)
          const { groups, gross, bridge } = weighReading(ready, taken)
          const weighed = weighCombination(ready.plan, taken)
          expect(groups.map(({ weighing }) => weighing)).toEqual(weighed)
          const total = grossOf(weighed)
          if (!total.complete || !gross.total) throw new Error('gross is incomplete')
          expect(gross.total.weightLb).toBeCloseTo(total.weightLb, 6)
          expect(gross.total.uLb).toBeCloseTo(total.uLb, 6)
          expect(gross.judgement).toEqual(judgeWeight(gross.total.weightLb, gross.total.uLb, 80_000, 95))
          const sets = bridgeSets(ready.plan.bridge('none').ruler, defaultHouseRules)
          expect(bridge.sets).toHaveLength(10)
          for (const [i, set] of sets.entries()) {
            const alone = weighBridgeSet(set, weightsByGroup(weighed))
            const judged = judgedSet(bridge, i, 95)
            expect(judged.set).toMatchObject({
              firstAxle: set.firstAxle,
              lastAxle: set.lastAxle,
              limitLb: set.limitLb,
              lengthFt: set.lengthFt,
            })
            expect(judged.sum?.weightLb).toBeCloseTo(alone?.weightLb as number, 6)
            expect(judged.sum?.uLb).toBeCloseTo(alone?.uLb as number, 6)
            expect(judged.judgement?.pOver).toBeCloseTo(alone?.pOver as number, 9)
          }
        },
      ),
      { numRuns: 50 },
    )
  })

  it('without a pressure says what gross lacks, and judges the sets that are whole', () => {
    const { groups, gross, bridge } = weighReading(ready, reading(50, null))
    expect(groups.map(({ judgement }) => judgement?.verdict ?? null)).toEqual(['under', 'under', null])
    expect(gross).toMatchObject({ total: null, judgement: null, missing: [{ groupId: 3, reason: 'no pressure' }] })
    expect(gross.weighedLb).toBeCloseTo(1000 + 480 * 50 + 9000 + 0.12 * (1000 + 480 * 50), -1)
    const known = bridge.sets.map((_, i) => judgedSet(bridge, i, 95)).filter(({ judgement }) => judgement !== null)
    expect(known.map(({ set }) => [set.firstAxle, set.lastAxle])).toEqual([
      [1, 2],
      [1, 3],
      [2, 3],
    ])
  })

  it('knows the tare of its day: the latest empty ticket up to then', () => {
    const early = cargoAt(ready, weighReading(ready, reading(60, 60)), spring + 10 * dayMs)
    const late = cargoAt(ready, weighReading(ready, reading(60, 60, 90)), spring + 90 * dayMs)
    expect([early, late].map(({ tare }) => tare.ok && tare.value.weight.weightLb)).toEqual([33_000, 33_200])
    const grossLb = weighReading(ready, reading(60, 60)).gross.total?.weightLb as number
    expect(early.cargo?.weightLb).toBeCloseTo(grossLb - 33_000, 6)
    // All evidence draws a line of three points a little towards what such groups weigh.
    expect(Math.abs(grossLb - (2 * (1000 + 480 * 60) + 9000 + 0.12 * (1000 + 480 * 60)))).toBeLessThan(100)
    expect(cargoAt(ready, weighReading(ready, reading(60, 60)), spring - dayMs)).toMatchObject({
      tare: { ok: false },
      cargo: null,
    })
  })

  it('has a pressure to load to for each group with a gauge: read then, it leaves no room', () => {
    const at = spring + 10 * dayMs
    const targets = ready.plan.groups.map((_, i) => loadToOf(ready, i, 'none', at))
    expect(targets[0]).toBeNull()
    for (const target of some(targets.slice(1))) {
      if (target === null || 'why' in target) throw new Error('there is no pressure to load to')
      const { groups } = weighReading(ready, reading(target.psi, target.psi))
      expect(groups[1]?.judgement?.roomLb).toBeCloseTo(0, 1)
    }
  })
})

const ticket = (steer: number, drive: number, tandem: number, grossLb: number | null = null) =>
  weighTicket(ready, {
    scaleId: 1,
    lift: 'none',
    weightsLb: new Map([
      [1, steer],
      [2, drive],
      [3, tandem],
    ]),
    together: [],
    grossLb,
  })

describe('a ticket judged', () => {
  it('is exact within the tolerance of its scale: 0.2 % of 34,000 lb are 68 lb', () => {
    const verdictOf = (driveLb: number) => ticket(12_000, driveLb, 30_000).groups[1]?.judgement?.verdict
    expect([33_900, 33_940, 34_000, 34_060, 34_100].map(verdictOf)).toEqual([
      'under',
      'too close to call',
      'too close to call',
      'too close to call',
      'over',
    ])
  })

  it('goes by its printed gross, and carries the gain of one scale through a sum of its weights', () => {
    expect(ticket(12_000, 33_000, 33_000, 80_500).gross.total?.weightLb).toBe(80_500)
    const summed = ticket(12_000, 33_000, 33_000).gross.total
    expect(summed?.weightLb).toBe(78_000)
    expect(summed?.uLb).toBeCloseTo(Math.hypot((0.002 / Math.sqrt(3)) * 78_000, (20 / Math.sqrt(12)) * Math.sqrt(3)), 6)
  })
})

describe('what is heavy', () => {
  const weighing = (readings: CombinationReading[], ticketWeights: ReturnType<typeof ticket> | null = null) => ({
    ready,
    ticket: ticketWeights,
    readings: readings.map((one, i) => ({ readingId: i + 1, weights: weighReading(ready, one) })),
  })

  it('is nothing when all is under', () => {
    expect(heavyWeights(weighing([reading(50, 50)]))).toEqual([])
    expect(unitVerdicts(weighing([reading(50, 50)]))).toEqual([
      { unitId: 1, leads: true, group: 0, gross: 0, bridge: 0 },
      { unitId: 2, leads: false, group: 0, gross: 0, bridge: 0 },
    ])
  })

  it('names the group, the gross and the worst bridge set that is a limit of its own', () => {
    const found = heavyWeights(weighing([reading(75, 68.3)]))
    expect(found.map(({ kind, unitId, groupId, verdict }) => [kind, unitId, groupId, verdict])).toEqual([
      ['group', 1, 2, 'over'],
      ['group', 2, 3, 'too close to call'],
      ['gross', 1, null, 'over'],
      ['bridge', 1, null, 'over'],
    ])
    const set = found.at(-1)
    expect(set?.set).toMatchObject({ firstAxle: 2, lastAxle: 5, lengthFt: 30 })
    expect(
      unitVerdicts(weighing([reading(75, 68.3)])).map(({ group, gross, bridge }) => [group, gross, bridge]),
    ).toEqual([
      [2, 2, 2],
      [1, 2, 2],
    ])
  })

  it('leaves the decision to a ticket of the same weighing, and marks what it overrules', () => {
    const both = weighing([reading(70.5, 50)], ticket(12_000, 33_000, 25_000))
    expect(heavyWeights(both).map(({ source, kind, superseded }) => [source, kind, superseded])).toEqual([
      ['onboard', 'group', true],
    ])
    expect(unitVerdicts(both).map(({ group }) => group)).toEqual([0, 0])
    const grossOnly = weighing(
      [reading(70.5, 50)],
      weighTicket(ready, { scaleId: 1, lift: 'none', weightsLb: new Map(), together: [], grossLb: 81_000 }),
    )
    expect(heavyWeights(grossOnly).map(({ source, kind, superseded }) => [source, kind, superseded])).toEqual([
      ['ticket', 'gross', false],
      ['onboard', 'group', false],
    ])
    expect(unitVerdicts(grossOnly).map(({ group, gross }) => [group, gross])).toEqual([
      [2, 2],
      [0, 2],
    ])
  })

  it('counts against the unit at the head whatever of the combination is heavy, against another only its own', () => {
    expect(unitVerdicts(weighing([reading(20, 75)])).map(({ group, gross }) => [group, gross])).toEqual([
      [2, 0],
      [2, 0],
    ])
    expect(unitVerdicts(weighing([reading(75, 20)])).map(({ group, gross }) => [group, gross])).toEqual([
      [2, 0],
      [0, 0],
    ])
  })

  it('has no verdict about a unit of which nothing was weighed', () => {
    expect(unitVerdicts(weighing([reading(50, null)]))).toEqual([
      { unitId: 1, leads: true, group: 0, gross: null, bridge: 0 },
      { unitId: 2, leads: false, group: null, gross: null, bridge: null },
    ])
  })
})
