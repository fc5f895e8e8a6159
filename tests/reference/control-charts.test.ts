import tQuantile from '@stdlib/stats-base-dists-t-quantile'
import { describe, expect, it } from 'vitest'
import { type CusumSums, averageRunLength, cusumStart, cusumStep } from '#core/line/cusum.ts'
import { type Line, fitLine } from '#core/line/fit.ts'
import { pressureAtWeight } from '#core/line/predict.ts'
import { halfUnit, relativeError } from '#tests/reference/closeness.ts'
import charts from '#tests/reference/control-charts.json' with { type: 'json' }

const { data, published, computed } = charts

describe('NIST/SEMATECH e-Handbook 6.3.2.3, tabular CUSUM', () => {
  const { x, target, k, h } = data.cusum
  const sums: CusumSums[] = []
  for (const value of x) sums.push(cusumStep(sums.at(-1) ?? cusumStart, value - target, k))

  it('gives both columns of the printed table, step by step (half a unit in the second decimal)', () => {
    expect(sums).toHaveLength(20)
    sums.forEach(({ high, low }, i) => {
      expect(Math.abs(high - (published.cusum.S_hi[i] as number)), `high ${i + 1}`).toBeLessThan(halfUnit(2))
      expect(Math.abs(low - (published.cusum.S_lo[i] as number)), `low ${i + 1}`).toBeLessThan(halfUnit(2))
    })
  })

  it('agrees with an independent recomputation to 1e-9', () => {
    sums.forEach(({ high, low }, i) => {
      expect(high).toBeCloseTo(computed.cusum.S_hi[i] as number, 9)
      expect(low).toBeCloseTo(computed.cusum.S_lo[i] as number, 9)
    })
  })

  it('alarms first at group 14, on the high side, and from then on', () => {
    const alarms = sums.flatMap(({ high, low }, i) => (high > h || low > h ? [i + 1] : []))
    expect(alarms).toEqual(published.cusum.alarms_at_group)
    expect(alarms[0]).toBe(published.cusum.first_alarm)
    expect(sums.every(({ low }) => low <= h)).toBe(true)
  })

  it('does the same in standard deviations, as the checks of a line are followed', () => {
    const { sigma } = data.cusum
    let standard = cusumStart
    x.forEach((value, i) => {
      standard = cusumStep(standard, (value - target) / sigma, k / sigma)
      expect(standard.high * sigma).toBeCloseTo((sums[i] as CusumSums).high, 9)
      expect(standard.low * sigma).toBeCloseTo((sums[i] as CusumSums).low, 9)
    })
  })
})

/** Two-sided run lengths as textbooks of statistical quality control print them for k = 0.5; from memory. */
const runLengths = [
  { limit: 4, shift: 0, checks: 168 },
  { limit: 4, shift: 1, checks: 8.38 },
  { limit: 5, shift: 0, checks: 465 },
  { limit: 5, shift: 1, checks: 10.4 },
]

describe('average run length of the two-sided tabular CUSUM, k = 0.5 (textbook values, from memory)', () => {
  it.each(runLengths)(
    'h = $limit, shift $shift: $checks, within 2 %, the quality of the approximation',
    ({ limit, shift, checks }) => {
      expect(relativeError(averageRunLength(shift, 0.5, limit), checks)).toBeLessThan(0.02)
      expect(averageRunLength(-shift, 0.5, limit)).toBeCloseTo(averageRunLength(shift, 0.5, limit), 9)
    },
  )
})

describe('NIST/SEMATECH e-Handbook 2.3.7, control of a linear calibration with check values low, middle and high', () => {
  const chart = data.linear_calibration
  const fitted = fitLine(chart.calibration_x_y.map(([x, y]) => ({ x: x as number, y: y as number, ux: 0, uy: 1 })))
  if (!fitted.ok) throw new Error(fitted.problem.message)
  const fit = fitted.value
  const full = computed.linear_calibration
  const printed = published.linear_calibration
  const line: Line = { a: printed.intercept, b: printed.slope, uA: 0, uB: 0, covAB: 0 }

  it('fits the printed line (the printed intercept is cut, not rounded) and its scatter', () => {
    expect(relativeError(fit.a, full.intercept)).toBeLessThan(1e-9)
    expect(relativeError(fit.b, full.slope)).toBeLessThan(1e-9)
    expect(Math.floor(fit.a * 1e4) / 1e4).toBe(printed.intercept)
    expect(Math.abs(fit.b - printed.slope)).toBeLessThan(halfUnit(3))
    const scatter = Math.sqrt(fit.chi2 / fit.dof)
    expect(fit.dof).toBe(printed.df)
    expect(relativeError(scatter, full.residual_sd)).toBeLessThan(1e-9)
    expect(Math.abs(scatter - printed.residual_sd)).toBeLessThan(halfUnit(5))
    expect(Math.abs(fit.uA * scatter - full.u_intercept)).toBeLessThan(halfUnit(10))
    expect(Math.abs(fit.uB * scatter - full.u_slope)).toBeLessThan(halfUnit(10))
  })

  it('turns the check readings back into control values', () => {
    chart.control_y.forEach((y, i) => {
      const value = pressureAtWeight(line, y).value - (chart.control_x[i] as number)
      expect(Math.abs(value - (full.control_values[i] as number)), `value ${i + 1}`).toBeLessThan(1e-6)
    })
  })

  it('sets limits by the t quantile shared over three check values', () => {
    const zeta = (1 - (1 - chart.alpha) ** (1 / chart.m)) / 2
    expect(relativeError(zeta, full.zeta)).toBeLessThan(1e-12)
    const t = tQuantile(1 - zeta, printed.df)
    expect(relativeError(t, full.t_star)).toBeLessThan(1e-9)
    expect(relativeError(pressureAtWeight(line, 5, printed.residual_sd).u * t, full.limit_plus_minus)).toBeLessThan(
      1e-9,
    )
  })

  it('finds the fourth day out of control, all three values, and no other', () => {
    const beyond = chart.control_y.flatMap((y, i) => {
      const { value, u } = pressureAtWeight(line, y, printed.residual_sd)
      return Math.abs(value - (chart.control_x[i] as number)) > full.t_star * u ? [i + 1] : []
    })
    expect(beyond).toEqual(full.beyond_limits)
    expect(new Set(beyond.map((i) => chart.control_days[i - 1]))).toEqual(new Set([printed.day_out_of_control]))
  })
})
