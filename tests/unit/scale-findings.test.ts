import { describe, expect, it } from 'vitest'
import { type ScaleEffect, estimatesFromRules } from '#core/evidence/estimates.ts'
import { scaleFindings } from '#core/findings/ticket-findings.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { daysOn, scale, said } from '#tests/unit/group-history.ts'

const effect = (change: Partial<ScaleEffect> = {}): ScaleEffect => ({
  scaleId: 7,
  key: '7',
  gain: 0.009,
  u: 0.0005,
  covariance: { 7: 0.0005 ** 2 },
  known: true,
  weighings: 140,
  groups: 31,
  since: daysOn(3),
  before: null,
  ...change,
})
const told = (change: Partial<ScaleEffect>, facts: Partial<typeof scale> = {}, rules = {}) =>
  scaleFindings(
    new Map([[7, { ...scale, ...facts }]]),
    { ...defaultHouseRules, ...rules },
    { ...estimatesFromRules(defaultHouseRules), scales: new Map([[7, effect(change)]]) },
  ).map(said)

describe('scale-biased', () => {
  it('tells which scale shows too much, by how much, and on what that rests', () => {
    const [found] = told({})
    expect(found).toMatchObject({
      code: 'scale-biased',
      severity: 'warn',
      unitId: null,
      groupId: null,
      scaleId: 7,
      since: daysOn(3),
      evidence: '7/much/1',
      message:
        "Scale Pit scale shows 0.90 % too much (about 310 lb on a loaded tandem), more than it is certified to: 140 weighings of 31 groups since 2025-03-04 say so, held against the fleet's other scales.",
      nextStep: "Ask the scale's owner for its last certification, and calibrate on another scale until it is settled.",
    })
    expect(found?.numbers['bias_percent'] as number).toBeCloseTo(0.9, 9)
    expect(found?.numbers).toMatchObject({ weighings: 140, groups: 31, tolerance_percent: 0.2 })
    expect(found?.numbers['u_percent'] as number).toBeCloseTo(0.05, 9)
    expect(told({ gain: -0.009 })[0]?.message).toContain('shows 0.90 % too little (about 310 lb')
  })

  it('wants it most likely beyond twice the tolerance, and surely beyond it', () => {
    expect(told({ gain: 0.0039 })).toEqual([])
    expect(told({ gain: 0.0041 })).toHaveLength(1)
    expect(told({ gain: 0.0041, u: 0.0011 })).toEqual([])
    expect(told({ gain: 0.009, u: 0.0034 })).toHaveLength(1)
    expect(told({ gain: 0.009, u: 0.0036 })).toEqual([])
    expect(told({ gain: 0 })).toEqual([])
  })

  it('is not said on too few weighings, however far off they lie', () => {
    expect(told({ gain: 0.05, known: false })).toEqual([])
  })

  it("goes by the scale's own tolerance, or the House Rules' where none is on record", () => {
    expect(told({}, { tolerancePercent: 0.5 })).toEqual([])
    expect(told({}, { tolerancePercent: null })).toHaveLength(1)
    expect(told({}, { tolerancePercent: null }, { scaleTolerancePercent: 0.6 })).toEqual([])
    expect(told({}, {}, { scaleBiasTolerances: 5 })).toEqual([])
  })

  it('says nothing where nothing was learnt', () => {
    expect(scaleFindings(new Map([[7, scale]]), defaultHouseRules, estimatesFromRules(defaultHouseRules))).toEqual([])
  })
})
