import { describe, expect, it } from 'vitest'
import type { ScaleEffect } from '#core/evidence/estimates.ts'
import type { ScaleFacts } from '#core/evidence/history.ts'
import { scaleStandings, scaleVerdict } from '#core/evidence/scales/scale-standing.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { crossCheckWords, tiedWords } from '#core/words/sentences/scales.ts'

const scaleOf = (scaleId: number): ScaleFacts => ({
  scaleId,
  name: `Scale ${scaleId}`,
  divisionLb: 20,
  elevationFt: null,
  tolerancePercent: 0.2,
})

/** Effects of scales 1 to n with a covariance given row by row, in units of (0.1 %)². */
function effectsOf(covariance: readonly (readonly number[])[], weighings: readonly number[]): Map<number, ScaleEffect> {
  return new Map(
    covariance.map((row, i) => [
      i + 1,
      {
        scaleId: i + 1,
        key: String(i + 1),
        gain: 0,
        u: 1e-3 * Math.sqrt(row[i] as number),
        covariance: Object.fromEntries(row.map((value, j) => [j + 1, value * 1e-6])),
        known: true,
        weighings: weighings[i] as number,
        groups: 10,
        since: 0,
        before: null,
      },
    ]),
  )
}
const standingsOf = (covariance: readonly (readonly number[])[], weighings: readonly number[]) =>
  scaleStandings(
    weighings.map((_, i) => scaleOf(i + 1)),
    { scales: effectsOf(covariance, weighings) },
    defaultHouseRules,
  )

describe('the verdict on a scale', () => {
  const verdict = (gain: number, u: number, known = true) => scaleVerdict({ gain, u, known }, 0.2, defaultHouseRules)

  it('is sure only where the whole 95 % interval agrees', () => {
    expect(verdict(0.0009, 0.0005)).toBe('within tolerance')
    expect(verdict(-0.0011, 0.0005)).toBe('too close to call')
    expect(verdict(-0.0029, 0.0005)).toBe('too close to call')
    expect(verdict(-0.0031, 0.0005)).toBe('beyond tolerance')
    expect(verdict(0.0041, 0.0005)).toBe('biased')
    expect(verdict(0.0041, 0.0015)).toBe('too close to call')
    expect(verdict(0.0041, 0.0005, false)).toBe('not known')
  })
})

describe('scales that cannot be told apart', () => {
  // Two yards, each with two scales that its own units are weighed on; nothing links the yards.
  const { scales, crossCheck } = standingsOf(
    [
      [0.7, 0.68, 0, 0],
      [0.68, 0.7, 0, 0],
      [0, 0, 0.7, 0.68],
      [0, 0, 0.68, 0.7],
    ],
    [100, 300, 200, 100],
  )

  it('are those whose difference is not known to within a tolerance', () => {
    expect(scales.map(({ tiedTo }) => tiedTo.toSorted())).toEqual([
      [3, 4],
      [3, 4],
      [1, 2],
      [1, 2],
    ])
  })

  it('are best told apart by a unit weighed on one of each', () => {
    const [one = 0, other = 0] = crossCheck?.scaleIds ?? []
    expect([one <= 2, other <= 2].toSorted()).toEqual([false, true])
    expect(crossCheck?.uNow).toBeCloseTo(1e-3 * Math.sqrt(1.4), 9)
    // Two tickets of 20 lb divisions and 40 lb of repeatability at 34,000 lb measure the difference to 0.168 %.
    const uTickets = (Math.SQRT2 * Math.hypot(20 / Math.sqrt(12), 40)) / 34_000
    expect(crossCheck?.uAfter).toBeCloseTo(1 / Math.sqrt(1 / 1.4e-6 + 1 / uTickets ** 2), 9)
  })

  it('are not looked for among scales that nobody weighs on, and no cross-check is asked for a known difference', () => {
    const known = standingsOf(
      [
        [0.7, 0.68, 0],
        [0.68, 0.7, 0],
        [0, 0, 1.3],
      ],
      [100, 300, 0],
    )
    expect(known.scales.map(({ tiedTo }) => tiedTo)).toEqual([[], [], []])
    expect(known.crossCheck).toBeNull()
  })
})

describe('words about scales', () => {
  it('say each pair once', () => {
    expect(
      tiedWords([
        { scale: 'Mill', tiedTo: ['Pit', 'Yard'] },
        { scale: 'Pit', tiedTo: ['Mill'] },
        { scale: 'Yard', tiedTo: ['Mill'] },
        { scale: 'Dock', tiedTo: [] },
      ]),
    ).toEqual(['Mill cannot be told apart from Pit and Yard: too few units are weighed on both.'])
    expect(tiedWords([])).toEqual([])
  })

  it('name the cross-check with 95 % before and after', () => {
    expect(crossCheckWords({ scales: ['Mill', 'Pit'], uNowPercent: 0.16, uAfterPercent: 0.1 })).toBe(
      'Weighing one loaded unit on Mill and right after on Pit would tell most about the scales: their difference, known to ± 0.32 %, would be known to ± 0.20 %.',
    )
  })
})
