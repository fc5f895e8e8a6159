import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { viewStanding } from '#core/api/unit-view.ts'
import { estimatesFromRules } from '#core/evidence/estimates.ts'
import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import { lineLives } from '#core/evidence/line-life.ts'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import type { Finding } from '#core/findings/finding.ts'
import { judgeWeighIn } from '#core/findings/weigh-in.ts'
import { dismissalMark, findingKey } from '#core/findings/set-aside.ts'
import { readyGroup, weighGroup } from '#core/weight/weigh.ts'
import { sayStored } from '#core/words/say.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import {
  calibratedAt,
  calibration,
  check,
  checks,
  circuit,
  dayMs,
  daysOn,
  event,
  goodPoints,
  history,
  judge,
  mount,
  point,
  scale,
} from '#tests/unit/group-history.ts'

const rules = defaultHouseRules
const scales = new Map([[scale.scaleId, scale]])
const estimates = estimatesFromRules(rules)
const ready = (group: GroupHistory) => readyGroup(group, { rules, scales, estimates, tickets: new Map() })
const view = { rules, asOf: daysOn(370), say: sayStored('UTC') }
const liftOf = fc.constantFrom<LiftState | null>(null, 'none', 'raised', 'lowered')

/** A reading of two circuits on some day, with what may be missing. */
const looks = fc.record({
  day: fc.integer({ min: -40, max: 90 }),
  left: fc.option(fc.integer({ min: 10, max: 70 }), { nil: null, freq: 6 }),
  right: fc.option(fc.integer({ min: 10, max: 70 }), { nil: null, freq: 6 }),
  lift: liftOf,
  elevationFt: fc.option(fc.constantFrom(0, 800, 5000), { nil: null, freq: 5 }),
})
type Look = typeof looks extends fc.Arbitrary<infer T> ? T : never

const seen = ({ day, left, right, lift, elevationFt }: Look, weightLb: number): Observation =>
  point([left, right], weightLb, { temperatureF: null, takenAt: daysOn(day), lift, elevationFt })

/** A small record of one group: a few calibrations, a few weighed readings, some work, a sensor of either kind. */
const records = fc
  .record({
    calibrations: fc.array(
      fc.record({ day: fc.integer({ min: -40, max: 60 }), points: fc.array(looks, { minLength: 2, maxLength: 4 }) }),
      { maxLength: 4 },
    ),
    readings: fc.array(looks, { minLength: 1, maxLength: 12 }),
    work: fc.array(fc.integer({ min: -40, max: 90 }), { maxLength: 2 }),
    absolute: fc.boolean(),
  })
  .map(({ calibrations, readings, work, absolute }): GroupHistory => {
    const reference = absolute ? 'absolute' : 'gauge'
    const made = calibrations
      .toSorted((one, other) => one.day - other.day)
      .map(({ day, points }, i) =>
        calibration({
          calibrationId: 500 + i,
          calibratedAt: daysOn(day),
          // Spread apart, so that most of them make a line.
          points: points.map((look, k) => {
            const psi = 15 + 20 * k + (look.left ?? 0) / 10
            const raw = psi + (absolute ? atmosphericPsi(look.elevationFt ?? 0) : 0)
            const taken = { ...look, day: Math.min(day, look.day), left: look.left && raw, right: look.right && raw }
            return seen(taken, 4000 + 500 * psi)
          }),
        }),
      )
    const points = made.flatMap((each) => each.points)
    return history({
      circuits: [
        circuit({ name: 'left', mounts: [mount({ reference })] }),
        circuit({ circuitId: 101, name: 'right', mounts: [mount({ serial: 'S-2' })] }),
      ],
      calibrations: made,
      events: work.toSorted((a, b) => a - b).map((day) => event('height set', daysOn(day))),
      observations: [...points, ...readings.map((look) => seen(look, 24_000))].toSorted(
        (a, b) => a.takenAt - b.takenAt || a.readingId - b.readingId,
      ),
    })
  })

describe('one reading of the evidence', () => {
  it('is weighed exactly when the findings compare it: the same line, the same pressure to the last digit', () => {
    let compared = 0
    let provisional = 0
    const refusals = new Map<string, number>()
    fc.assert(
      fc.property(records, (group) => {
        const lives = lineLives(group, { rules, scales, estimates })
        const points = new Set(lives.flatMap(({ line }) => line.points.map(({ observation }) => observation.readingId)))
        const checkOf = new Map(
          lives.flatMap(({ line, checks: own }) =>
            own.map((each) => [each.observation.readingId, { each, id: line.calibration.calibrationId }] as const),
          ),
        )
        const prepared = ready(group)
        for (const observation of group.observations) {
          if (points.has(observation.readingId)) continue
          const found = checkOf.get(observation.readingId)
          const weighed = weighGroup(prepared, observation)
          // Weighings since recorded work weigh provisionally: there is no line to compare with.
          if (weighed.weighed && weighed.isProvisional) {
            provisional += 1
            expect([found, weighed.line, weighed.byLine]).toEqual([undefined, null, null])
            continue
          }
          // A pressure below which its line reads nothing is compared, and then told from the weight that it gives.
          if (weighed.weighed || weighed.reason === 'below nothing') {
            expect(found).toBeDefined()
            if (!weighed.weighed) continue
            compared += 1
            expect([weighed.psi, weighed.line?.calibrationId]).toEqual([found?.each.psi, found?.id])
          } else {
            refusals.set(weighed.reason, (refusals.get(weighed.reason) ?? 0) + 1)
            expect(found).toBeUndefined()
          }
        }
      }),
      { numRuns: 300 },
    )
    expect(compared).toBeGreaterThan(200)
    expect(provisional).toBeGreaterThan(5)
    for (const reason of ['no line', 'other lift state', 'upset', 'no pressure', 'elevation unknown'])
      expect(refusals.get(reason) ?? 0).toBeGreaterThan(5)
  })

  it('gives the points of a line the pressures that the line weighs with', () => {
    let compared = 0
    fc.assert(
      fc.property(records, (group) => {
        for (const { line } of lineLives(group, { rules, scales, estimates })) {
          for (const { x, observation } of line.points) {
            const weighed = weighGroup(ready({ ...group, calibrations: [line.calibration], events: [] }), observation)
            if (line.lift === 'both' || !weighed.weighed) continue
            compared += 1
            expect(weighed.psi).toBe(x)
          }
        }
      }),
    )
    expect(compared).toBeGreaterThan(100)
  })

  it('counts what cannot be weighed for its lift state or elevation as the weigher does', () => {
    const raised = goodPoints().map((each) => ({ ...each, lift: 'raised' as const }))
    const observations = [check(20, 0, { lift: 'lowered' }), check(30, 0, { lift: 'raised' }), check(40, 0)]
    const group = history({ calibrations: [calibration({ points: raised })], observations })
    const refused = observations.filter((each) => !weighGroup(ready(group), each).weighed)
    expect(judge(group).findings).toMatchObject([
      { code: 'lift-state-mismatch', numbers: { readings: refused.length, read_with: 'lowered' } },
    ])
  })
})

describe('a line for each lift state', () => {
  const inState = (lift: LiftState, taken: number, offsetLb = 0) =>
    goodPoints().map((each) => ({ ...each, lift, takenAt: taken, weightLb: (each.weightLb ?? 0) + offsetLb }))
  const raised = calibration({ points: inState('raised', calibratedAt) })
  const lowered = calibration({
    calibrationId: 501,
    calibratedAt: daysOn(200),
    points: inState('lowered', daysOn(200), -3000),
  })
  const both = history({ calibrations: [raised, lowered] })

  it('is judged, due and trusted for itself; the group has the worst trust and the earliest day', () => {
    const judged = judge(both, { asOf: daysOn(370), rules: { wanderPsi: 0.001 } })
    expect(judged.standings.map(({ lift, trust, ageDays }) => [lift, trust, ageDays])).toEqual([
      ['raised', 'overdue', 370],
      ['lowered', 'sound', 170],
    ])
    expect(judged.trust).toBe('overdue')
    expect(viewStanding(judged, ready(both), view).standings).toMatchObject([
      { calibrationId: 500, lift: 'raised', trust: 'overdue', dueOn: judged.dueOn },
      { calibrationId: 501, lift: 'lowered', trust: 'sound', ageDays: 170 },
    ])
    expect(judged.dueOn).toBe(new Date(daysOn(365)).toISOString().slice(0, 10))
    expect(judged.findings).toMatchObject([{ code: 'age-over-limit', numbers: { line_lift: 'raised' } }])
  })

  it('tells a break that only the older one has lived through', () => {
    const judged = judge({ ...both, events: [event('height set', daysOn(100))] }, { asOf: daysOn(210) })
    expect(judged.standings.map(({ lift, trust }) => [lift, trust])).toEqual([
      ['raised', 'upset'],
      ['lowered', 'sound'],
    ])
    expect(judged.trust).toBe('upset')
    expect(judged.dueOn).toBe(new Date(daysOn(100)).toISOString().slice(0, 10))
  })

  it('weighs nothing in either state when its points mix them, and is then doubtful, set aside or not', () => {
    const mixed = goodPoints().map((each, i) => ({
      ...each,
      lift: i === 0 ? ('lowered' as const) : ('raised' as const),
    }))
    const group = history({ calibrations: [calibration({ points: mixed })] })
    for (const lift of ['raised', 'lowered', 'none', null] as const)
      expect(weighGroup(ready(group), check(20, 0, { lift }))).toMatchObject({ reason: 'other lift state' })
    const judged = judge(group)
    expect(judged.trust).toBe('doubtful')
    expect(judged.findings).toMatchObject([{ code: 'lift-state-mismatch', severity: 'warn' }])
    const dismissed = new Set(judged.findings.map((found) => dismissalMark(findingKey(found), found.evidence)))
    expect(judge(group, { dismissed })).toMatchObject({ findings: [], trust: 'doubtful' })
  })
})

describe('an absolute sensor at an unknown elevation', () => {
  const circuits = [circuit({ mounts: [mount({ reference: 'absolute' })] })]
  const lost = (observations: readonly Observation[]) =>
    observations.map((each) => ({ ...each, elevationFt: null, psi: each.psi.map((psi) => (psi ?? 0) + 12.2) }))

  it('makes no line, which the findings say', () => {
    const group = history({ circuits, calibrations: [calibration({ points: lost(goodPoints()) })] })
    const judged = judge(group)
    expect(judged.trust).toBe('uncalibrated')
    expect(judged.findings.map(({ code }) => code)).toEqual(['no-calibration', 'altitude-uncorrected'])
    const there = { temperatureF: null, takenAt: daysOn(20), elevationFt: 5000, lift: null, psi: [58 + 12.2] }
    expect(weighGroup(ready(group), there)).toMatchObject({ reason: 'no line' })
  })

  it('leaves the line before in use, and the group doubtful', () => {
    const known = calibration({ points: goodPoints().map((each) => ({ ...each, psi: [(each.psi[0] ?? 0) + 14.3] })) })
    const later = calibration({
      calibrationId: 501,
      calibratedAt: daysOn(50),
      points: lost(goodPoints()).map((each) => ({ ...each, takenAt: daysOn(50) })),
    })
    const judged = judge(history({ circuits, calibrations: [known, later] }))
    expect(judged.current?.calibration.calibrationId).toBe(500)
    expect(judged.findings).toMatchObject([
      { code: 'altitude-uncorrected', severity: 'warn', since: daysOn(50), numbers: { readings: 3 } },
    ])
    expect(judged.trust).toBe('doubtful')
  })

  it('is a note where only readings without a ticket are lost by it', () => {
    const points = goodPoints().map((each) => ({ ...each, psi: [(each.psi[0] ?? 0) + 14.3] }))
    const reading = { ...check(20), elevationFt: null, ticketId: null, scaleId: null, weightLb: null }
    const judged = judge(history({ circuits, calibrations: [calibration({ points })], observations: [reading] }))
    expect(judged.findings).toMatchObject([{ code: 'altitude-uncorrected', severity: 'note' }])
    expect(judged.trust).toBe('sound')
  })
})

describe('a finding set aside comes back when its own evidence grows worse', () => {
  const marksOf = (findings: readonly Finding[], code: Finding['code']) => {
    const own = findings.filter((finding) => finding.code === code)
    expect(own.length).toBeGreaterThan(0)
    return new Set(own.map((finding) => dismissalMark(findingKey(finding), finding.evidence)))
  }
  const codes = (findings: readonly Finding[]) => findings.map(({ code }) => code)
  const sides = (differences: readonly number[]): GroupHistory =>
    history({
      circuits: [circuit({ name: 'left' }), circuit({ circuitId: 101, name: 'right', mounts: [mount()] })],
      calibrations: [],
      observations: differences.map((difference, i) =>
        point([50 + difference / 2, 50 - difference / 2], null, {
          temperatureF: null,
          takenAt: daysOn(i),
          ticketId: null,
          scaleId: null,
        }),
      ),
    })

  it('the imbalance of sides at 6 psi, at 38 psi', () => {
    const dismissed = marksOf(judge(sides([6, 6, 6, 6, 6])).findings, 'side-imbalance')
    expect(codes(judge(sides([6, 6, 6, 6, 6, 6.4]), { dismissed }).findings)).toEqual(['no-calibration'])
    const worse = judge(sides([6, 6, 6, 38, 38, 38, 38, 38]), { dismissed })
    expect(codes(worse.findings)).toEqual(['no-calibration', 'side-imbalance'])
  })

  it('readings in another lift state, and readings without an elevation, once there are twice as many', () => {
    const raised = calibration({ points: goodPoints().map((each) => ({ ...each, lift: 'raised' as const })) })
    const seenThen = Array.from({ length: 9 }, (_, i) => check(20 + i))
    const lifted = (count: number) =>
      history({
        calibrations: [raised],
        observations: seenThen.slice(0, count).map((each) => ({ ...each, lift: 'lowered' as const })),
      })
    const absolute = [circuit({ mounts: [mount({ reference: 'absolute' })] })]
    const unknown = (count: number) =>
      history({
        circuits: absolute,
        observations: seenThen.slice(0, count).map((each) => ({ ...each, elevationFt: null })),
      })
    for (const [code, group] of [
      ['lift-state-mismatch', lifted],
      ['altitude-uncorrected', unknown],
    ] as const) {
      const dismissed = marksOf(judge(group(4)).findings, code)
      expect(codes(judge(group(5), { dismissed }).findings)).not.toContain(code)
      expect(codes(judge(group(9), { dismissed }).findings)).toContain(code)
    }
  })

  it('but not when something else about the group is weighed', () => {
    const one = history({ calibrations: [calibration({ points: goodPoints().slice(1) })] })
    const dismissed = marksOf(judge(one).findings, 'short-span')
    const more = { ...one, observations: checks([0, 0, 0]) }
    expect(codes(judge(more, { dismissed }).findings)).not.toContain('short-span')
  })
})

describe('a line that has run out', () => {
  it('stays due on the day it passed its tolerance, and by its age at the latest', () => {
    const wandering = { wanderPsi: 0.3 }
    const due = [330, 345, 600].map((days) => judge(history(), { asOf: daysOn(days), rules: wandering }).dueOn)
    expect(new Set(due).size).toBe(1)
    expect(Date.parse(due[0] ?? '')).toBeLessThan(daysOn(330))
    const aged = judge(history(), { asOf: daysOn(800), rules: { wanderPsi: 0.001 } })
    expect(aged.dueOn).toBe(new Date(daysOn(365)).toISOString().slice(0, 10))
  })
})

describe('the preview of a Weigh-in', () => {
  const row = {
    ticket: '1',
    weighedAt: daysOn(1),
    scaleId: scale.scaleId,
    grossLb: 45_000,
    elevationFt: null,
    lift: null,
    weightsLb: new Map([[10, 33_000]]),
    psi: new Map([[10, [58]]]),
  }
  const facts = { histories: [history()], scales, rules, estimates, headYardFt: null }
  const preview = (roles: readonly ('steer' | 'drive')[]) =>
    judgeWeighIn(
      { ...facts, units: [{ kind: 'tractor', groups: roles.map((role) => ({ role })) }] },
      [row],
      new Set(),
      daysOn(1) + dayMs,
    ).tickets.flat()

  it('sums no ticket of a tractor whose steer axle is not on record', () => {
    expect(preview(['drive'])).toEqual([])
    expect(preview(['steer', 'drive'])).toEqual([])
  })

  it('sums the ticket that carries every group', () => {
    const both = judgeWeighIn(
      { ...facts, units: [{ kind: 'tractor', groups: [{ role: 'steer' }, { role: 'drive' }] }] },
      [
        {
          ...row,
          weightsLb: new Map([
            [9, 10_000],
            [10, 33_000],
          ]),
        },
      ],
      new Set(),
      daysOn(1) + dayMs,
    )
    expect(both.tickets.flat()).toMatchObject([{ code: 'ticket-sum-mismatch', numbers: { difference_lb: -2000 } }])
  })
})
