import { describe, expect, it } from 'vitest'
import { type SurvivalStep, fitWeibull, survivalCurve, weibullSurvival } from '#core/cells/survival.ts'
import { halfUnit, relativeError } from '#tests/reference/closeness.ts'
import survival from '#tests/reference/survival.json' with { type: 'json' }

const watched = (times: readonly number[], events: readonly number[]) =>
  times.map((days, i) => ({ days, died: events[i] === 1 }))
const sixMp = watched(survival.data.six_mp.time_weeks, survival.data.six_mp.event)
const placebo = watched(survival.data.placebo.time_weeks, survival.data.placebo.event)
const nist = watched(survival.data.nist_weibull.time_h, survival.data.nist_weibull.event)

describe('product-limit curve', () => {
  it('agrees with the printed 6-MP remission curve (Freireich et al. 1963; half a unit in the third decimal)', () => {
    const { steps, medianDays } = survivalCurve(sixMp)
    expect(steps.map(({ days }) => days)).toEqual(survival.published.six_mp.t)
    steps.forEach((step, i) => {
      expect(Math.abs(step.survival - (survival.published.six_mp.S[i] as number))).toBeLessThanOrEqual(halfUnit(3))
    })
    expect(medianDays).toBe(survival.published.six_mp.median_weeks)
    expect(survivalCurve(placebo).medianDays).toBe(survival.published.placebo.median_weeks)
  })

  for (const [name, lives, table] of [
    ['6-MP', sixMp, survival.computed.six_mp_table],
    ['placebo', placebo, survival.computed.placebo_table],
  ] as const) {
    it(`agrees with R survival 3.5.3 on ${name}: numbers at risk, survival and Greenwood's error (1e-9)`, () => {
      const { steps } = survivalCurve(lives)
      expect(steps).toHaveLength(table.length)
      table.forEach((row, i) => {
        const step = steps[i] as SurvivalStep
        expect([step.days, step.atRisk, step.deaths]).toEqual([row.t, row.at_risk, row.events])
        expect(Math.abs(step.survival - row.S)).toBeLessThan(1e-9)
        expect([step.se === null, Math.abs((step.se ?? 0) - (row.se ?? 0)) < 1e-9]).toEqual([row.se === null, true])
      })
    })
  }

  it('keeps its log-log band: ln(-ln S) ± z se / (S |ln S|) at the first step', () => {
    const first = survivalCurve(sixMp).steps[0] as SurvivalStep
    const s = 18 / 21
    const half = (1.959963984540054 * Math.sqrt(3 / (21 * 18))) / Math.abs(Math.log(s))
    expect(first.lower).toBeCloseTo(Math.exp(-Math.exp(Math.log(-Math.log(s)) + half)), 12)
    expect(first.upper).toBeCloseTo(Math.exp(-Math.exp(Math.log(-Math.log(s)) - half)), 12)
  })
})

describe('Weibull law by maximum likelihood', () => {
  it('agrees with NIST 8.4.1.3: shape, scale and log-likelihood to the digits printed', () => {
    const fit = fitWeibull(nist)
    if (!fit.ok) throw new Error(fit.problem.message)
    const { scale_eta, shape_beta, loglik_magnitude, AIC } = survival.published.nist_weibull
    expect(Math.abs(fit.value.lifeDays - scale_eta)).toBeLessThanOrEqual(halfUnit(3))
    expect(Math.abs(fit.value.shape - shape_beta)).toBeLessThanOrEqual(halfUnit(4))
    expect(Math.abs(-fit.value.logLikelihood - loglik_magnitude)).toBeLessThanOrEqual(halfUnit(3))
    expect(Math.abs(4 - 2 * fit.value.logLikelihood - AIC)).toBeLessThanOrEqual(halfUnit(2))
  })

  it('agrees with R survival 3.5.3: both fits (1e-6) and the covariance (1e-5)', () => {
    for (const [lives, wanted] of [
      [nist, survival.computed.nist_weibull],
      [sixMp, survival.computed.six_mp_weibull_mle],
    ] as const) {
      const fit = fitWeibull(lives)
      if (!fit.ok) throw new Error(fit.problem.message)
      expect(relativeError(fit.value.lifeDays, wanted.scale_eta)).toBeLessThan(1e-6)
      expect(relativeError(fit.value.shape, wanted.shape_beta)).toBeLessThan(1e-6)
      expect(relativeError(fit.value.logLikelihood, wanted.loglik)).toBeLessThan(1e-6)
      if (!('cov_of_(ln eta, ln(1/beta))' in wanted)) continue
      const [[varLnLife, covWithScale], [, varLnShape]] = wanted['cov_of_(ln eta, ln(1/beta))'] as [
        [number, number],
        [number, number],
      ]
      expect(relativeError(fit.value.varLnLife, varLnLife)).toBeLessThan(1e-5)
      expect(relativeError(fit.value.varLnShape, varLnShape)).toBeLessThan(1e-5)
      expect(relativeError(fit.value.covLnLifeLnShape, -covWithScale)).toBeLessThan(1e-5)
    }
  })

  it('puts its band around the curve and never outside 0 to 1', () => {
    const fit = fitWeibull(nist)
    if (!fit.ok) throw new Error(fit.problem.message)
    for (const hours of [1, 50, 300, 606.5, 2000]) {
      const { lower, survival: middle, upper } = weibullSurvival(fit.value, hours)
      expect(lower).toBeGreaterThanOrEqual(0)
      expect(middle).toBeGreaterThanOrEqual(lower)
      expect(upper).toBeGreaterThanOrEqual(middle)
      expect(upper).toBeLessThanOrEqual(1)
    }
  })
})
