import { describe, expect, it } from 'vitest'
import { fitLine } from '#core/line/fit.ts'
import { predictWeight, pressureAtWeight } from '#core/line/predict.ts'
import { halfUnit, pointsOf, relativeError } from '#tests/reference/closeness.ts'
import standard from '#tests/reference/straight-line-calibration.json' with { type: 'json' }

const { data, published, computed } = standard

function fitOf({ x, y, ux, uy }: typeof data.gdr) {
  const fitted = fitLine(pointsOf(x, y, ux, uy))
  if (!fitted.ok) throw new Error(fitted.problem.message)
  return fitted.value
}

describe('ISO/TS 28037:2010, weighted least squares (clause 6 example)', () => {
  const fit = fitOf(data.wls_equal)

  it('gives the printed coefficients, uncertainties and covariance (half a unit in the third decimal)', () => {
    const printed = published.wls_equal
    expect(Math.abs(fit.a - printed.a)).toBeLessThan(halfUnit(3))
    expect(Math.abs(fit.b - printed.b)).toBeLessThan(halfUnit(3))
    expect(Math.abs(fit.uA - printed.u_a)).toBeLessThan(halfUnit(3))
    expect(Math.abs(fit.uB - printed.u_b)).toBeLessThan(halfUnit(3))
    expect(Math.abs(fit.covAB - printed.cov_ab)).toBeLessThan(halfUnit(3))
    expect(Math.abs(fit.chi2 - printed.chi2)).toBeLessThan(halfUnit(3))
    expect(fit.dof).toBe(printed.dof)
    expect(Math.abs((fit.chi2Limit95 ?? 0) - printed.chi2_95)).toBeLessThan(halfUnit(3))
  })

  it('agrees with an independent recomputation to 1e-9 relative', () => {
    const full = computed.wls_equal
    expect(relativeError(fit.a, full.a)).toBeLessThan(1e-9)
    expect(relativeError(fit.b, full.b)).toBeLessThan(1e-9)
    expect(relativeError(fit.uA, full.u_a)).toBeLessThan(1e-9)
    expect(relativeError(fit.uB, full.u_b)).toBeLessThan(1e-9)
    expect(relativeError(fit.covAB, full.cov_ab)).toBeLessThan(1e-9)
    expect(relativeError(fit.chi2, full.chi2)).toBeLessThan(1e-9)
    expect(relativeError(fit.chi2Limit95 ?? 0, computed.chi2_95_dof4)).toBeLessThan(1e-12)
  })

  it('predicts x from y (11.1, example 1)', () => {
    const { y, u_y } = data.prediction_from_wls_equal
    const { value, u } = pressureAtWeight(fit, y, u_y)
    expect(Math.abs(value - published.prediction_from_wls_equal.x)).toBeLessThan(halfUnit(3))
    expect(Math.abs(u - published.prediction_from_wls_equal.u_x)).toBeLessThan(halfUnit(3))
    expect(relativeError(value, computed.prediction_from_wls_equal.x)).toBeLessThan(1e-9)
    expect(relativeError(u, computed.prediction_from_wls_equal.u_x)).toBeLessThan(1e-9)
  })

  it.each(['forward_from_wls_equal', 'forward_from_wls_equal_2'] as const)(
    'evaluates y at an uncertain x (11.2; %s)',
    (name) => {
      const { value, u } = predictWeight(fit, data[name].x, data[name].u_x)
      expect(Math.abs(value - published[name].y)).toBeLessThan(halfUnit(3))
      expect(Math.abs(u - published[name].u_y)).toBeLessThan(halfUnit(3))
      expect(relativeError(value, computed[name].value)).toBeLessThan(1e-9)
      expect(relativeError(u, computed[name].u)).toBeLessThan(1e-9)
    },
  )
})

describe('ISO/TS 28037:2010, generalised distance regression (clause 7 example)', () => {
  const fit = fitOf(data.gdr)

  it('gives the printed coefficients, uncertainties and covariance (half a unit in the fourth decimal)', () => {
    const printed = published.gdr
    expect(Math.abs(fit.a - printed.a)).toBeLessThan(halfUnit(4))
    expect(Math.abs(fit.b - printed.b)).toBeLessThan(halfUnit(4))
    expect(Math.abs(fit.uA - printed.u_a)).toBeLessThan(halfUnit(4))
    expect(Math.abs(fit.uB - printed.u_b)).toBeLessThan(halfUnit(4))
    expect(Math.abs(fit.covAB - printed.cov_ab)).toBeLessThan(halfUnit(4))
    expect(Math.abs(fit.chi2 - printed.chi2)).toBeLessThan(halfUnit(3))
    expect(fit.dof).toBe(printed.dof)
  })

  it('agrees with an independent, fully converged recomputation to 1e-9 relative', () => {
    const full = computed.gdr_fully_converged
    expect(relativeError(fit.a, full.a)).toBeLessThan(1e-9)
    expect(relativeError(fit.b, full.b)).toBeLessThan(1e-9)
    expect(relativeError(fit.uA, full.u_a)).toBeLessThan(1e-9)
    expect(relativeError(fit.uB, full.u_b)).toBeLessThan(1e-9)
    expect(relativeError(fit.covAB, full.cov_ab)).toBeLessThan(1e-9)
    expect(relativeError(fit.chi2, full.chi2)).toBeLessThan(1e-9)
  })
})
