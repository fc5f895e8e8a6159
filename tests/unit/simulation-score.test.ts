import { describe, expect, it } from 'vitest'
import { flaggedWithin, scoreDelay } from '#tests/bed/delay.ts'
import { type FaultKind, faultKinds, fittingCodes, type PlantedFault } from '#tests/bed/fault-kinds.ts'
import type { FindingRow, ScaleRow, TrustRow } from '#tests/bed/reports.ts'
import { addScaleScores, scoreScales } from '#tests/bed/score-scales.ts'
import { addScores, scoreFindings } from '#tests/bed/score.ts'
import type { FleetTruth, GroupTruth } from '#tests/bed/truth.ts'

const group = (unit: string, clean: boolean, lastCalibratedDaysAgo = 100, checks: number[] = []): GroupTruth => ({
  unit,
  group: 'drive',
  clean,
  lastCalibratedDaysAgo,
  checks,
})
const fault = (kind: FaultKind, unit: string, more: Partial<PlantedFault> = {}): PlantedFault => ({
  kind,
  unit,
  group: 'drive',
  scale: null,
  ticket: null,
  startedAt: '2026-08-01T00:00:00.000Z',
  what: '',
  ...more,
})
const finding = (code: string, unit: string | null, more: Partial<FindingRow> = {}): FindingRow => ({
  unit,
  group: unit === null ? null : 'drive',
  circuit: null,
  scale: null,
  ticket: null,
  code,
  severity: 'warn',
  since: null,
  numbers: {},
  message: '',
  ...more,
})
const trust = (unit: string, state: TrustRow['trust']): TrustRow => ({
  unit,
  group: 'drive',
  trust: state,
  calibrated_at: null,
  age_days: null,
  due_on: null,
  a: null,
  b: null,
  u_limit_lb: null,
})
const truth = (planted: PlantedFault[], groups: GroupTruth[]): FleetTruth => ({
  lastDay: '2026-11-24',
  weighings: [],
  scales: [],
  planted,
  groups,
})

describe('the score of a fleet', () => {
  it('finds nothing when nothing is said, and everything when the exact code is', () => {
    const planted = faultKinds.map((kind, i) =>
      kind === 'biased-scale' ? { ...fault(kind, ''), unit: null, group: null, scale: 'Quarry' } : fault(kind, `T${i}`),
    )
    const silent = scoreFindings(truth(planted, []), [], [])
    expect(silent.kinds.map(({ fitting }) => fitting)).toEqual(faultKinds.map(() => 0))
    expect(silent.kinds.every(({ missed }) => missed.length === 1)).toBe(true)
    const said = planted.map((one) =>
      finding(fittingCodes[one.kind].exact[0] as string, one.unit, { scale: one.scale }),
    )
    const all = scoreFindings(truth(planted, []), said, [])
    expect(all.kinds.map(({ exact }) => exact)).toEqual(faultKinds.map(() => 1))
    expect([all.biasedNamed, all.scalesWronglyNamed]).toEqual([1, 0])
  })

  it('does not count a code that does not fit, nor the right code on another group, ticket or scale', () => {
    const planted = [fault('sensor-offset', 'T1'), fault('digits-transposed', 'T2', { scale: 'Mill', ticket: '7' })]
    const score = scoreFindings(
      truth(planted, []),
      [
        finding('side-imbalance', 'T1'),
        finding('check-missed', 'T3'),
        finding('digits-transposed', 'T2', { scale: 'Mill', ticket: '8' }),
        finding('scale-biased', null, { scale: 'Mill' }),
      ],
      [],
    )
    expect(score.kinds.map(({ fitting }) => fitting)).toEqual([0, 0])
    expect(score.scalesWronglyNamed).toBe(1)
  })

  it('tells naming from noticing, and the days between start and since', () => {
    const planted = [fault('digits-transposed', 'T2', { scale: 'Mill', ticket: '7' })]
    const score = scoreFindings(
      truth(planted, []),
      [finding('check-missed', 'T2', { since: '2026-08-05T00:00:00.000Z' })],
      [],
    )
    expect(score.kinds[0]).toMatchObject({ exact: 0, fitting: 1, medianSinceDays: 4 })
  })

  it('counts an alarm on a clean group once, with its codes, but no note, no cell, no slipped ticket', () => {
    const planted = [fault('sum-mismatch', 'T9', { scale: 'Mill', ticket: '7' })]
    const score = scoreFindings(
      truth(planted, [group('T1', true), group('T2', true), group('T3', true), group('T9', false)]),
      [
        finding('check-missed', 'T1'),
        finding('checks-drifting', 'T1', { severity: 'stop' }),
        finding('check-missed', 'T9'),
        finding('two-point-line', 'T2', { severity: 'note' }),
        finding('battery-due', 'T2'),
        finding('ticket-sum-mismatch', 'T3', { group: null, scale: 'Mill', ticket: '7' }),
      ],
      [],
    )
    expect([score.cleanGroups, score.alarmedGroups]).toEqual([3, 1])
    expect([...score.alarmsByCode]).toEqual([
      ['check-missed', 1],
      ['checks-drifting', 1],
    ])
  })

  it('counts a finding on a whole unit against each of its clean groups', () => {
    expect(
      scoreFindings(
        truth([], [group('T1', true)]),
        [finding('ticket-sum-mismatch', 'T1', { group: null, scale: 'Mill', ticket: '9' })],
        [],
      ).alarmedGroups,
    ).toBe(1)
  })

  it('asks of clean groups calibrated within 180 days whether they are sound', () => {
    const score = scoreFindings(
      truth([], [group('T1', true, 20), group('T2', true, 180), group('T3', true, 181), group('T4', false, 20)]),
      [],
      [trust('T1', 'sound'), trust('T2', 'doubtful'), trust('T3', 'sound'), trust('T4', 'sound')],
    )
    expect([score.recentGroups, score.recentSound]).toEqual([2, 1])
  })

  it('adds up over fleets', () => {
    const one = scoreFindings(
      truth([fault('stale', 'T1')], [group('T2', true)]),
      [finding('age-over-limit', 'T1'), finding('check-missed', 'T2')],
      [],
    )
    const sum = addScores([one, one])
    expect(sum.kinds[0]).toMatchObject({ planted: 2, exact: 2, fitting: 2 })
    expect([sum.cleanGroups, sum.alarmedGroups, sum.alarmsByCode.get('check-missed')]).toEqual([2, 2, 2])
  })
})

it('counts the check weighings until an offset is flagged', () => {
  const day = (n: number) => Date.parse('2026-08-01T00:00:00Z') + n * 86_400_000
  const planted = ['T1', 'T2', 'T3', 'T4'].map((unit) => fault('offset-1000-lb', unit))
  const groups = ['T1', 'T2', 'T3', 'T4'].map((unit) => group(unit, false, 100, [day(-5), day(8), day(20), day(33)]))
  const flagged = (...units: string[]) => units.map((unit) => finding('check-missed', unit))
  const delay = scoreDelay(truth(planted, groups), [
    { asOf: day(-1), findings: flagged('T3') },
    { asOf: day(9), findings: flagged('T1', 'T3') },
    { asOf: day(34), findings: flagged('T1', 'T2', 'T3') },
  ])
  expect(delay).toEqual({ planted: 4, early: 1, never: 1, flaggedAfter: [1, 0, 1] })
  expect(flaggedWithin(delay, 1)).toBe(0.25)
  expect(flaggedWithin(delay, 3)).toBe(0.5)
})

describe('the score of scales', () => {
  const row = (scale: string, bias_percent: number, verdict: ScaleRow['verdict']): ScaleRow => ({
    scale,
    bias_percent,
    u_percent: 0.05,
    verdict,
    weighings: 100,
    groups: 20,
    since: null,
  })
  const fleet = (scales: FleetTruth['scales']): FleetTruth => ({ ...truth([], []), scales })
  const scale = (name: string, biasPercent: number) => ({ scale: name, biasPercent, tolerancePercent: 0.2 })

  it('counts intervals that hold the truth, good scales condemned and bad ones named', () => {
    const score = scoreScales(fleet([scale('Mill', 0.1), scale('Pit', 0.8), scale('Yard', -0.2), scale('Dock', 0)]), [
      row('Mill', 0.19, 'too close to call'),
      row('Pit', 0.69, 'biased'),
      row('Yard', -0.35, 'beyond tolerance'),
      row('Dock', 0, 'not known'),
    ])
    expect(score).toEqual({ told: 3, held: 1, good: 3, condemned: 1, bad: 1, named: 1 })
    expect(addScaleScores([score, score])).toEqual({ told: 6, held: 2, good: 6, condemned: 2, bad: 2, named: 2 })
  })
})
