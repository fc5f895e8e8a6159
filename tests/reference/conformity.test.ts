import { describe, expect, it } from 'vitest'
import { judgeWeight, oneSidedFactor, probabilityOver } from '#core/weight/verdict.ts'
import { halfUnit } from '#tests/reference/closeness.ts'
import conformity from '#tests/reference/conformity.json' with { type: 'json' }

const { data, published, computed } = conformity

describe('conformity by JCGM 106:2012', () => {
  it('gives the Zener diode of 7.2 its probability at the upper limit (two printed decimals; recomputed to 1e-10)', () => {
    const { y, u, T_U } = data.upper_limit
    const p = probabilityOver(y, u, T_U)
    expect(Math.abs(1 - p - published.upper_limit.p_conform)).toBeLessThan(halfUnit(2))
    expect(Math.abs(p - computed.upper_limit.p_over)).toBeLessThan(1e-10)
  })

  it('gives the pressure container of 7.3 its probability at the lower limit (two printed decimals; recomputed to 1e-10)', () => {
    const { y, u, T_L } = data.lower_limit
    const p = probabilityOver(y, u, T_L)
    expect(Math.abs(p - published.lower_limit.p_conform)).toBeLessThan(halfUnit(2))
    expect(Math.abs(p - computed.lower_limit.p_conform)).toBeLessThan(1e-10)
  })

  it('calls the speed of 8.3 over from its threshold on and not below (printed 107, recomputed to 1e-9)', () => {
    const { v0, rel_u, p } = data.guarded_rejection
    const { threshold } = computed.guarded_rejection
    const verdictAt = (speed: number) => judgeWeight(speed, rel_u * speed, v0, 100 * p).verdict
    expect(verdictAt(threshold * (1 + 1e-9))).toBe('over')
    expect(verdictAt(threshold * (1 - 1e-9))).toBe('too close to call')
    expect(verdictAt(published.guarded_rejection.threshold_rounded_up)).toBe('over')
    expect(verdictAt(published.guarded_rejection.threshold_rounded_up - 1)).toBe('too close to call')
  })

  it.each(Object.entries(computed.one_sided_multipliers))(
    'has the one-sided factor at %s (recomputed, 1e-10)',
    (p, factor) => {
      expect(Math.abs(oneSidedFactor(100 * Number(p)) - factor)).toBeLessThan(1e-10)
    },
  )

  it.each(computed.truck_examples)(
    'gives a truck of $weight lb ± $u against $limit lb its probability (recomputed, 1e-10)',
    ({ weight, u, limit, p_over }) => {
      expect(Math.abs(probabilityOver(weight, u, limit) - p_over)).toBeLessThan(1e-10)
    },
  )
})
