import { describe, expect, it } from 'vitest'
import { estimatesFromRules } from '#core/evidence/estimates.ts'
import { fleetNoise, noiseLessons } from '#core/evidence/fleet-noise.ts'
import { scaleEffects } from '#core/evidence/scales/scale-effects.ts'
import { type FleetTruth, fleetRules, livesOf, modelFleet } from '#tests/unit/evidence-fleet.ts'

const ordinary: FleetTruth = {
  seed: 'noise',
  groups: 60,
  levelingPsi: 0.35,
  wanderPsi: 0.05,
  gains: [0.0008, -0.001, 0.0004, -0.0006, 0.0011],
  homes: 3,
  months: 15,
}

/** Noise as the fleet's assessment learns it: with the scales' biases taken off first. */
function learnt(truth: FleetTruth) {
  const fleet = modelFleet(truth)
  const scales = scaleEffects(livesOf(fleet), fleet.scales, fleetRules)
  return fleetNoise(
    livesOf(fleet, fleetRules, { ...estimatesFromRules(fleetRules), scales }).flatMap(({ life }) => noiseLessons(life)),
    fleetRules,
  )
}

const distance = ({ value, u }: { value: number; u: number | null }, truth: number) =>
  Math.abs(value - truth) / (u ?? Number.NaN)

describe('fleetNoise', () => {
  it.each([
    [0.2, 0.05],
    [0.35, 0.05],
    [0.35, 0.15],
    [0.6, 0.05],
    [0.9, 0.1],
    [1.5, 0.2],
  ])(
    'finds a leveling of %d psi and a wander of %d psi per root month within its own uncertainty',
    (levelingPsi, wanderPsi) => {
      for (const seed of ['one', 'two']) {
        const { leveling, wander } = learnt({ ...ordinary, seed, levelingPsi, wanderPsi })
        // With the scales' true biases given, the noisiest of these fleets lies 3.1 off.
        expect(distance(leveling, levelingPsi)).toBeLessThan(3.2)
        expect(distance(wander, wanderPsi)).toBeLessThan(3)
        expect((leveling.u as number) / levelingPsi).toBeLessThan(0.1)
      }
    },
  )

  it('grows surer with more history', () => {
    const short = learnt({ ...ordinary, groups: 30, months: 9 })
    const long = learnt({ ...ordinary, groups: 90, months: 24 })
    expect(long.leveling.u as number).toBeLessThan(0.6 * (short.leveling.u as number))
    expect(long.wander.u as number).toBeLessThan(0.6 * (short.wander.u as number))
    expect(long.leveling.checks).toBeGreaterThan(short.leveling.checks)
  })

  it('is not led astray by sensors that went off in a fifth of the groups', () => {
    const { leveling, wander } = learnt({ ...ordinary, offPsi: 3, offGroups: 12 })
    expect(distance(leveling, 0.35)).toBeLessThan(3)
    expect(distance(wander, 0.05)).toBeLessThan(3)
  })

  it('owns up to how little it knows where the checks show no wander at all', () => {
    for (const seed of ['a', 'b', 'c']) {
      const { wander } = learnt({ ...ordinary, seed, groups: 20, levelingPsi: 0.6, wanderPsi: 0.03, months: 8 })
      expect(wander.u as number).toBeGreaterThan(0.008)
      expect(distance(wander, 0.03)).toBeLessThan(3)
    }
  })
})

describe('the House Rules stand in', () => {
  const standIn = { leveling: { value: 0.4, u: null }, wander: { value: 0.06, u: null } }

  it('for a fleet without checks', () => {
    expect(fleetNoise([], fleetRules)).toMatchObject(standIn)
    expect(fleetNoise([], { ...fleetRules, levelingPsi: 0.7, wanderPsi: 0.2 })).toMatchObject({
      leveling: { value: 0.7, u: null },
      wander: { value: 0.2, u: null },
    })
  })

  it('below twelve lines', () => {
    expect(learnt({ ...ordinary, groups: 11, months: 24 })).toMatchObject(standIn)
    expect(learnt({ ...ordinary, groups: 13, months: 24 }).leveling.u).not.toBeNull()
  })

  it('below 150 checks, and while they span less than four months', () => {
    expect(learnt({ ...ordinary, groups: 14, months: 5 })).toMatchObject(standIn)
    expect(learnt({ ...ordinary, groups: 200, months: 3.8 })).toMatchObject({ ...standIn, leveling: { checks: 0 } })
  })
})
