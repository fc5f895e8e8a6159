import { describe, expect, it } from 'vitest'
import type { GroupHistory } from '#core/evidence/history.ts'
import { hardwareSlope } from '#core/findings/line-findings.ts'
import {
  calibratedAt,
  calibration,
  circuit,
  find,
  goodPoints,
  history,
  judge,
  judgeFleet,
  point,
} from '#tests/unit/group-history.ts'

/** Three points on a line of its own. */
const on = (a: number, b: number) => [14, 38, 60].map((psi) => point(psi, Math.round((a + b * psi) / 20) * 20))
const withLine = (a: number, b: number, change: Partial<GroupHistory> = {}) =>
  history({ calibrations: [calibration({ points: on(a, b) })], ...change })

describe('hardwareSlope', () => {
  it('is springs times area over all circuits, unknown where either is', () => {
    expect(
      hardwareSlope(
        history({
          circuits: [circuit({ airSprings: 4, springAreaIn2: 60 }), circuit({ airSprings: 2, springAreaIn2: 50 })],
        }),
      ),
    ).toBe(340)
    expect(hardwareSlope(history({ circuits: [circuit(), circuit({ springAreaIn2: null })] }))).toBeNull()
    expect(hardwareSlope(history({ circuits: [circuit({ airSprings: null })] }))).toBeNull()
    expect(hardwareSlope(history({ circuits: [] }))).toBeNull()
  })
})

describe('slope-implausible', () => {
  it('compares the line with what its air springs can carry: 4 springs of 60 in² are 240 lb per psi', () => {
    const steep = find(withLine(4000, 640), 'slope-implausible')
    expect(steep).toMatchObject({
      severity: 'warn',
      groupId: 10,
      since: calibratedAt,
      numbers: { hardware_lb_per_psi: 240, low: 0.4, high: 2.5 },
    })
    expect(steep?.numbers['ratio'] as number).toBeCloseTo(640 / 240, 2)
    expect(steep?.message).toBe(
      'The line of 2025-03-01 gains 640 lb per psi, 2.67 times what its air springs can carry for that pressure.',
    )
    expect(find(withLine(9000, 80), 'slope-implausible')?.message).toContain('gains 80 lb per psi, 0.33 times')
  })

  it('keeps quiet between the bounds of the House Rules', () => {
    for (const slope of [100, 240, 500, 595]) expect(find(withLine(4000, slope), 'slope-implausible')).toBeUndefined()
    expect(find(withLine(4000, 500), 'slope-implausible', { rules: { slopeRatioHigh: 2 } })).toBeDefined()
    expect(find(withLine(4000, 240), 'slope-implausible', { rules: { slopeRatioLow: 1 } })).toBeUndefined()
  })

  it('needs to know the hardware, but for a line that falls', () => {
    const unknown = { circuits: [circuit({ springAreaIn2: null })] }
    expect(find(withLine(4000, 900, unknown), 'slope-implausible')).toBeUndefined()
    const falling = find(withLine(40_000, -300, unknown), 'slope-implausible')
    expect(falling?.message).toBe('The line of 2025-03-01 falls as pressure rises (-300 lb per psi).')
    expect(judge(withLine(40_000, -300)).trust).toBe('doubtful')
  })
})

describe('line-unlike-family', () => {
  const slopes = [492, 497, 500, 503, 495, 505, 499, 501, 498]
  const family = (odd: GroupHistory | undefined) => [
    ...slopes.map((slope, i) => withLine(4000 + 20 * (i - 4), slope, { groupId: 100 + i, unitId: 100 + i })),
    ...(odd ? [odd] : []),
  ]
  const toldOf = (odd: GroupHistory, rules = {}) =>
    judgeFleet(family(odd), { rules })
      .groups.at(-1)
      ?.findings.find(({ code }) => code === 'line-unlike-family')

  it('tells a line that lies apart from those of the same springs', () => {
    const found = toldOf(withLine(4000, 590))
    expect(found).toMatchObject({ severity: 'warn', since: calibratedAt, numbers: { family_lines: 10 } })
    expect(found?.numbers['family_slope_lb_per_psi'] as number).toBeCloseTo(500, -1)
    expect(found?.message).toMatch(
      /^The line of 2025-03-01 rises by 590 lb per psi; 10 groups with the same springs lie around (49\d|50\d) lb per psi\.$/,
    )
  })

  it('tells one that starts elsewhere', () => {
    expect(toldOf(withLine(9000, 500))?.message).toMatch(
      /^The line of 2025-03-01 starts at (8,9\d0|9,0\d0) lb; 10 groups with the same springs lie around (3,9\d0|4,0\d0) lb\.$/,
    )
  })

  it('accuses nobody else, and none of a family that is of one mind', () => {
    const all = judgeFleet(family(withLine(4000, 590))).groups
    expect(all.slice(0, -1).flatMap(({ findings }) => findings.map(({ code }) => code))).toEqual([])
    expect(judgeFleet(family(undefined)).groups.flatMap(({ findings }) => findings.map(({ code }) => code))).toEqual([])
  })

  it("counts the line's own uncertainty: a line of two close points is not condemned for its slope", () => {
    const close = [point(50, 29_000), point(56, 32_540)]
    expect(toldOf(history({ calibrations: [calibration({ points: close })] }))).toBeUndefined()
  })

  it('does not compare with other hardware, or with fewer than eight lines', () => {
    expect(toldOf(withLine(4000, 590, { role: 'trailer' }))).toBeUndefined()
    const small = judgeFleet(family(withLine(4000, 590)).slice(-7)).groups.at(-1)
    expect(small?.findings.map(({ code }) => code)).toEqual([])
  })

  it('follows the House Rules distance', () => {
    expect(toldOf(withLine(4000, 590), { familyDistance: 20 })).toBeUndefined()
    expect(toldOf(history({ calibrations: [calibration({ points: goodPoints() })] }))).toBeUndefined()
  })
})
