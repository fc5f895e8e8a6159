import { describe, expect, it } from 'vitest'
import { type BenchEvidence, benchItems, planWork } from '#core/bench/work.ts'
import { yardBenches } from '#core/bench/yard-bench.ts'
import { stepsOf } from '#core/bench/steps.ts'
import { type WorkKind, workKinds } from '#core/bench/visits.ts'
import { assessCells } from '#core/cells/fleet-cells.ts'
import { sayWorkDue } from '#core/findings/next-due.ts'
import { storedDay } from '#core/words/day.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { measureSets, storedMeasures } from '#core/words/measures.ts'
import { sayIn, sayStored } from '#core/words/say.ts'

const dayMs = 86_400_000
const asOf = Date.UTC(2026, 2, 2, 12)
const today = Math.floor(asOf / dayMs)
const rules = defaultHouseRules
const places = new Map(
  [7, 8].map((groupId) => [
    groupId,
    { groupId, group: groupId === 7 ? 'drive' : 'tandem', unitId: groupId, unit: `T-${groupId}`, yardId: 1 },
  ]),
)
const nothing: BenchEvidence = { cells: [], places, dues: [], findings: [] }
const seat = {
  unitId: 7,
  unit: 'T-7',
  groupId: 7,
  group: 'drive',
  circuitId: 1,
  circuit: 'main',
  yardId: 1,
  retired: false,
}
const cellsOf = (retired: boolean, silentSince: number | null = null) =>
  assessCells(
    [
      {
        sensorId: 1,
        serial: 'PA-1',
        cell: 'CR2450',
        reportEveryS: 300,
        mounts: [{ mountedAt: asOf - 900 * dayMs, removedAt: null }],
        changes: [],
        silentSince,
        seat: { ...seat, retired },
      },
    ],
    rules,
    asOf,
    () => null,
  ).mounted

describe('work for the bench', () => {
  it('is the cells of units in service, by their swap-by day', () => {
    expect(benchItems({ ...nothing, cells: cellsOf(false) }, rules, asOf, sayStored('UTC'))).toMatchObject([
      { kind: 'cell', serial: 'PA-1', unit: 'T-7', group: 'drive', circuit: 'main', minutes: rules.cellMinutes },
    ])
    expect(benchItems({ ...nothing, cells: cellsOf(true) }, rules, asOf, sayStored('UTC'))).toEqual([])
  })

  it('says of a cell that died why, and has it due since then', () => {
    const silentSince = asOf - 42 * dayMs
    const items = (since: number | null) =>
      benchItems({ ...nothing, cells: cellsOf(false, since) }, rules, asOf, sayStored('UTC'))
    expect(items(silentSince)).toMatchObject([
      {
        what: 'Swap the CR2450 cell of sensor PA-1, most likely dead: its sensor has been silent since 2026-01-19',
        reason: 'dead',
        dueDay: today - 42,
        urgency: 1,
      },
    ])
    expect(items(null)).toMatchObject([{ what: 'Swap the CR2450 cell of sensor PA-1', reason: 'scheduled' }])
  })

  it('says of each piece why it is to be done, and what comes next', () => {
    const since = asOf - 10 * dayMs
    const why = (evidence: Partial<BenchEvidence>) =>
      benchItems({ ...nothing, ...evidence }, rules, asOf, sayStored('UTC')).map(({ why: said, next }) => [said, next])
    expect(why({ cells: cellsOf(false, asOf - 42 * dayMs) })[0]?.[0]).toBe(
      'Its sensor has been silent since 2026-01-19: the cell is most likely dead.',
    )
    expect(why({ cells: cellsOf(false) })[0]?.[0]).toMatch(
      /^In for 900 days: \d\d % of such cells fail before the next visit, on 2026-05-31; the House Rules allow 10 %\.$/,
    )
    const due = { groupId: 7, trust: 'sound', dueOn: storedDay('2026-04-01') } as const
    expect(why({ dues: [due] })).toEqual([
      [
        'Its line is good until 2026-04-01.',
        'Weigh the unit empty and loaded, and enter the tickets with the pressures in the Weigh-in.',
      ],
    ])
    const aged = {
      code: 'age-near-limit',
      variant: 'line',
      facts: { calibratedAt: asOf - 340 * dayMs, limitDays: 365, endsOn: storedDay('2026-04-01') },
      groupId: 7,
      circuit: null,
      since: null,
    } as const
    expect(why({ dues: [due], findings: [aged] })).toEqual([
      [
        'The line of 2025-03-27 reaches its allowed age of 365 days on 2026-04-01.',
        'Plan a calibration before 2026-04-01.',
      ],
    ])
    const drifts = {
      code: 'checks-drifting',
      variant: 'shift',
      facts: { from: since, missLb: 1200, checks: 3, lift: null },
      groupId: 7,
      circuit: null,
      since,
    } as const
    expect(
      why({ dues: [{ groupId: 7, trust: 'sound', dueOn: storedDay('2027-01-01') } as const], findings: [drifts] }).map(
        ([said]) => said,
      ),
    ).toEqual([
      'Found in what was weighed since 2026-02-20; the group’s weights are off until it is fixed.',
      'The repair on this group changes its line.',
    ])
  })

  it('is done in steps that say what is common practice in the trade, and which screen does them', () => {
    const text = (kind: WorkKind) =>
      stepsOf(kind, storedMeasures)
        .map((step) => step.text)
        .join(' ')
    for (const [kind, words] of [
      ['cell', 'one for each leveling valve'],
      ['cell', 'a gauge and a spare cell'],
      ['cell', 'without a cell for 45 seconds'],
      ['cell', 'within 50 ft'],
      ['cell', 'within two minutes'],
      ['cell', 'nobody moves in the cab'],
      ['recalibration', 'in the cab'],
      ['repair', 'in the cab'],
    ] as const)
      expect(text(kind)).toContain(words)
    for (const kind of workKinds) {
      const screens = stepsOf(kind, storedMeasures).flatMap(({ text: own, doneOn }) =>
        doneOn === null ? [] : [{ own, ...doneOn }],
      )
      expect(screens.length).toBeGreaterThan(0)
      for (const { own, words } of screens) expect(own).toContain(words)
    }
  })

  it('is a recalibration when the line runs out, and the first calibration of a group within a week', () => {
    expect(
      benchItems(
        {
          ...nothing,
          dues: [
            { groupId: 7, trust: 'sound', dueOn: storedDay('2026-04-01') } as const,
            { groupId: 8, trust: 'uncalibrated', dueOn: null } as const,
            { groupId: 99, trust: 'uncalibrated', dueOn: null } as const,
          ],
        },
        rules,
        asOf,
        sayStored('UTC'),
      ),
    ).toMatchObject([
      { kind: 'recalibration', unit: 'T-7', dueDay: Date.parse('2026-04-01') / dayMs, what: 'Recalibrate drive' },
      { kind: 'recalibration', unit: 'T-8', dueDay: today + 7, what: 'Calibrate tandem' },
    ])
  })

  it('is due now where lists and sheets say so, whatever the day that keeps its order', () => {
    const dueOn = storedDay('2026-02-20')
    const items = benchItems(
      {
        ...nothing,
        cells: cellsOf(false),
        dues: [
          { groupId: 7, trust: 'upset', dueOn },
          { groupId: 8, trust: 'overdue', dueOn },
        ],
      },
      rules,
      asOf,
      sayStored('UTC'),
    )
    expect(items.map((item) => [item.kind, item.unit, sayWorkDue({ ...item, dueOn })])).toEqual([
      ['cell', 'T-7', 'now'],
      ['recalibration', 'T-7', 'now'],
      ['recalibration', 'T-8', '2026-02-20'],
    ])
  })

  it('is due a notice after it could be known: nobody is late for what a later weighing brought to light', () => {
    const [began, foundOn] = [asOf - 280 * dayMs, asOf - 40 * dayMs]
    const moved = {
      code: 'line-moved',
      variant: 'unexplained',
      facts: { laterAt: foundOn, earlierAt: asOf - 400 * dayMs, shiftLb: 1500, near: 'limit', times: 4 },
      groupId: 7,
      circuit: null,
      since: began,
    } as const
    const drifts = {
      code: 'checks-drifting',
      variant: 'change',
      facts: {
        at: began,
        from: began,
        until: began,
        knownAt: foundOn,
        kind: null,
        missLb: 1200,
        checks: 3,
        lift: null,
      },
      groupId: 7,
      circuit: null,
      since: began,
    } as const
    for (const finding of [moved, drifts]) {
      const [item] = benchItems({ ...nothing, findings: [finding] }, rules, asOf, sayStored('UTC'))
      expect(item?.dueDay, finding.code).toBe(today - 40 + rules.dueNoticeDays)
      expect(item?.why).toMatch(/^Found on 2026-01-21 in what was weighed since 2025-05-26; /)
    }
  })

  it('is what needs a wrench, a notice after it began; drift brings the recalibration to the same day', () => {
    const since = asOf - 10 * dayMs
    const findings = [
      {
        code: 'checks-drifting',
        variant: 'shift',
        facts: { from: since, missLb: 1200, checks: 3, lift: null },
        groupId: 7,
        circuit: null,
        since,
      },
      {
        code: 'side-imbalance',
        variant: 'circuits',
        facts: { from: asOf, high: 'left', low: 'right', differencePsi: 12, allowedPsi: 5 },
        groupId: 8,
        circuit: 'left',
        since: null,
      },
      {
        code: 'check-missed',
        variant: 'answered',
        facts: { at: since, weightLb: 33_000, missLb: 900, psi: 58 },
        groupId: 7,
        circuit: null,
        since,
      },
    ] as const
    const evidence = {
      ...nothing,
      dues: [
        { groupId: 7, trust: 'sound', dueOn: storedDay('2027-01-01') } as const,
        { groupId: 8, trust: 'sound', dueOn: storedDay('2027-01-01') } as const,
      ],
      findings,
    }
    const items = benchItems(evidence, rules, asOf, sayStored('UTC'))
    expect(items[0]?.what).toContain('has shown 1,200 lb more')
    const inKg = benchItems(evidence, rules, asOf, sayIn(measureSets['kg, bar, m'], 'UTC'))
    expect(inKg.slice(0, 2).map(({ what }) => /545 kg more|0.83 bar above/.exec(what)?.[0])).toEqual([
      '545 kg more',
      '0.83 bar above',
    ])
    expect(items.map(({ kind, unit, code, dueDay }) => [kind, unit, code, dueDay])).toEqual([
      ['repair', 'T-7', 'checks-drifting', today - 10 + rules.dueNoticeDays],
      ['repair', 'T-8', 'side-imbalance', today + rules.dueNoticeDays],
      ['recalibration', 'T-7', null, today - 10 + rules.dueNoticeDays],
      ['recalibration', 'T-8', null, Date.parse('2027-01-01') / dayMs],
    ])
    // One visit, the repair first: it may move the line.
    expect(
      planWork(items, [], yardBenches(new Map(), rules), rules, asOf, 28).visits[0]?.items.map(({ kind }) => kind),
    ).toEqual(['repair', 'recalibration'])
  })

  it('keeps its name while the evidence stays, and no two things share one', () => {
    const evidence = {
      ...nothing,
      cells: cellsOf(false),
      dues: [{ groupId: 7, trust: 'sound', dueOn: storedDay('2026-04-01') } as const],
    }
    const [now, later] = [asOf, asOf + 5 * dayMs].map((at) =>
      benchItems(evidence, rules, at, sayStored('UTC')).map(({ id }) => id),
    )
    expect(later).toEqual(now)
    expect(new Set(now).size).toBe(2)
  })
})
