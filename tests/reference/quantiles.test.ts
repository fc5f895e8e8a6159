import { describe, expect, it } from 'vitest'
import { chiSquaredQuantile, standardNormalCdf, standardNormalQuantile } from '#core/line/statistics.ts'
import { halfUnit, relativeError } from '#tests/reference/closeness.ts'
import tables from '#tests/reference/quantiles.json' with { type: 'json' }

const { data, published } = tables

describe('chi-squared quantiles (NIST/SEMATECH e-Handbook 1.3.6.7.4; half a unit in the third decimal)', () => {
  it.each(Object.entries(published.chi2))('%s degrees of freedom', (dof, row) => {
    for (const [i, p] of data.chi2_p.entries()) {
      expect(Math.abs(chiSquaredQuantile(p, Number(dof)) - (row[i] as number))).toBeLessThan(halfUnit(3))
    }
  })

  it('agrees with the closed form -2 ln(1 - p) at two degrees of freedom', () => {
    for (const p of [0.01, 0.5, 0.95, 0.997, 0.99999])
      expect(relativeError(chiSquaredQuantile(p, 2), -2 * Math.log1p(-p))).toBeLessThan(1e-13)
  })

  it('is the square of the normal quantile at one degree of freedom', () => {
    for (const p of [0.5, 0.9, 0.95, 0.997])
      expect(relativeError(chiSquaredQuantile(p, 1), standardNormalQuantile((1 + p) / 2) ** 2)).toBeLessThan(1e-12)
  })

  it('gives the same answer when asked again', () => {
    expect(chiSquaredQuantile(0.95, 4)).toBe(chiSquaredQuantile(0.95, 4))
    expect(chiSquaredQuantile(0.95, 4)).not.toBe(chiSquaredQuantile(0.99, 4))
  })
})

describe('normal quantiles (NIST/SEMATECH e-Handbook 1.3.6.7.1; half a unit in the third decimal)', () => {
  it.each(Object.entries(published.normal))('p = %s', (p, z) => {
    expect(Math.abs(standardNormalQuantile(Number(p)) - z)).toBeLessThan(halfUnit(3))
    expect(standardNormalQuantile(1 - Number(p))).toBeCloseTo(-standardNormalQuantile(Number(p)), 12)
  })

  it('undoes the distribution function', () => {
    for (const z of [-3, -1, 0, 0.5, 2, 3]) expect(standardNormalQuantile(standardNormalCdf(z))).toBeCloseTo(z, 10)
    expect(standardNormalCdf(0)).toBe(0.5)
  })
})
