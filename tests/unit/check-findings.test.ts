import { describe, expect, it } from 'vitest'
import { bestWeight } from '#core/evidence/follow-checks.ts'
import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import {
  calibration,
  check,
  checks,
  circuit,
  daysOn,
  event,
  find,
  goodPoints,
  history,
  judge,
  lineLb,
  mount,
  point,
  scale,
} from '#tests/unit/group-history.ts'
import { some } from '#tests/some.ts'

const quiet = [120, -140, 40, 0]
const withChecks = (observations: readonly Observation[], change: Partial<GroupHistory> = {}) =>
  history({ observations, ...change })
const judgedAfter = (observations: readonly Observation[], change: Partial<GroupHistory> = {}) =>
  judge(withChecks(observations, change), { asOf: Math.max(...observations.map(({ takenAt }) => takenAt)) + 1 })
const codes = (judged: ReturnType<typeof judge>) => judged.findings.map(({ code }) => code)
const finding = (judged: ReturnType<typeof judge>, code: string) => judged.findings.find((each) => each.code === code)

describe('a line whose checks agree', () => {
  it('stays sound and grows surer at the limit', () => {
    const observations = checks([...quiet, 60, -40, 100, -100])
    const judged = judgedAfter(observations)
    expect([judged.trust, codes(judged)]).toEqual(['sound', []])
    expect(judged.uLimitLb as number).toBeLessThan(judge(history(), { asOf: daysOn(8 * 16) }).uLimitLb as number)
  })
})

describe('check-missed', () => {
  // Twice what a settling out of the ordinary does: a lone 900 lb is within that.
  const judged = judgedAfter(checks([...quiet, 2000]))

  it('fires on the newest check when it misses, and makes the line doubtful', () => {
    const missed = finding(judged, 'check-missed')
    expect(missed).toMatchObject({ severity: 'warn', since: daysOn(5 * 16), scaleId: scale.scaleId, groupId: 10 })
    expect(missed?.ticketId).toBe(judged.history.observations.at(-1)?.ticketId)
    expect(judged.trust).toBe('doubtful')
  })

  it('gives the miss with its uncertainty, the weight and the pressure', () => {
    const numbers = finding(judged, 'check-missed')?.numbers ?? {}
    expect(numbers).toMatchObject({ psi: 58, weight_lb: 35_000, confidence_percent: 99.7 })
    expect(numbers['miss_lb'] as number).toBeGreaterThan(1950)
    expect(numbers['miss_lb'] as number).toBeLessThan(2100)
    expect((numbers['miss_lb'] as number) / (numbers['u_miss_lb'] as number)).toBeCloseTo(numbers['z'] as number, 9)
  })

  it('says so in a sentence that is true of what was expected', () => {
    expect(finding(judged, 'check-missed')?.message).toMatch(
      /^On 2025-05-20 the scale showed 35,000 lb, (1,9[5-9]|2,0[0-9])0 lb more than expected at 58\.0 psi; chance alone would do that in less than 1 % of checks\.$/,
    )
    expect(finding(judgedAfter(checks([...quiet, -2000])), 'check-missed')?.message).toMatch(
      / (1,9[0-9]|2,0[0-9])0 lb less than expected /,
    )
  })

  it('follows the band of the House Rules', () => {
    // In a fleet without settlings out of the ordinary a lone 900 lb is suspect, and within a band of 4.9 standard
    // deviations.
    const observations = checks([...quiet, 900])
    const rules = { tailShare: 0.0001 }
    expect(find(withChecks(observations), 'check-missed', { rules })).toBeDefined()
    expect(
      find(withChecks(observations), 'check-missed', { rules: { ...rules, missConfidence: 99.9999 } }),
    ).toBeUndefined()
  })

  it('is settled by a later check that agrees with the line: the group is sound again', () => {
    const settled = judgedAfter(checks([...quiet, 900, 20]))
    expect([settled.trust, codes(settled)]).toEqual(['sound', []])
  })

  it('stays as a note where the miss was wild, though later checks agree', () => {
    const settled = judgedAfter(checks([...quiet, 2500, 20, -60, 40]))
    expect(finding(settled, 'check-missed')).toMatchObject({ severity: 'note', since: daysOn(5 * 16) })
    expect(finding(settled, 'check-missed')?.message).toMatch(
      /more than expected at 58\.0 psi; later checks agree with the line\.$/,
    )
    expect(settled.trust).toBe('sound')
  })

  it('is not settled by checks that show the same shift, although the track has followed them', () => {
    // The first alone is within what a settling does now and then.
    for (let count = 2; count <= 12; count += 1) {
      const judgedThen = judgedAfter(checks(Array.from({ length: count }, () => 820)))
      expect(judgedThen.trust, `${count} checks`).toBe('doubtful')
      expect(codes(judgedThen)).toEqual(
        expect.arrayContaining([expect.stringMatching(/^(check-missed|checks-drifting)$/)]),
      )
      for (const { message } of some(judgedThen.findings)) expect(message).not.toMatch(/later checks agree/)
    }
  })
})

describe('checks-drifting', () => {
  const shifted = (step: number, count: number) =>
    judgedAfter(checks([...quiet, ...Array.from({ length: count }, () => step)]))

  it('tells a shift of 1,000 lb within three checks', () => {
    for (const step of [1000, -1000]) {
      expect(codes(shifted(step, 3))).toContain('checks-drifting')
      expect(shifted(step, 3).trust).toBe('doubtful')
    }
  })

  it('dates from the first check of the shift, however late it is noticed', () => {
    for (const [step, count] of [
      [1000, 3],
      [-1000, 6],
      [620, 9],
      [-620, 9],
    ] as const) {
      const told = finding(shifted(step, count), 'checks-drifting')
      expect(told?.since, `${step} lb`).toBeGreaterThan(daysOn(4 * 16))
      expect(told?.since, `${step} lb`).toBeLessThanOrEqual(daysOn(5 * 16))
      const [from, until] = [told?.numbers['since_from'], told?.numbers['since_until']]
      expect([Date.parse(from as string) < daysOn(5 * 16), Date.parse(until as string) > daysOn(4 * 16)]).toEqual([
        true,
        true,
      ])
    }
  })

  it('could be known at the check that established it, however many came after', () => {
    const knownAt = (count: number) => finding(shifted(1000, count), 'checks-drifting')?.facts['knownAt']
    const first = [1, 2, 3].find((count) => codes(shifted(1000, count)).includes('checks-drifting'))
    expect([knownAt(3), knownAt(6), knownAt(12)]).toEqual(Array(3).fill(daysOn((4 + (first ?? 0)) * 16)))
  })

  it.each([620, 820, 1000, 1500, -820])(
    'goes on telling the whole shift of %d lb, and trust stays away, as more checks come',
    (step) => {
      for (const count of [8, 12, 20, 30]) {
        const judged = shifted(step, count)
        const drifting = finding(judged, 'checks-drifting')
        expect(drifting, `${count} checks`).toBeDefined()
        expect(Math.abs((drifting?.numbers['recent_miss_lb'] as number) - step)).toBeLessThan(40)
        expect(judged.trust).toBe('doubtful')
      }
    },
  )

  it('gives the shift in psi as a sensor would have to be off, with the sum that raised the alarm', () => {
    const drifting = finding(shifted(1000, 6), 'checks-drifting')
    expect(drifting?.numbers['recent_miss_psi'] as number).toBeCloseTo(
      -(drifting?.numbers['recent_miss_lb'] as number) / 500,
      1,
    )
    expect(drifting?.numbers).toMatchObject({ checks: 6, cusum_side: 'high' })
    expect(drifting?.numbers['cusum'] as number).toBeGreaterThan(8)
    expect(Math.abs(drifting?.numbers['trend_lb_per_month'] as number)).toBeLessThan(20)
    expect(drifting?.message).toMatch(
      /^Since about 2025-05-12 \(95 %: 2025-05-0\d to 2025-05-\d\d\) the scale has shown (9[5-9]|1,00|1,01)\d? ?\d* lb more than this line reads \(mean of the last 3 checks\): the line no longer holds\.$/,
    )
    expect(finding(shifted(-1000, 6), 'checks-drifting')?.message).toContain('less than this line reads')
    expect(finding(shifted(-1000, 6), 'checks-drifting')?.numbers).toMatchObject({ cusum_side: 'low' })
  })

  it('tells how fast a sensor drifts: 0.7 psi a month is 350 lb a month on this line', () => {
    const drift = Array.from({ length: 14 }, (_, i) => 350 * (i + 1) * (16 / 30.44))
    const judged = judgedAfter(checks([0, 0, ...drift]))
    const drifting = finding(judged, 'checks-drifting')
    expect(Math.abs((drifting?.numbers['trend_lb_per_month'] as number) / 350 - 1)).toBeLessThan(0.1)
    expect(drifting?.numbers['recent_miss_lb'] as number).toBeGreaterThan(2000)
  })

  it('ends when three checks in a row are back on the line, however long the shift was', () => {
    for (const step of [820, 1500]) {
      const long = Array.from({ length: 10 }, () => step)
      expect(codes(judgedAfter(checks([...quiet, ...long, 20]))).length).toBeGreaterThan(0)
      const back = judgedAfter(checks([...quiet, ...long, 20, -40, 60]))
      expect(codes(back)).not.toContain('checks-drifting')
      for (const { message } of back.findings) expect(message).not.toMatch(/lb (more|less) than this line reads/)
    }
  })

  it('begins anew when the shift comes back', () => {
    const long = Array.from({ length: 5 }, () => 1000)
    const back = [0, 40, -40, 0, 20, -20, 60, -60, 0, 40, -40, 0]
    const judged = judgedAfter(checks([...quiet, ...long, ...back, ...long]))
    const since = finding(judged, 'checks-drifting')?.since as number
    expect(since).toBeGreaterThan(daysOn((4 + 5 + 12) * 16))
    expect(since).toBeLessThan(daysOn((4 + 5 + 12 + 1) * 16))
  })

  it('turns round with a shift that turns round', () => {
    const judged = judgedAfter(
      checks([...quiet, ...Array.from({ length: 8 }, () => 1500), ...Array.from({ length: 4 }, () => -1500)]),
    )
    const told = finding(judged, 'checks-drifting')
    expect(told?.numbers).toMatchObject({ cusum_side: 'low', checks: 4 })
    expect(told?.since as number).toBeGreaterThan(daysOn((4 + 8) * 16))
    expect(told?.since as number).toBeLessThan(daysOn((4 + 8 + 1) * 16))
    expect(finding(judged, 'checks-drifting')?.message).toContain('less than this line reads')
  })

  it('says one thing, not also each check that missed', () => {
    expect(codes(shifted(1500, 5))).not.toContain('check-missed')
  })

  it('says which kind of change it is where the loads tell it, and leaves it open where they do not', () => {
    const loads = [16, 58, 20, 55, 30, 57, 18, 50]
    const at = (missAt: (psi: number) => number) =>
      judgedAfter([...checks(quiet), ...loads.map((psi, i) => check(80 + 16 * i, missAt(psi), { psi }))])
    const offset = finding(
      at(() => 1200),
      'checks-drifting',
    )
    expect(offset?.numbers).toMatchObject({ kind: 'offset' })
    expect(offset?.message).toContain('(mean of the last 3 checks), by about as much at every load: the line')
    const slope = finding(
      at((psi) => 0.08 * 500 * psi),
      'checks-drifting',
    )
    expect(slope?.numbers).toMatchObject({ kind: 'slope' })
    expect(slope?.message).toContain(', more so the heavier it stands: the line')
    expect(finding(shifted(1000, 6), 'checks-drifting')?.message).toContain('(mean of the last 3 checks): the line')
  })

  it('goes by the state of the line, not by the sums that the chart draws', () => {
    const observations = checks([...quiet, 1000, 1000, 1000])
    for (const cusumLimit of [2, 30])
      expect(find(withChecks(observations), 'checks-drifting', { rules: { cusumLimit } })).toBeDefined()
    expect(find(withChecks(checks([...quiet, 400])), 'checks-drifting', { rules: { cusumLimit: 2 } })).toBeUndefined()
  })
})

describe('the evidence of a line', () => {
  it('begins with its first point: what was weighed from then on tests it, save the points themselves', () => {
    const points = goodPoints()
    const observations = [check(-1, 0), ...points, check(0, 3000), check(16, 0)]
    const [life] = judge(history({ calibrations: [calibration({ points })], observations })).lives
    expect(life?.checks.map(({ at }) => at)).toEqual([daysOn(0), daysOn(16)])
  })

  it('is every weighing that was a point of no calibration, also of a later one', () => {
    const later = [
      point(14, 12_060, { takenAt: daysOn(80) }),
      point(38, 23_900, { takenAt: daysOn(80) }),
      point(60, 35_040, { takenAt: daysOn(80) }),
    ]
    const group = history({
      calibrations: [calibration(), calibration({ calibrationId: 501, calibratedAt: daysOn(80) + 1, points: later })],
      observations: [...checks(quiet), ...later],
    })
    expect(judge(group).lives.map((life) => life.checks.length)).toEqual([4, 0])
  })

  it('is taken up anew by a recalibration: misses of the line before say nothing about the new one', () => {
    const moved = [
      point(14, 12_060, { takenAt: daysOn(100) }),
      point(38, 23_900, { takenAt: daysOn(100) }),
      point(60, 35_040, { takenAt: daysOn(100) }),
    ]
    const calibrations = [calibration(), calibration({ calibrationId: 501, calibratedAt: daysOn(100), points: moved })]
    const observations = [...checks([0, 0, 1000, 1000, 1000]), ...checks([1000, 1020, 980], 116)]
    const judged = judge(history({ calibrations, observations }), { asOf: daysOn(200) })
    expect(codes(judged)).not.toContain('checks-drifting')
    expect(judged.current?.calibration.calibrationId).toBe(501)
    expect(judged.trails[0]?.standing).toBe('moved')
  })

  it('ends with recorded work: what comes after it does not accuse the old line', () => {
    const events = [event('spring replaced', daysOn(70))]
    const judged = judgedAfter(checks([...quiet, 2000, 2000, 2000]), { events })
    expect(codes(judged)).toEqual(['event-since-calibration'])
    expect(judged.lives[0]).toMatchObject({ brokenAt: daysOn(70) })
    expect(judged.lives[0]?.checks).toHaveLength(4)
  })

  it('is not ended by work of the morning of its weighings, where the calibration was dated at midnight', () => {
    const points = goodPoints().map((each, i) => ({ ...each, takenAt: daysOn(0.4 + i / 10) }))
    const group = history({
      calibrations: [calibration({ points })],
      events: [event('valve replaced', daysOn(0.3))],
      observations: [...points, ...checks(quiet)],
    })
    const judged = judge(group, { asOf: daysOn(100) })
    expect([judged.trust, codes(judged)]).toEqual(['sound', []])
    expect(judged.lives[0]?.checks).toHaveLength(4)
    const later = { ...group, events: [event('valve replaced', daysOn(0.7))] }
    expect(judge(later, { asOf: daysOn(100) }).trust).toBe('upset')
  })

  it('goes on through work that changes no line', () => {
    expect(
      codes(judgedAfter(checks([...quiet, 1000, 1000, 1000]), { events: [event('air line repaired', daysOn(70))] })),
    ).toContain('checks-drifting')
  })

  it('leaves out readings with the lift axle otherwise', () => {
    const points = goodPoints().map((each) => ({ ...each, lift: 'raised' as const }))
    const calibrations = [calibration({ points })]
    const raised = checks(quiet).map((each) => ({ ...each, lift: 'raised' as const }))
    const lowered = checks([2000, 2000, 2000], 80).map((each) => ({ ...each, lift: 'lowered' as const }))
    expect(codes(judgedAfter([...raised, ...lowered], { calibrations }))).toEqual(['lift-state-mismatch'])
    const unsaid = checks([2000, 2000, 2000], 80)
    expect(codes(judgedAfter([...raised, ...unsaid], { calibrations }))).toContain('checks-drifting')
  })

  it('compares nothing that lacks a circuit of its line: the mean without it is another pressure', () => {
    const circuits = [
      circuit({ name: 'left' }),
      circuit({ circuitId: 101, name: 'right', mounts: [mount({ serial: 'S-2' })] }),
    ]
    const both = goodPoints().map((each) => ({ ...each, psi: [each.psi[0] as number, each.psi[0] as number] }))
    const calibrations = [calibration({ points: both })]
    // The right side stands 6 psi lower: the left alone would miss by half of that, 1,500 lb, each time.
    const sides = checks([...quiet, ...quiet]).map((each) => ({ ...each, psi: [61, 55] }))
    const left = sides.map((each) => ({ ...each, psi: [61, null] }))
    const judged = judgedAfter(sides, { circuits, calibrations })
    expect(judged.lives[0]?.checks.map(({ psi }) => psi)).toEqual(sides.map(() => 58))
    const without = judgedAfter(left, { circuits, calibrations })
    expect(without.lives[0]?.checks).toEqual([])
    // Nothing can be weighed with it as it is read now, and that is told.
    expect(codes(without)).toEqual(['one-circuit-read'])
    expect(without.trust).toBe('doubtful')
    expect(without.findings[0]).toMatchObject({
      severity: 'warn',
      circuitId: 101,
      numbers: { readings: 8, circuits: 2 },
    })
  })

  it('never counts what a mistyped ticket says', () => {
    const typed = { ...check(80, 0), weightLb: 30_300 }
    const judged = judgedAfter([...checks(quiet), typed, ...checks([0, 40, -60], 96)])
    expect(lineLb(58)).toBe(33_000)
    expect(codes(judged)).toEqual(['digits-transposed'])
    expect(judged.trust).toBe('sound')
    const [trail] = judged.trails
    const without = judgedAfter([...checks(quiet), ...checks([0, 40, -60], 96)]).trails[0]
    if (!trail || !without) throw new Error('no line')
    const best = (each: typeof trail) => bestWeight(each, 60, daysOn(200))
    expect(Math.abs(best(trail).weightLb - best(without).weightLb)).toBeLessThan(5)
    expect(Math.abs(best(trail).u / best(without).u - 1)).toBeLessThan(0.05)
    expect(trail.steps.at(-1)?.cusum.high).toBeCloseTo(without.steps.at(-1)?.cusum.high as number, 1)
  })
})
