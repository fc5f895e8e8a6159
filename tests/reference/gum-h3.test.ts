import { expect, it } from 'vitest'
import { fitLine } from '#core/line/fit.ts'
import { predictWeight } from '#core/line/predict.ts'
import { halfUnit, relativeError } from '#tests/reference/closeness.ts'
import gum from '#tests/reference/gum-h3.json' with { type: 'json' }

const { data, published, computed } = gum

function fitWith(uy: number) {
  const fitted = fitLine(
    data.t_reading_degC.map((t, i) => ({ x: t - data.t0_degC, y: data.correction_b_degC[i] as number, ux: 0, uy })),
  )
  if (!fitted.ok) throw new Error(fitted.problem.message)
  return fitted.value
}

// The example takes the uncertainty of a point from the residuals: fitted once with 1 to find them, then with what was
// found.
const plain = fitWith(1)
const s = Math.sqrt(plain.chi2 / plain.dof)
const fit = fitWith(s)
const at30 = predictWeight(fit, 30 - data.t0_degC)

it('gives the intercept, slope, their uncertainties and correlation of GUM H.3.3 (JCGM 100:2008; the printed digits)', () => {
  expect(Math.abs(s - published.s)).toBeLessThan(halfUnit(4))
  expect(plain.dof).toBe(published.dof)
  expect(Math.abs(fit.a - published.y1)).toBeLessThan(halfUnit(4))
  expect(Math.abs(fit.uA - published.s_y1)).toBeLessThan(halfUnit(4))
  expect(Math.abs(fit.b - published.y2)).toBeLessThan(halfUnit(5))
  expect(Math.abs(fit.uB - published.s_y2)).toBeLessThan(halfUnit(5))
  expect(Math.abs(fit.covAB / (fit.uA * fit.uB) - published.r_y1_y2)).toBeLessThan(halfUnit(2))
})

it('predicts the correction at 30 degC, outside the data, with the correlation (GUM H.3.4; the printed digits)', () => {
  expect(Math.abs(at30.value - published.b_at_30)).toBeLessThan(halfUnit(4))
  expect(Math.abs(at30.u - published.u_b_at_30)).toBeLessThan(halfUnit(4))
})

it('agrees with an independent recomputation to 1e-10 relative', () => {
  expect(relativeError(s, computed.s)).toBeLessThan(1e-10)
  expect(relativeError(fit.a, computed.y1)).toBeLessThan(1e-10)
  expect(relativeError(fit.uA, computed.s_y1)).toBeLessThan(1e-10)
  expect(relativeError(fit.b, computed.y2)).toBeLessThan(1e-10)
  expect(relativeError(fit.uB, computed.s_y2)).toBeLessThan(1e-10)
  expect(relativeError(fit.covAB / (fit.uA * fit.uB), computed.r_y1_y2)).toBeLessThan(1e-10)
  expect(relativeError(at30.value, computed.b_at_30)).toBeLessThan(1e-10)
  expect(relativeError(at30.u, computed.u_b_at_30)).toBeLessThan(1e-10)
})
