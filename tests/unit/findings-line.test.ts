import { describe, expect, it } from 'vitest'
import { tailBound, worstPoint } from '#core/findings/line-findings.ts'
import { lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import { chiSquaredQuantile } from '#core/line/statistics.ts'
import {
  calibratedAt,
  calibration,
  checks,
  find,
  goodPoints,
  history,
  judge,
  point,
} from '#tests/unit/group-history.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { Random } from '#demo/simulation/random.ts'

const on = (points: ReturnType<typeof goodPoints>) => history({ calibrations: [calibration({ points })] })

describe('two-point-line', () => {
  it('fires with two points and not with three', () => {
    const finding = find(on([point(14, 11_060), point(60, 34_040)]), 'two-point-line')
    expect(finding).toMatchObject({ severity: 'warn', groupId: 10, since: calibratedAt, numbers: { points: 2 } })
    expect(finding?.message).toBe(
      'The line of 2025-03-01 has two points only and no check weighing has tested it: nothing would show a slip in either.',
    )
    expect(find(on(goodPoints()), 'two-point-line')).toBeUndefined()
  })

  it('takes trust away until a check has tested it, and is a note from then on', () => {
    const two = on([point(14, 11_060), point(60, 34_040)])
    expect(judge(two).trust).toBe('doubtful')
    const tested = history({ calibrations: two.calibrations, observations: checks([40, -60]) })
    expect(judge(tested).trust).toBe('sound')
    expect(find(tested, 'two-point-line')).toMatchObject({ severity: 'note' })
    expect(find(tested, 'two-point-line')?.message).toBe(
      'The line of 2025-03-01 has two points only: it fits them exactly and cannot show a slip.',
    )
  })
})

describe('short-span', () => {
  it('fires when the weights lie closer than the House Rules ask: 35 % of 34,000 lb is 11,900 lb', () => {
    const finding = find(on([point(37, 22_500), point(50, 29_000), point(60, 34_000)]), 'short-span')
    expect(finding).toMatchObject({
      severity: 'warn',
      since: calibratedAt,
      numbers: {
        span_lb: 11_500,
        heaviest_lb: 34_000,
        limit_lb: 34_000,
        span_asked_percent: 35,
        top_asked_percent: 60,
      },
    })
    expect(finding?.message).toBe(
      'The calibration weights lie only 11,500 lb apart; 35 % of the 34,000 lb limit is asked for, so weights near the limit are a guess beyond the points.',
    )
  })

  it('does not fire at exactly the span and exactly the top that are asked for', () => {
    expect(find(on([point(36.2, 22_100), point(60, 34_000)]), 'short-span')).toBeUndefined()
    expect(find(on([point(36.2, 22_101), point(60, 34_000)]), 'short-span')).toBeDefined()
    expect(find(on([point(8, 8000), point(32.8, 20_400)]), 'short-span')).toBeUndefined()
    expect(find(on([point(8, 8000), point(32.8, 20_399)]), 'short-span')?.message).toMatch(
      /^The heaviest calibration weight is 20,399 lb, far below the 34,000 lb limit/,
    )
  })

  it('takes the limit of the law where the group has none on record: 34,000 lb for a tandem (23 U.S.C. 127)', () => {
    const points = [point(8, 8000), point(31, 19_500)]
    expect(
      find(history({ limitLb: null, calibrations: [calibration({ points })] }), 'short-span')?.numbers,
    ).toMatchObject({ limit_lb: 34_000 })
    expect(find(history({ limitLb: 30_000, calibrations: [calibration({ points })] }), 'short-span')).toBeUndefined()
  })

  it('follows the House Rules', () => {
    const points = [point(37, 22_500), point(60, 34_000)]
    expect(find(on(points), 'short-span', { rules: { shortSpanPercent: 30 } })).toBeUndefined()
    expect(find(on(goodPoints()), 'short-span', { rules: { topLoadPercent: 100 } })).toBeUndefined()
  })
})

describe('points-disagree', () => {
  const bent = () => [point(14, 11_060), point(38, 24_500), point(60, 34_040)]

  it('fires on points that do not lie on one line, names the worst and takes trust to doubtful', () => {
    const points = bent()
    const { findings, trust } = judge(on(points))
    const finding = findings.find(({ code }) => code === 'points-disagree')
    expect(finding).toMatchObject({ severity: 'warn', since: calibratedAt, ticketId: points[1]?.ticketId, scaleId: 7 })
    expect(finding?.message).toMatch(
      /^The 3 points of the line of 2025-03-01 do not lie on one line: 24,500 lb at 38\.0 psi is 960 lb above it\.$/,
    )
    expect(finding?.numbers).toMatchObject({
      dof: 1,
      worst_weight_lb: 24_500,
      worst_pressure_psi: 38,
      chi2_95: chiSquaredQuantile(0.95, 1),
      chi2_limit: tailBound(0.003, 3, 1, lineNoiseOf(defaultHouseRules)),
    })
    expect(Number(finding?.numbers['chi2'])).toBeGreaterThan(Number(finding?.numbers['chi2_limit']))
    expect(trust).toBe('doubtful')
  })

  it('says below for a point below', () => {
    expect(find(on([point(14, 11_060), point(38, 21_000), point(60, 34_040)]), 'points-disagree')?.message).toContain(
      'below it',
    )
  })

  it('stays silent between the 95 % quantile, where the line is widened, and the House Rules confidence', () => {
    for (let middle = 22_900; middle < 25_000; middle += 10) {
      const { current, findings } = judge(on([point(14, 11_060), point(38, middle), point(60, 34_040)]))
      if (!current) throw new Error('no line')
      const told = findings.some(({ code }) => code === 'points-disagree')
      expect(told).toBe(current.fit.chi2 > tailBound(0.003, 3, 1, lineNoiseOf(defaultHouseRules)))
      expect(current.widenedBy > 1).toBe(current.fit.chi2 > chiSquaredQuantile(0.95, 1))
    }
  })

  it('follows the House Rules confidence', () => {
    const points = [point(14, 11_060), point(38, 23_600), point(60, 34_040)]
    expect(find(on(points), 'points-disagree', { rules: { disagreeConfidence: 90 } })).toBeDefined()
    expect(find(on(points), 'points-disagree', { rules: { disagreeConfidence: 99.999 } })).toBeUndefined()
  })

  it('grants a settling out of the ordinary what it does: chance passes the bound as rarely as is said', () => {
    // Residuals of straight lines through five equally sure points, one settling in twenty 3.5 times as wild.
    const random = new Random('tail bound')
    const noise = { ...lineNoiseOf(defaultHouseRules), tailShare: 0.05, tailScale: 3.5 }
    const x = [-2, -1, 0, 1, 2]
    const chi2s = Array.from({ length: 40_000 }, () => {
      const e = x.map(() => random.normal(random.chance(noise.tailShare) ? noise.tailScale : 1))
      const mean = e.reduce((sum, one) => sum + one, 0) / 5
      const slope = e.reduce((sum, one, i) => sum + one * (x[i] as number), 0) / 10
      return e.reduce((sum, one, i) => sum + (one - mean - slope * (x[i] as number)) ** 2, 0)
    })
    const beyond = (bound: number) => chi2s.filter((one) => one > bound).length / chi2s.length
    expect(beyond(chiSquaredQuantile(0.997, 3))).toBeGreaterThan(0.05)
    expect(beyond(tailBound(0.003, 5, 3, noise))).toBeLessThan(0.006)
    expect(beyond(tailBound(0.003, 5, 3, noise))).toBeGreaterThan(0.0003)
  })

  it('cannot fire on two points', () => {
    expect(find(on([point(14, 11_060), point(15, 30_000)]), 'points-disagree')).toBeUndefined()
  })

  it('judges residuals by their own uncertainty', () => {
    const { current } = judge(on(bent()))
    if (!current) throw new Error('no line')
    expect(worstPoint(current).place).toBe(1)
    const points = current.points.map((each, i) => (i === 1 ? { ...each, ux: 100 } : each))
    expect(worstPoint({ ...current, points }).place).not.toBe(1)
  })
})
