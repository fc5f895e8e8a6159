import { describe, expect, it } from 'vitest'
import { type GroupOffer, weighTrips } from '#core/bench/weigh-trips.ts'
import type { GroupHistory } from '#core/evidence/history.ts'
import type { OfferedWeighing } from '#core/findings/weigh-next.ts'
import { measuresOfRule } from '#core/words/measures.ts'
import { sayIn, sayStored } from '#core/words/say.ts'
import { sayTaught, sayWeighNext, sayWhyWeigh } from '#core/words/sentences/weigh-next.ts'
import {
  calibratedAt,
  calibration,
  check,
  checks,
  daysOn,
  event,
  goodPoints,
  history,
  judge,
  judgeFleet,
  point,
  scale,
} from '#tests/unit/group-history.ts'

const say = sayStored('UTC')
const other = { ...scale, scaleId: 8, name: 'Dune scale' }

const onlyLight = () => calibration({ points: [point(14, 11_060), point(20, 14_020), point(26, 17_000)] })
const nextOf = (group: GroupHistory, days: number) => judge(group, { asOf: daysOn(days) }).weighNext
const whyOf = (group: GroupHistory, days: number) => {
  const [first] = nextOf(group, days)?.weighings ?? []
  return first && `${first.load}: ${sayWhyWeigh(first.why, say)}`
}

describe('the weighing that is offered to a group', () => {
  it('says why it would teach most', () => {
    expect(whyOf(history({ calibrations: [onlyLight()] }), 20)).toBe('loaded: never weighed loaded')
    expect(whyOf(history(), 20)).toBe('loaded: only 3 weighings so far')
    expect(whyOf(history(), 90)).toBe('loaded: not weighed loaded since 2025-03-01')
    expect(whyOf(history({ observations: checks([0, 20, -40, 1500]) }), 100)).toBe('loaded: a change is suspected')
    expect(whyOf(history({ observations: checks([0, 20, -40, 1500, 1600]) }), 100)).toBe('loaded: its line has moved')
  })

  it('counts from the work that a new life began with', () => {
    const worked = { events: [event('valve replaced', daysOn(20))] }
    const light = [check(40, 300, { psi: 14 }), check(45, 300, { psi: 20 })]
    expect(whyOf(history({ ...worked, observations: light }), 60)).toBe(
      'loaded: not weighed loaded since the work of 2025-03-21',
    )
    expect(whyOf(history({ ...worked, observations: [...light, check(50, 300)] }), 60)).toBe(
      'loaded: only 3 weighings since the work of 2025-03-21',
    )
  })

  it('is none where nothing was weighed since the work, and without a line', () => {
    expect(nextOf(history({ events: [event('valve replaced', daysOn(20))] }), 60)).toBeNull()
    expect(nextOf(history({ calibrations: [] }), 60)).toBeNull()
  })

  it('is worth its trip by a tenth of the half-width and by the scatter of a ticket, and told of from 10 lb on', () => {
    const verdicts = new Set<boolean>()
    for (const misses of [[], [0], [0, 20], [0, 20, -40], [0, 20, -40, 20], [0, 20, -40, 20, 40]]) {
      const offer = nextOf(history({ observations: checks(misses) }), 100)
      for (const { uAfterLb, regained, isWorthTrip } of offer?.weighings ?? []) {
        const fallLb = 2 * ((offer?.uNowLb ?? 0) - uAfterLb)
        expect(isWorthTrip).toBe(
          fallLb >= 0.1 * 2 * (offer?.uNowLb ?? 0) && fallLb >= Math.hypot(40, 20 / Math.sqrt(12)),
        )
        expect(fallLb).toBeGreaterThanOrEqual(10)
        verdicts.add(isWorthTrip)
        // The House Rules tolerate 3 % of 34,000 lb.
        expect(regained).toBeCloseTo(fallLb / 1020, 9)
      }
    }
    expect([...verdicts].sort()).toEqual([false, true])
    // Fewer pounds than a ticket scatters by are no reason to go, however great their share.
    const wild = judge(history(), { asOf: daysOn(70), rules: { ticketRepeatabilityLb: 400 } }).weighNext
    expect(wild?.weighings.filter(({ isWorthTrip }) => isWorthTrip) ?? []).toEqual([])
  })

  it('goes to a scale that the group never stood on only where it knows one and another teaches far more', () => {
    const onOther = history({
      groupId: 11,
      unitId: 2,
      unit: 'T-105',
      calibrations: [calibration({ calibrationId: 501, points: goodPoints().map((p) => ({ ...p, scaleId: 8 })) })],
    })
    const offersWith = (tolerancePercent: number) =>
      judgeFleet([history(), onOther], {
        asOf: daysOn(20),
        scales: [scale, other].map((each) => ({ ...each, tolerancePercent })),
      }).groups[0]?.weighNext?.weighings
    expect(offersWith(0.1)).toMatchObject([{ load: 'loaded', scaleId: 7 }])
    const doubtful = offersWith(1.5)
    expect(doubtful?.[0]).toMatchObject({ load: 'loaded', scaleId: 8, why: ['one scale'] })
    const onBoth = history({ observations: [check(10, 0, { scaleId: 8 })] })
    const known = judgeFleet([onBoth, onOther], {
      asOf: daysOn(20),
      scales: [scale, other, { ...other, scaleId: 9 }].map((each) => ({ ...each, tolerancePercent: 1.5 })),
    }).groups[0]?.weighNext?.weighings
    expect(known?.length).toBeGreaterThan(0)
    expect(known?.every(({ scaleId }) => scaleId === 7 || scaleId === 8)).toBe(true)
  })

  it('is never on a scale that is called biased', () => {
    // Ten groups weigh on four scales in turn; the second shows 1.5 % more every time.
    const scales = [7, 8, 9, 10].map((scaleId) => ({ ...scale, scaleId, name: `Scale ${scaleId}` }))
    const groups = Array.from({ length: 10 }, (_, i) =>
      history({
        groupId: 20 + i,
        unitId: 20 + i,
        unit: `T-${120 + i}`,
        calibrations: [calibration({ calibrationId: 600 + i, points: goodPoints() })],
        observations: Array.from({ length: 12 }, (_each, k) =>
          check(3 + 3 * k, k % 4 === 1 ? 500 : 0, { scaleId: 7 + (k % 4) }),
        ),
      }),
    )
    const worked = history({
      events: [event('valve replaced', daysOn(20))],
      observations: [check(24, 0, { psi: 20 }), check(25, 500, { scaleId: 8 })],
    })
    const { others, groups: judged } = judgeFleet([worked, ...groups], { asOf: daysOn(40), scales })
    expect(others.map(({ code, scaleId }) => [code, scaleId])).toEqual([['scale-biased', 8]])
    const weighings = judged[0]?.weighNext?.weighings ?? []
    expect(weighings.length).toBeGreaterThan(0)
    expect(weighings.map(({ scaleId }) => scaleId)).not.toContain(8)
  })

  it('is said in one sentence, in the measures in use', () => {
    const facts = {
      load: 'loaded',
      lift: 'raised',
      scale: 'Mile 88',
      uNowLb: 450,
      uAfterLb: 210,
      why: ['last', { load: 'loaded', on: calibratedAt }],
    } as const
    expect(sayWeighNext(facts, say)).toBe(
      'One weighing loaded with the lift axle raised on Mile 88 would make its best weight at the limit good to ± 420 lb, now ± 900 lb: not weighed loaded since 2025-03-01.',
    )
    expect(sayWeighNext({ ...facts, lift: null, why: ['one scale'] }, sayIn(measuresOfRule(1), 'UTC'))).toMatch(
      /^One weighing loaded on Mile 88 .* ± 190 kg, now ± 410 kg: only one scale so far\.$/,
    )
  })
})

const weighing = (scaleId: number, regained: number, load: OfferedWeighing['load'] = 'loaded'): OfferedWeighing => ({
  load,
  scaleId,
  uAfterLb: 400 - 340 * regained,
  regained,
  why: ['suspected'],
  isWorthTrip: regained >= 0.1,
})
const offer = (unitId: number, group: string, weighings: readonly OfferedWeighing[]): GroupOffer => ({
  unitId,
  unit: `U-${unitId}`,
  yard: null,
  group,
  lift: null,
  uNowLb: 400,
  weighings,
})

describe('the trips that teach most of a fleet', () => {
  it('are one a unit, by the tolerance that their groups regain together', () => {
    const trips = weighTrips(
      [
        offer(1, 'drive', [weighing(5, 0.5)]),
        offer(2, 'drive', [weighing(5, 0.3)]),
        offer(2, 'tandem', [weighing(5, 0.4)]),
        offer(3, 'drive', [weighing(6, 0.9)]),
      ],
      2,
    )
    expect(trips.map(({ unitId }) => unitId)).toEqual([3, 2])
    expect(trips[1]?.regained).toBeCloseTo(0.7, 12)
    expect(trips[1]?.lessons.map(({ group }) => group)).toEqual(['tandem', 'drive'])
  })

  it('take the load and scale that suit all groups of the unit, not the best of one', () => {
    const [trip] = weighTrips(
      [
        offer(1, 'drive', [weighing(5, 0.5), weighing(6, 0.45)]),
        offer(1, 'tandem', [weighing(6, 0.2), weighing(5, 0.19, 'empty')]),
      ],
      10,
    )
    expect(trip).toMatchObject({ load: 'loaded', scaleId: 6 })
    expect(trip?.lessons.map(({ regained }) => regained)).toEqual([0.45, 0.2])
  })

  it('say which is worth sending the unit for, and what each teaches in pounds', () => {
    const trips = weighTrips([offer(1, 'drive', [weighing(5, 0.5)]), offer(2, 'drive', [weighing(5, 0.05)])], 10)
    expect(trips.map(({ isWorthTrip }) => isWorthTrip)).toEqual([true, false])
    expect(sayTaught({ uNowLb: 710, uAfterLb: 490 }, say)).toBe('± 1,420 lb becomes ± 980 lb at the limit')
  })

  it('are none where nothing is to be learnt', () => {
    expect(weighTrips([], 10)).toEqual([])
  })
})
