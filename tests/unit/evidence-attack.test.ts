import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { figuresFromText, figuresToText } from '#core/cells/fleet-figures.ts'
import type {
  CalibrationFacts,
  CircuitFacts,
  EventFacts,
  FleetRecord,
  GroupHistory,
  MountFacts,
  Observation,
  ScaleFacts,
  TicketFacts,
} from '#core/evidence/history.ts'
import { type FleetAssessment, assessFleet } from '#core/findings/assess-fleet.ts'
import { findingCodes, trustStates } from '#core/findings/finding.ts'
import { type HouseRules, defaultHouseRules, houseRuleDefinitions, houseRuleNames } from '#core/words/house-rules.ts'
import { type Range, eventKinds, groupRoles, liftStates, measures, ranges } from '#core/words/vocabulary.ts'
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
  judgeFleet,
  mount,
  point,
  scale,
} from '#tests/unit/group-history.ts'
import { sayStored } from '#core/words/say.ts'
import { sayFinding } from '#core/words/sentences/findings.ts'

/** Everything that a finding or a standing must never be, whatever the record holds. */
function expectSense(fleet: FleetAssessment, asOf: number): void {
  for (const { trust, dueOn, uLimitLb, ageDays, limitLb, findings, aside, trails } of fleet.groups) {
    expect(trustStates).toContain(trust)
    expect(dueOn === null || !Number.isNaN(Date.parse(dueOn))).toBe(true)
    expect(uLimitLb === null || (Number.isFinite(uLimitLb) && uLimitLb >= 0)).toBe(true)
    expect(ageDays === null || Number.isFinite(ageDays)).toBe(true)
    expect(limitLb).toBeGreaterThan(0)
    expect(aside).toEqual([])
    for (const { evidence, severity } of findings) expect(evidence).toMatch(new RegExp(`^\\S+ ${severity}$`))
    for (const { steps } of trails)
      for (const { innovation, offLineLb, opinion, cusum } of steps)
        for (const figure of [offLineLb, ...[innovation, opinion, cusum].flatMap((each) => Object.values(each))])
          expect(figure).not.toBeNaN()
  }
  for (const finding of [...fleet.groups.flatMap(({ findings }) => findings), ...fleet.others]) {
    expect(findingCodes).toContain(finding.code)
    const { message, nextStep } = sayFinding(finding, sayStored('UTC'))
    expect(message + nextStep).not.toMatch(/NaN|Infinity|undefined|null|\[object/)
    for (const [name, value] of Object.entries(finding.numbers)) {
      if (typeof value === 'number')
        expect({ code: finding.code, name, finite: Number.isFinite(value) }).toEqual({
          code: finding.code,
          name,
          finite: true,
        })
    }
    expect(finding.since === null || (Number.isFinite(finding.since) && finding.since <= asOf)).toBe(true)
  }
}

const maybe = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: null })
/** Anything within a range that a person could write down, to a hundredth. */
const within = ({ min, max }: Pick<Range, 'min' | 'max'>) =>
  fc.oneof(
    fc.constantFrom(min, max),
    fc.double({ min, max, noNaN: true }).map((value) => Math.min(max, Math.max(min, Math.round(value * 100) / 100))),
  )
const from = calibratedAt - 400 * dayMs
const asOf = daysOn(500)
const when = fc.oneof(
  fc.constantFrom(calibratedAt, calibratedAt + dayMs, asOf),
  fc.integer({ min: 0, max: 900 }).map((days) => from + days * dayMs),
)
const lifts = maybe(fc.constantFrom(...liftStates))
/** Mostly what a truck shows, sometimes anything that may be stored. */
const pressure = maybe(
  fc.oneof(
    { weight: 4, arbitrary: fc.integer({ min: 0, max: 1000 }).map((tenths) => tenths / 10) },
    { weight: 1, arbitrary: within(ranges.psi) },
  ),
)
const weight = maybe(
  fc.oneof(
    { weight: 4, arbitrary: fc.integer({ min: 300, max: 2000 }).map((count) => count * 20) },
    { weight: 1, arbitrary: within(ranges.weightLb) },
  ),
)

const mounts: fc.Arbitrary<MountFacts> = fc.record({
  serial: fc.constantFrom('S-1', 'S-2'),
  reference: fc.constantFrom('gauge', 'absolute'),
  rangePsi: maybe(within(ranges.rangePsi)),
  resolutionPsi: maybe(within(ranges.resolutionPsi)),
  accuracyPsi: maybe(within(ranges.accuracyPsi)),
  mountedAt: when,
  removedAt: maybe(when),
})
const circuits: fc.Arbitrary<CircuitFacts> = fc.record({
  circuitId: fc.integer({ min: 1, max: 9 }),
  name: fc.constantFrom('left', 'right', 'main', 'rear'),
  airSprings: maybe(fc.constantFrom(1, 2, 4, 24)),
  springAreaIn2: maybe(within(ranges.springAreaIn2)),
  mounts: fc.array(mounts, { maxLength: 2 }),
})
const shared = fc.record({
  ticketId: fc.integer({ min: 1, max: 6 }),
  scaleId: fc.integer({ min: 1, max: 5 }),
  withGroupId: fc.integer({ min: 1, max: 4 }),
  weightLb: within(ranges.weightLb),
})
const observation = (count: number): fc.Arbitrary<Observation> => {
  const alone = fc.record({
    readingId: fc.integer({ min: 1, max: 60 }),
    takenAt: when,
    elevationFt: maybe(within(ranges.elevationFt)),
    temperatureF: maybe(within(ranges.temperatureF)),
    lift: lifts,
    psi: fc.array(pressure, { minLength: count, maxLength: count }),
    ticketId: maybe(fc.integer({ min: 1, max: 6 })),
    scaleId: maybe(fc.integer({ min: 1, max: 5 })),
    weightLb: weight,
  })
  return fc.oneof(
    { weight: 3, arbitrary: alone },
    { weight: 1, arbitrary: fc.tuple(alone, shared).map(([one, together]) => ({ ...one, weightLb: null, together })) },
  )
}
const inOrder = <T>(list: readonly T[], time: (each: T) => number) => list.toSorted((a, b) => time(a) - time(b))

const groups: fc.Arbitrary<GroupHistory> = fc.integer({ min: 0, max: 3 }).chain((count) =>
  fc.record({
    groupId: fc.integer({ min: 1, max: 4 }),
    unitId: fc.integer({ min: 1, max: 2 }),
    unit: fc.constant('T-1'),
    unitKind: fc.constantFrom('tractor', 'trailer', 'truck'),
    group: fc.constant('drive'),
    role: fc.constantFrom(...groupRoles),
    axles: fc.integer({ min: 1, max: 12 }),
    axleSpacingFt: maybe(within(ranges.axleSpacingFt)),
    limitLb: maybe(within(ranges.groupLimitLb)),
    measuredBy: maybe(fc.constantFrom(...measures)),
    circuits: fc.array(circuits, { minLength: count, maxLength: count }),
    calibrations: fc
      .array(
        fc.record({
          calibrationId: fc.integer({ min: 1, max: 99 }),
          calibratedAt: when,
          calibratedBy: fc.constant(null),
          points: fc.array(observation(count), { maxLength: 6 }),
        }),
        { maxLength: 5 },
      )
      .map((list) => inOrder<CalibrationFacts>(list, (each) => each.calibratedAt)),
    observations: fc
      .array(observation(count), { maxLength: 30 })
      .map((list) => inOrder(list, ({ takenAt }) => takenAt)),
    events: fc
      .array(
        fc.record({
          kind: fc.constantFrom(...eventKinds),
          happenedAt: when,
          circuitId: maybe(fc.integer({ min: 1, max: 9 })),
          note: fc.constant(null),
        }),
        { maxLength: 3 },
      )
      .map((list) => inOrder<EventFacts>(list, ({ happenedAt }) => happenedAt)),
  }),
)
const scales: fc.Arbitrary<ScaleFacts> = fc.record({
  scaleId: fc.integer({ min: 1, max: 5 }),
  name: fc.constant('Pit scale'),
  divisionLb: maybe(within(ranges.divisionLb)),
  elevationFt: maybe(within(ranges.elevationFt)),
  tolerancePercent: maybe(within(ranges.tolerancePercent)),
})
const tickets: fc.Arbitrary<TicketFacts> = fc
  .record({
    ticketId: fc.integer({ min: 1, max: 6 }),
    number: fc.constant('55120'),
    scaleId: fc.integer({ min: 1, max: 5 }),
    weighedAt: when,
    grossLb: maybe(within(ranges.grossLb)),
    unitIds: fc.constant([1, 2]),
    lines: fc.array(fc.tuple(fc.integer({ min: 1, max: 4 }), within(ranges.weightLb)), { maxLength: 4 }),
    together: fc.array(
      fc.record({
        groupIds: fc.constantFrom([1, 2] as const, [2, 3] as const, [1, 4] as const),
        weightLb: within(ranges.weightLb),
      }),
      { maxLength: 2 },
    ),
    complete: fc.boolean(),
  })
  .map(({ lines, ...rest }) => ({ ...rest, groupIds: lines.map(([id]) => id), weightsLb: lines.map(([, lb]) => lb) }))
const records: fc.Arbitrary<FleetRecord> = fc.record({
  groups: fc.uniqueArray(groups, { maxLength: 4, selector: ({ groupId }) => groupId }),
  scales: fc.array(scales, { maxLength: 4 }).map((list) => new Map(list.map((each) => [each.scaleId, each]))),
  tickets: fc.array(tickets, { maxLength: 5 }).map((list) => new Map(list.map((each) => [each.ticketId, each]))),
})
const rules: fc.Arbitrary<HouseRules> = fc
  .record(
    Object.fromEntries(
      houseRuleNames.map((name) => [
        name,
        fc.oneof(fc.constant(houseRuleDefinitions[name].default), within(houseRuleDefinitions[name])),
      ]),
    ),
  )
  .chain((set) =>
    fc
      .constantFrom('UTC', 'America/Denver', 'Pacific/Auckland')
      .map((zone) => ({ ...set, zone }) as unknown as HouseRules),
  )

describe('the judgement of any record that may be stored', () => {
  it('makes sense under the rules of a fleet that has set none', () => {
    fc.assert(
      fc.property(records, (record) => {
        expectSense(assessFleet(record, defaultHouseRules, asOf), asOf)
      }),
      { numRuns: 150 },
    )
  })

  it('makes sense under any rules that may be set', () => {
    fc.assert(
      fc.property(records, rules, (record, set) => {
        expectSense(assessFleet(record, set, asOf), asOf)
      }),
      { numRuns: 120 },
    )
  })

  it('gives estimates that come back from their text, and the same outcome with them', () => {
    fc.assert(
      fc.property(records, (record) => {
        const first = assessFleet(record, defaultHouseRules, asOf)
        const known = figuresFromText(
          figuresToText({ estimates: first.estimates, steerScatterLb: 60, cellLaws: [], heardUntil: asOf }),
        ).estimates
        expect(known).toEqual(first.estimates)
        expect(plain(assessFleet(record, defaultHouseRules, asOf, { known }))).toEqual(plain(first))
      }),
      { numRuns: 40 },
    )
  })
})

/** An outcome as data: the states of lines hold functions, which are equal to none but themselves. */
const plain = (outcome: FleetAssessment): unknown =>
  JSON.parse(JSON.stringify(outcome, (_, value: unknown) => (value instanceof Map ? [...value] : value)))

const judgedSense = (group: GroupHistory, day = 400) => {
  const fleet = judgeFleet([group], { asOf: daysOn(day) })
  expectSense(fleet, daysOn(day))
  return fleet.groups[0] as (typeof fleet.groups)[number]
}

describe('records by hand that are out of the ordinary', () => {
  it('an empty fleet, and a group with a sensor and nothing else', () => {
    expectSense(judgeFleet([]), asOf)
    expect(judgedSense(history({ calibrations: [], circuits: [] })).trust).toBe('uncalibrated')
  })

  it('three hundred calibrations on one day: the last one counts', () => {
    const many = Array.from({ length: 300 }, (_, i) =>
      calibration({ calibrationId: i + 1, calibratedAt: calibratedAt + i, points: goodPoints() }),
    )
    const judged = judgedSense(history({ calibrations: many, observations: checks([0, 0, 0]) }), 60)
    expect(judged.current?.calibration.calibrationId).toBe(300)
    expect([judged.trust, judged.findings]).toEqual(['sound', []])
    const same = many.map((each) => ({ ...each, calibratedAt }))
    expect(judgedSense(history({ calibrations: same, observations: checks([0, 0, 0]) }), 60).trust).toBe('sound')
  })

  it('a circuit that was never read: the line rests on the other', () => {
    const pair = [circuit({ name: 'left' }), circuit({ circuitId: 101, name: 'right', mounts: [] })]
    const half = (observations: readonly Observation[]) =>
      observations.map((each) => ({ ...each, psi: [each.psi[0] as number, null] }))
    const judged = judgedSense(
      history({
        circuits: pair,
        calibrations: [calibration({ points: half(goodPoints()) })],
        observations: half(checks([0, 20, -20])),
      }),
      60,
    )
    expect([judged.trust, judged.findings.map(({ code }) => code)]).toEqual(['sound', []])
  })

  it('no circuit ever read', () => {
    const unread = goodPoints().map((each) => ({ ...each, psi: [null] }))
    const judged = judgedSense(history({ calibrations: [calibration({ points: unread })], observations: unread }))
    expect(judged.trust).toBe('uncalibrated')
    expect(judged.findings[0]?.message).toContain('lacks the pressure')
  })

  it('weights of zero, negative pressures, pressures below the air', () => {
    for (const psi of [0, -3, -15]) {
      judgedSense(
        history({
          observations: [
            ...checks([0, 0]),
            point(psi, 0, { takenAt: daysOn(60) }),
            point(psi, 4000, { takenAt: daysOn(76) }),
          ],
        }),
      )
      judgedSense(
        history({
          calibrations: [calibration({ points: [point(psi, 0), point(psi + 40, 24_000), point(60, 34_040)] })],
        }),
      )
    }
  })

  it('equal pressures, equal weights, one point many times', () => {
    for (const points of [
      [point(30, 19_000), point(30, 19_100)],
      [point(30, 19_000), point(40, 19_000)],
      Array.from({ length: 9 }, () => point(30, 19_000)),
    ]) {
      expect(judgedSense(history({ calibrations: [calibration({ points })] })).trust).toBe('uncalibrated')
    }
    judgedSense(
      history({
        calibrations: [calibration({ points: [...goodPoints(), ...goodPoints(), ...goodPoints()] })],
        observations: Array.from({ length: 20 }, () => check(16)),
      }),
    )
  })

  it('a line so flat or so steep that its limit lies nowhere', () => {
    judgedSense(
      history({
        calibrations: [calibration({ points: [point(10, 10_000), point(60, 10_020)] })],
        observations: checks([0, 0, 0]),
      }),
    )
    judgedSense(
      history({
        calibrations: [calibration({ points: [point(10, 10_000), point(10.1, 399_000)] })],
        observations: checks([0, 0, 0]),
      }),
    )
  })

  it('an absolute sensor without any elevation, and limits that nobody knows', () => {
    const absolute = [circuit({ mounts: [mount({ reference: 'absolute' })] })]
    const lost = (observations: readonly Observation[]) =>
      observations.map((each) => ({ ...each, elevationFt: null, psi: [(each.psi[0] as number) + 14.3] }))
    const judged = judgedSense(
      history({
        circuits: absolute,
        limitLb: null,
        axleSpacingFt: null,
        axles: 3,
        calibrations: [calibration({ points: lost(goodPoints()) })],
        observations: lost(checks([0, 0])),
      }),
      60,
    )
    expect(judged.findings.map(({ code }) => code)).toEqual(['no-calibration', 'altitude-uncorrected'])
  })

  it("work, sensors and calibrations that lie after the day asked about are nobody's business yet", () => {
    const later = history({ events: [event('height set', daysOn(800))], observations: checks([0, 0]) })
    expect(
      judge(later, { asOf: daysOn(60) }).findings.every(({ since }) => since === null || since <= daysOn(800)),
    ).toBe(true)
  })

  it('scales that nobody has on record', () => {
    const fleet = judgeFleet([history({ observations: checks([0, 0, 1000, 1000, 1000]) })], {
      scales: [],
      asOf: daysOn(100),
    })
    expectSense(fleet, daysOn(100))
    expect(fleet.groups[0]?.trust).toBe('doubtful')
    expectSense(judgeFleet([history()], { scales: [{ ...scale, divisionLb: null, tolerancePercent: 0 }] }), asOf)
  })

  it('a thousand checks in a thousand minutes, and two at one time', () => {
    const rush = Array.from({ length: 1000 }, (_, i) => check(16 + i / 1440, 20 * (i % 3)))
    expect(judgedSense(history({ observations: rush }), 60).trust).toBe('sound')
    const twins = [check(16), check(16), check(32, 1000), check(32, 1000), check(32, 1000)]
    expect(judgedSense(history({ observations: twins }), 60).trust).toBe('doubtful')
  })
})
