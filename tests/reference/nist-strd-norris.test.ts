import { expect, it } from 'vitest'
import { fitLine } from '#core/line/fit.ts'
import { relativeError } from '#tests/reference/closeness.ts'
import norris from '#tests/reference/nist-strd-norris.json' with { type: 'json' }

const { data, published } = norris

it('agrees with the certified values of NIST StRD Norris to 1e-11 relative; deviations scaled by the residuals', () => {
  const fitted = fitLine(data.x.map((x, i) => ({ x, y: data.y[i] as number, ux: 0, uy: 1 })))
  if (!fitted.ok) throw new Error(fitted.problem.message)
  const { a, b, uA, uB, chi2, dof } = fitted.value
  const residualSd = Math.sqrt(chi2 / dof)
  expect(relativeError(a, published.B0)).toBeLessThan(1e-11)
  expect(relativeError(b, published.B1)).toBeLessThan(1e-13)
  expect(dof).toBe(published.anova.residual_df)
  expect(relativeError(chi2, published.anova.residual_ss)).toBeLessThan(1e-11)
  expect(relativeError(residualSd, published.residual_sd)).toBeLessThan(1e-11)
  expect(relativeError(uA * residualSd, published.B0_sd)).toBeLessThan(1e-11)
  expect(relativeError(uB * residualSd, published.B1_sd)).toBeLessThan(1e-11)
})
