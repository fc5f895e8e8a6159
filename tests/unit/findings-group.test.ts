import { describe, expect, it } from 'vitest'
import { findingCodes, findingSeverities, trustStates } from '#core/findings/finding.ts'
import { predictWeight } from '#core/line/predict.ts'
import {
  calibratedAt,
  calibration,
  circuit,
  daysOn,
  event,
  goodPoints,
  history,
  instant,
  judge,
  mount,
  point,
} from '#tests/unit/group-history.ts'

describe('no-calibration', () => {
  it('fires on a sensed group that was never calibrated, since its first sensor', () => {
    const { findings, ...rest } = judge(history({ calibrations: [] }))
    expect(rest).toMatchObject({
      trust: 'uncalibrated',
      current: null,
      dueOn: null,
      ageDays: null,
      uLimitLb: null,
      limitLb: 34_000,
    })
    expect(findings).toHaveLength(1)
    expect(findings[0]).toMatchObject({
      code: 'no-calibration',
      severity: 'stop',
      groupId: 10,
      since: instant('2024-01-10T08:00:00Z'),
      numbers: { calibrations: 0 },
    })
    expect(findings[0]?.message).toBe(
      'This group has a sensor but no calibration: its pressures cannot be turned into weights.',
    )
  })

  it('dates from the earliest of several mounts, and has no date without one', () => {
    const mounts = [
      mount({ mountedAt: instant('2024-06-01T00:00:00Z') }),
      mount({ mountedAt: instant('2023-06-01T00:00:00Z') }),
    ]
    expect(judge(history({ calibrations: [], circuits: [circuit({ mounts })] })).findings[0]?.since).toBe(
      instant('2023-06-01T00:00:00Z'),
    )
    expect(judge(history({ calibrations: [], circuits: [circuit({ mounts: [] })] })).findings[0]?.since).toBeNull()
  })

  it('fires with the reason when no calibration makes a line', () => {
    const one = judge(history({ calibrations: [calibration({ points: [point(14, 11_060)] })] }))
    expect(one.findings[0]).toMatchObject({ code: 'no-calibration', numbers: { calibrations: 1 } })
    expect(one.findings[0]?.message).toContain('A line needs two or more points; 1 given.')
    const same = judge(history({ calibrations: [calibration({ points: [point(30, 19_000), point(30, 19_100)] })] }))
    expect(same.findings[0]?.message).toContain('All points have the same pressure, 30.0 psi')
    const incomplete = judge(history({ calibrations: [calibration({ points: [point(30, null), point(40, 24_000)] })] }))
    expect(incomplete.findings[0]?.message).toContain('lacks the pressure or the ticket weight')
  })

  it('is not needed when an older calibration still makes a line', () => {
    const broken = calibration({
      calibrationId: 501,
      calibratedAt: instant('2025-05-01T00:00:00Z'),
      points: [point(14, 11_060)],
    })
    const { current, findings } = judge(history({ calibrations: [calibration(), broken] }))
    expect(current?.calibration.calibrationId).toBe(500)
    expect(findings.map(({ code }) => code)).not.toContain('no-calibration')
  })
})

describe('trust', () => {
  it('is sound, with the uncertainty at the limit, when nothing is wrong', () => {
    const { trust, findings, current, uLimitLb, ageDays } = judge(history())
    expect({ trust, findings, ageDays }).toEqual({ trust: 'sound', findings: [], ageDays: 92 })
    if (!current) throw new Error('no line')
    // The line's own uncertainty at the limit, and what it may have wandered since by the House Rules.
    const ofTheLine = predictWeight(current.line, (34_000 - current.line.a) / current.line.b).u
    expect(uLimitLb).toBeGreaterThan(ofTheLine)
    // By the state: about the line's own, with settlings out of the ordinary counted.
    const onTheDay = judge(history(), { asOf: calibratedAt }).uLimitLb as number
    expect(onTheDay / ofTheLine).toBeGreaterThan(0.95)
    expect(onTheDay / ofTheLine).toBeLessThan(1.1)
    expect(judge(history(), { asOf: '2025-12-01T00:00:00Z' }).uLimitLb).toBeGreaterThan(uLimitLb ?? 0)
    expect(uLimitLb).toBeGreaterThan(100)
    expect(uLimitLb).toBeLessThan(400)
  })

  it('has no uncertainty at the limit once recorded work has broken the line', () => {
    const after = judge(history({ events: [event('valve replaced', daysOn(20))] }), { asOf: daysOn(21) })
    expect([after.trust, after.uLimitLb, after.standings.map(({ uLimitLb }) => uLimitLb)]).toEqual([
      'upset',
      null,
      [null],
    ])
  })

  it('is the worst that the findings say: upset before doubtful before overdue', () => {
    const bent = calibration({ points: [point(14, 11_060), point(38, 24_500), point(60, 34_040)] })
    const old = { asOf: '2026-09-01T00:00:00Z' }
    expect(judge(history(), old).trust).toBe('overdue')
    expect(judge(history({ calibrations: [bent] }), old).trust).toBe('doubtful')
    expect(
      judge(history({ calibrations: [bent], events: [event('height set', '2025-04-01T00:00:00Z')] }), old).trust,
    ).toBe('upset')
    expect(trustStates).toEqual(['uncalibrated', 'upset', 'doubtful', 'overdue', 'due soon', 'sound'])
  })

  it('rests on the newest calibration', () => {
    const newer = calibration({
      calibrationId: 501,
      calibratedAt: instant('2025-05-01T00:00:00Z'),
      points: goodPoints(),
    })
    expect(judge(history({ calibrations: [calibration(), newer] }))).toMatchObject({
      ageDays: 31,
      current: { calibration: { calibrationId: 501 } },
    })
  })
})

describe('every finding', () => {
  it('has a code with a severity, and the codes of the command line are among them', () => {
    expect(findingCodes).toEqual(
      expect.arrayContaining([
        'no-calibration',
        'event-since-calibration',
        'age-over-limit',
        'age-near-limit',
        'two-point-line',
        'short-span',
        'points-disagree',
        'ticket-sum-mismatch',
      ]),
    )
    expect(findingSeverities).toMatchObject({
      'no-calibration': 'stop',
      'event-since-calibration': 'stop',
      'points-disagree': 'warn',
      'age-over-limit': 'warn',
    })
  })

  it('carries numbers whose names end in their unit, a sentence and a next step', () => {
    const all = [
      judge(history({ calibrations: [] })),
      judge(history({ calibrations: [calibration({ points: [point(14, 11_060), point(20, 14_000)] })] }), {
        asOf: '2026-02-20T00:00:00Z',
      }),
      judge(
        history({
          calibrations: [calibration({ points: [point(14, 11_060), point(38, 24_500), point(60, 34_040)] })],
          events: [event('height set', '2025-04-01T00:00:00Z')],
        }),
        { asOf: '2027-01-01T00:00:00Z' },
      ),
    ].flatMap(({ findings }) => findings)
    expect(new Set(all.map(({ code }) => code)).size).toBeGreaterThanOrEqual(7)
    for (const { message, nextStep, numbers } of all) {
      expect(message).toMatch(/^[A-Z].*\.$/)
      expect(nextStep).toMatch(/^[A-Z].*\.$/)
      expect(message + nextStep).not.toMatch(/NaN|undefined|null|Infinity|\bwe\b/)
      expect(Object.keys(numbers).length).toBeGreaterThan(0)
    }
  })
})
