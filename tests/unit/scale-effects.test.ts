import { describe, expect, it } from 'vitest'
import type { FleetRecord } from '#core/evidence/history.ts'
import { scaleEffects } from '#core/evidence/scale-effects.ts'
import { assessFleet } from '#core/findings/assess-fleet.ts'
import { median } from '#core/line/statistics.ts'
import { monthMs } from '#core/line/track.ts'
import { type FleetTruth, fleetRules, livesOf, modelFleet } from '#tests/unit/evidence-fleet.ts'
import { calibratedAt } from '#tests/unit/group-history.ts'
import { some } from '#tests/some.ts'

const gains = [0.0008, -0.0011, 0.0004, -0.0006, 0.0012, -0.0003]
const ordinary: FleetTruth = {
  seed: 'scales',
  groups: 60,
  levelingPsi: 0.35,
  wanderPsi: 0.05,
  gains,
  homes: 3,
  months: 12,
}

const effectsOf = (fleet: FleetRecord) => scaleEffects(livesOf(fleet))
const judged = (fleet: FleetRecord) => assessFleet(fleet, fleetRules, calibratedAt + 12 * monthMs)
const accused = (fleet: FleetRecord) => judged(fleet).others.filter(({ code }) => code === 'scale-biased')
const doubted = (fleet: FleetRecord) => judged(fleet).groups.filter(({ trust }) => trust === 'doubtful').length

/** A fleet whose first groups weigh on one scale only. */
function pinned(fleet: FleetRecord, groups: number, scaleId: number): FleetRecord {
  return {
    ...fleet,
    groups: fleet.groups.map((group, g) =>
      g < groups ? { ...group, observations: group.observations.map((each) => ({ ...each, scaleId })) } : group,
    ),
  }
}

describe('scaleEffects', () => {
  it.each(['one', 'two', 'three'])(
    'finds planted gains within its own uncertainty, relative to the middle of the scales (seed %s)',
    (seed) => {
      const effects = effectsOf(modelFleet({ ...ordinary, seed }))
      expect(effects.size).toBe(6)
      const centre = median(gains)
      for (const { scaleId, gain, u, weighings, groups, since } of effects.values()) {
        // The middle of the scales is itself known no better than one of them.
        expect(Math.abs(gain - ((gains[scaleId - 1] as number) - centre))).toBeLessThan(3 * Math.SQRT2 * u)
        expect(u).toBeGreaterThan(0.0001)
        expect(u).toBeLessThan(0.001)
        expect(weighings).toBeGreaterThan(100)
        expect(groups).toBeGreaterThan(40)
        expect(since).toBeLessThan(calibratedAt + monthMs)
      }
    },
  )

  it('grows surer with more weighings', () => {
    const [short, long] = [
      effectsOf(modelFleet({ ...ordinary, months: 5 })),
      effectsOf(modelFleet({ ...ordinary, months: 18 })),
    ]
    expect(long.size).toBe(6)
    for (const [scaleId, { u }] of long) expect(u).toBeLessThan(short.get(scaleId)?.u ?? 0)
  })

  it('cannot tell, and does not claim to, what all scales have in common', () => {
    const plain = effectsOf(modelFleet(ordinary))
    const heavy = effectsOf(modelFleet({ ...ordinary, gains: gains.map((gain) => gain + 0.01) }))
    expect(heavy.size).toBe(6)
    for (const [scaleId, { gain }] of heavy)
      expect(Math.abs(gain - (plain.get(scaleId)?.gain ?? 1))).toBeLessThan(0.0002)
  })

  it('does not depend on the order of the lines', () => {
    const lives = livesOf(modelFleet(ordinary))
    const there = scaleEffects(lives)
    const back = scaleEffects(lives.toReversed())
    expect(there.size).toBe(6)
    for (const [scaleId, effect] of there) {
      expect(back.get(scaleId)?.gain).toBeCloseTo(effect.gain, 9)
      expect(back.get(scaleId)?.u).toBeCloseTo(effect.u, 9)
    }
  })

  it('answers nothing for fewer than three scales, or three of which one was hardly used', () => {
    expect(effectsOf(modelFleet({ ...ordinary, gains: [0, 0.009], homes: 2 })).size).toBe(0)
    const three = modelFleet({ ...ordinary, gains: [0, 0, 0.009], homes: 2 })
    expect(effectsOf(three).size).toBe(3)
    const few = new Set([...three.groups.slice(0, 6)])
    const hardly: FleetRecord = {
      ...three,
      groups: three.groups.map((group) => ({
        ...group,
        observations: group.observations.filter(({ scaleId }, i) => scaleId !== 3 || (few.has(group) && i < 4)),
      })),
    }
    expect(effectsOf(hardly).size).toBe(0)
  })

  it('answers nothing where no line was tested, or nobody weighed', () => {
    const fleet = modelFleet(ordinary)
    expect(effectsOf({ ...fleet, groups: fleet.groups.map((group) => ({ ...group, observations: [] })) }).size).toBe(0)
    expect(scaleEffects([]).size).toBe(0)
  })

  it('passes over weights of zero', () => {
    const fleet = modelFleet(ordinary)
    const zeros: FleetRecord = {
      ...fleet,
      groups: fleet.groups.map((group) => ({
        ...group,
        observations: group.observations.map((each, i) => (i === 3 ? { ...each, weightLb: 0 } : each)),
      })),
    }
    for (const { gain, u } of some(effectsOf(zeros).values()))
      expect(Number.isFinite(gain) && Number.isFinite(u)).toBe(true)
  })
})

describe('one bad scale', () => {
  const biased = modelFleet({ ...ordinary, gains: [...gains.slice(0, 5), 0.009] })

  it('is named, with its bias, and no other', () => {
    const found = accused(biased)
    expect(found.map(({ scaleId }) => scaleId)).toEqual([6])
    expect(Math.abs((found[0]?.numbers['bias_percent'] as number) - 0.9)).toBeLessThan(0.25)
  })

  it('does not condemn the trucks that weigh on it', () => {
    expect(doubted(biased)).toBeLessThanOrEqual(1)
    // Ten of them weigh nowhere else.
    expect(doubted(pinned(biased, 10, 6))).toBeLessThanOrEqual(2)
  })
})

describe('bad trucks', () => {
  const sick = { ...ordinary, offPsi: 3, offGroups: 6 }

  it('do not condemn the one scale they weigh on, and are told themselves', () => {
    const fleet = pinned(modelFleet(sick), 6, 6)
    expect(accused(fleet)).toEqual([])
    const { groups } = judged(fleet)
    expect(groups.slice(0, 6).map(({ trust }) => trust)).toEqual(Array(6).fill('doubtful'))
    expect(groups.slice(6).filter(({ trust }) => trust === 'doubtful').length).toBeLessThanOrEqual(1)
  })

  it('do not condemn any scale when they weigh everywhere', () => {
    expect(accused(modelFleet(sick))).toEqual([])
  })
})
