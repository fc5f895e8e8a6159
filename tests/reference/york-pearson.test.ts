import { expect, it } from 'vitest'
import { fitLine } from '#core/line/fit.ts'
import { halfUnit, pointsOf, relativeError } from '#tests/reference/closeness.ts'
import york from '#tests/reference/york-pearson.json' with { type: 'json' }

const { data, published, computed } = york
const spread = (weights: readonly number[]) => weights.map((weight) => 1 / Math.sqrt(weight))
const fitted = fitLine(pointsOf(data.x, data.y, spread(data.weight_x), spread(data.weight_y)))
if (!fitted.ok) throw new Error(fitted.problem.message)
const fit = fitted.value

it("agrees with York et al. (2004), Table II, on Pearson's data with York's weights (1e-7 in a and b, the printed digits elsewhere)", () => {
  expect(Math.abs(fit.a - published.a)).toBeLessThan(1e-7)
  expect(Math.abs(fit.b - published.b)).toBeLessThan(1e-7)
  expect(Math.abs(fit.uA - published.u_a)).toBeLessThan(1e-5)
  expect(Math.abs(fit.uB - published.u_b)).toBeLessThan(1e-5)
  expect(Math.abs(fit.chi2 / fit.dof - published.S_over_n_minus_2)).toBeLessThan(halfUnit(5))
})

it('agrees with the slopes and intercepts of Williamson, Reed and Lybanon on the same data', () => {
  const { Williamson, Reed, Lybanon } = published.others
  expect(relativeError(fit.a, Williamson.a)).toBeLessThan(1e-11)
  expect(relativeError(fit.b, Williamson.b)).toBeLessThan(1e-10)
  expect(relativeError(fit.a, Reed.a)).toBeLessThan(1e-8)
  expect(relativeError(fit.b, Reed.b)).toBeLessThan(1e-8)
  expect(relativeError(fit.a, Lybanon.a)).toBeLessThan(1e-8)
  expect(relativeError(fit.b, Lybanon.b)).toBeLessThan(1e-7)
})

it('agrees with an independent recomputation to 1e-10 relative', () => {
  expect(relativeError(fit.a, computed.a)).toBeLessThan(1e-10)
  expect(relativeError(fit.b, computed.b)).toBeLessThan(1e-10)
  expect(relativeError(fit.uA, computed.u_a)).toBeLessThan(1e-10)
  expect(relativeError(fit.uB, computed.u_b)).toBeLessThan(1e-10)
  expect(relativeError(fit.covAB, computed.cov_ab)).toBeLessThan(1e-10)
  expect(relativeError(fit.chi2, computed.chi2)).toBeLessThan(1e-10)
  expect(fit.dof).toBe(computed.dof)
})
