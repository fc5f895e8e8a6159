import { describe, expect, it } from 'vitest'
import { bridgeLimitLb } from '#core/evidence/limits.ts'
import { bridgeSets } from '#core/weight/bridge.ts'
import { exactWeight } from '#core/weight/correlated.ts'
import { placeAxles } from '#core/weight/ruler.ts'
import fhwa from '#tests/reference/fhwa-bridge-formula.json' with { type: 'json' }
import { weighBridgeSet } from '#tests/unit/weigh-bridge-set.ts'

const { published, computed, data } = fhwa

/**
 * The formula in whole numbers, 23 U.S.C. 127(a)(2): twice the number of 500-lb steps times (N - 1), and whether it
 * ties.
 */
function formula(axles: number, feet: number) {
  const gaps = axles - 1
  const numerator = feet * axles + (12 * axles + 36) * gaps
  const steps = Math.floor(numerator / gaps)
  const rest = numerator - steps * gaps
  return { isTie: 2 * rest === gaps, nearestLb: 500 * (2 * rest > gaps ? steps + 1 : steps) }
}

describe('the federal bridge formula (23 U.S.C. 127; FHWA-HOP-19-028)', () => {
  it.each(published.cells_read_L_N_W)('allows at %i ft %i axles %i lb, as printed', (feet, axles, limitLb) => {
    expect(bridgeLimitLb(axles as number, feet as number)).toBe(limitLb)
  })

  it('equals the California Vehicle Code 35551 rows of 2, 3 and 4 axles', () => {
    for (const [feet, row] of Object.entries(published.california_35551_rows_2_3_4_axles)) {
      for (const [i, limitLb] of row.entries())
        expect(bridgeLimitLb(i + 2, Number(feet)), `${feet} ft, ${i + 2} axles`).toBe(limitLb)
    }
  })

  it('equals the whole table of even lengths except exact ties', () => {
    let compared = 0
    for (const [feet, row] of Object.entries(computed.table_even_L_ft)) {
      for (const [i, limitLb] of row.entries()) {
        const axles = computed.table_columns_axles[i] as number
        if (limitLb === null || (Number(feet) > 8 && formula(axles, Number(feet)).isTie)) continue
        expect(bridgeLimitLb(axles, Number(feet)), `${feet} ft, ${axles} axles`).toBe(limitLb)
        compared += 1
      }
    }
    expect(compared).toBe(120)
  })

  it('equals the formula in whole numbers at every foot from 9 to 150 for 2 to 13 axles, capped at 20,000 an axle; a tie goes down', () => {
    for (let axles = 2; axles <= 13; axles += 1) {
      for (let feet = 9; feet <= 150; feet += 1) {
        expect(bridgeLimitLb(axles, feet), `${feet} ft, ${axles} axles`).toBe(
          Math.min(formula(axles, feet).nearestLb, 20_000 * axles),
        )
      }
    }
    expect(formula(3, 9)).toEqual({ isTie: true, nearestLb: 42_500 })
  })

  it('holds 34,000 up to 8 ft and the formula at 8 ft below 9 ft', () => {
    const { 2: two, 3: three } = computed.more_than_8_less_than_9
    for (const feet of [8.01, 8.4, 8.5, 8.99]) {
      expect(bridgeLimitLb(2, feet)).toBe(two)
      expect(bridgeLimitLb(3, feet)).toBe(three)
    }
    expect(bridgeLimitLb(3, 8)).toBe(data.limits_lb.tandem)
    expect(bridgeLimitLb(1, 0)).toBe(data.limits_lb.single_axle)
  })

  it('refuses what is no set of axles', () => {
    for (const [axles, feet] of [
      [0, 10],
      [2.5, 10],
      [51, 10],
      [3, -1],
      [3, 501],
      [3, Number.NaN],
    ] as const) {
      expect(() => bridgeLimitLb(axles, feet)).toThrow(RangeError)
    }
  })
})

/**
 * Tractor and trailer from five axle positions: steer, drive tandem, trailer tandem; the kingpin over the drive's
 * middle.
 */
function fiveAxles(positionsFt: readonly number[], weightsLb: readonly number[]) {
  const [, p2, p3, p4, p5] = positionsFt as [number, number, number, number, number]
  const kingpinFt = (p2 + p3) / 2
  const place = { group: 'G', limitLb: null }
  const ruler = placeAxles(
    [
      {
        unitId: 1,
        unit: 'T-1',
        kind: 'tractor',
        grossLimitLb: null,
        fifthWheelFt: kingpinFt,
        groups: [
          { ...place, groupId: 1, role: 'steer', axles: 1, firstAxleFt: 0, axleSpacingFt: null },
          { ...place, groupId: 2, role: 'drive', axles: 2, firstAxleFt: p2, axleSpacingFt: p3 - p2 },
        ],
      },
      {
        unitId: 2,
        unit: 'R-1',
        kind: 'trailer',
        grossLimitLb: null,
        fifthWheelFt: null,
        groups: [
          { ...place, groupId: 3, role: 'trailer', axles: 2, firstAxleFt: p4 - kingpinFt, axleSpacingFt: p5 - p4 },
        ],
      },
    ],
    'none',
  )
  const [w1, w2, w3, w4, w5] = weightsLb as [number, number, number, number, number]
  const weights = new Map([
    [1, exactWeight(w1)],
    [2, exactWeight(w2 + w3)],
    [3, exactWeight(w4 + w5)],
  ])
  return bridgeSets(ruler).map((set) => ({ ...set, weighed: weighBridgeSet(set, weights) }))
}

describe('five axles (worked example of FHWA-HOP-19-028)', () => {
  it('gives each span the printed actual and allowed weight', () => {
    const { axle_positions_ft, axle_weights_lb, checks } = published.worked_example_5_axle
    const sets = fiveAxles(axle_positions_ft, axle_weights_lb)
    expect(sets).toHaveLength(10)
    for (const check of checks) {
      const [first, last] = check.axles.split('-').map(Number)
      const set = sets.find(({ firstAxle, lastAxle }) => firstAxle === first && lastAxle === last)
      expect(set).toMatchObject({ lengthFt: check.L, axles: check.N, limitLb: check.allowed })
      expect(set?.weighed?.weightLb).toBeCloseTo(check.actual, 8)
      expect(set?.weighed?.pOver).toBe(check.ok ? 0 : 1)
    }
  })

  it('finds every set of the legal van within its limit, its two tandems 40 ft apart by the formula', () => {
    const { axle_positions_ft, axle_weights_lb } = published.legal_van
    const sets = fiveAxles(axle_positions_ft, axle_weights_lb)
    expect(sets.every(({ weighed }) => weighed?.pOver === 0)).toBe(true)
    expect(sets.find(({ name }) => name === 'inner bridge')).toMatchObject({
      firstAxle: 2,
      lastAxle: 5,
      limitLb: 68_500,
      basis: 'bridge formula',
    })
    expect(sets.find(({ name }) => name === 'outer bridge')).toMatchObject({
      firstAxle: 1,
      lastAxle: 5,
      limitLb: 80_000,
      basis: 'gross limit',
    })
  })

  it.each([
    [35.9, 66_000, 'bridge formula'],
    [36, 68_000, 'two tandems'],
    [37, 68_000, 'two tandems'],
    [38, 68_000, 'two tandems'],
    [39, 68_000, 'bridge formula'],
    [40, 68_500, 'bridge formula'],
  ])('allows two tandems %f ft apart %i lb by the %s (23 U.S.C. 127(a)(2))', (feet, limitLb, basis) => {
    const sets = fiveAxles(
      [0, 16, 20, 16 + (feet as number) - 4, 16 + (feet as number)],
      [12_000, 17_000, 17_000, 17_000, 17_000],
    )
    expect(sets.find(({ name }) => name === 'inner bridge')).toMatchObject({ limitLb, basis })
  })
})
