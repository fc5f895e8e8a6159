import { describe, expect, it } from 'vitest'
import type { FleetRecord, Observation } from '#core/evidence/history.ts'
import { type ScaleEffect, estimatesFromRules, unlearntScale } from '#core/evidence/estimates.ts'
import { scaleEffects } from '#core/evidence/scales/scale-effects.ts'
import { scaleVerdict } from '#core/evidence/scales/scale-standing.ts'
import { assessFleet } from '#core/findings/assess-fleet.ts'
import { monthMs } from '#core/line/track.ts'
import { expanded } from '#core/words/coverage.ts'
import { Random } from '#demo/simulation/random.ts'
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

const effectsOf = (fleet: FleetRecord) => scaleEffects(livesOf(fleet), fleet.scales, fleetRules)
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

/** The same weighings where every sensor follows the weather, and the last scale is open in the cold months alone. */
function inWeather(fleet: FleetRecord, psiPerDegree: number): FleetRecord {
  const random = new Random('weather')
  const last = fleet.scales.size
  const weathered = (one: Observation): Observation => {
    const season = Math.cos((2 * Math.PI * (one.takenAt - Date.UTC(2025, 0, 28))) / (365.25 * 86_400_000))
    const degreesF = Math.round(60 - 26 * season + random.normal(8))
    const scaleId = one.scaleId === last && season < 0.5 ? random.whole(1, last - 1) : one.scaleId
    const psi = one.psi.map((each) => each && each + psiPerDegree * (degreesF - 60))
    return { ...one, psi, scaleId, temperatureF: degreesF }
  }
  return {
    ...fleet,
    groups: fleet.groups.map((group) => ({
      ...group,
      calibrations: group.calibrations.map((each) => ({ ...each, points: each.points.map(weathered) })),
      observations: group.observations.map(weathered),
    })),
  }
}

/** Every scale within its tolerance of 0.2 %, all gains alike likely; then some that are not. */
function someGains(seed: string, scales: number, bad = 0): number[] {
  const random = new Random(`gains ${seed}`)
  return Array.from({ length: scales }, (_, i) =>
    i < scales - bad ? random.between(-0.002, 0.002) : random.between(0.006, 0.01) * random.sign(),
  )
}

const covarianceWith = (one: ScaleEffect, other: ScaleEffect): number => one.covariance[other.key] ?? Number.NaN

describe('scaleEffects', () => {
  it.each([
    ['all in tolerance', 6, 0],
    ['one out of order', 6, 1],
    ['two out of ten out of order', 10, 2],
    ['three scales, one out of order', 3, 1],
  ])('holds true biases within twice their uncertainty and condemns no good scale: %s', (_, scales, bad) => {
    const score = { effects: 0, held: 0, differences: 0, differencesHeld: 0, good: 0, condemned: 0, bad: 0, named: 0 }
    for (let seed = 0; seed < 24; seed += 1) {
      const truth = someGains(`${seed}`, scales, bad)
      const effects = [...effectsOf(modelFleet({ ...ordinary, seed: `${seed}`, groups: 40, gains: truth })).values()]
      const missOf = (effect: ScaleEffect) => effect.gain - (truth[effect.scaleId - 1] as number)
      for (const one of effects) {
        score.effects += 1
        if (Math.abs(missOf(one)) <= expanded(one.u)) score.held += 1
        const verdict = scaleVerdict(one, 0.2, fleetRules)
        if (one.scaleId <= scales - bad) {
          score.good += 1
          if (verdict === 'biased' || verdict === 'beyond tolerance') score.condemned += 1
        } else {
          score.bad += 1
          if (verdict === 'biased') score.named += 1
        }
        for (const other of effects) {
          if (other.scaleId <= one.scaleId) continue
          const u = Math.sqrt(one.u ** 2 + other.u ** 2 - 2 * covarianceWith(one, other))
          score.differences += 1
          if (Math.abs(missOf(one) - missOf(other)) <= expanded(u)) score.differencesHeld += 1
        }
      }
    }
    expect(score.effects).toBe(24 * scales)
    // What all scales have in common moves them together, so 24 fleets scatter as 24 trials, not as 144.
    expect(score.held / score.effects).toBeGreaterThan(0.88)
    expect(score.differencesHeld / score.differences).toBeGreaterThan(0.9)
    expect(score.condemned / score.good).toBeLessThanOrEqual(0.02)
    if (bad > 0 && scales > 3) expect(score.named / score.bad).toBeGreaterThan(0.95)
  })

  it('knows differences better than biases, since lines take what all scales have in common', () => {
    const effects = [...effectsOf(modelFleet(ordinary)).values()]
    expect(effects.length).toBe(6)
    const [one, other] = effects as [ScaleEffect, ScaleEffect]
    const uDifference = Math.sqrt(one.u ** 2 + other.u ** 2 - 2 * covarianceWith(one, other))
    expect(uDifference).toBeLessThan(one.u)
    expect(covarianceWith(one, one)).toBeCloseTo(one.u ** 2, 9)
    // Six scales certified to 0.2 % leave what they have in common at 0.2/√3/√6 %.
    for (const { u } of effects) expect(u).toBeGreaterThan(0.002 / Math.sqrt(18))
  })

  it('grows surer of differences with more weighings', () => {
    const uOf = (months: number) => {
      const [one, other] = [...effectsOf(modelFleet({ ...ordinary, months })).values()] as [ScaleEffect, ScaleEffect]
      return Math.sqrt(one.u ** 2 + other.u ** 2 - 2 * covarianceWith(one, other))
    }
    expect(uOf(18)).toBeLessThan(uOf(5))
  })

  it('cannot tell, and does not claim to, what all scales have in common', () => {
    const plain = effectsOf(modelFleet(ordinary))
    const heavy = effectsOf(modelFleet({ ...ordinary, gains: gains.map((gain) => gain + 0.01) }))
    expect(heavy.size).toBe(6)
    for (const [scaleId, { gain }] of heavy)
      expect(Math.abs(gain - (plain.get(scaleId)?.gain ?? 1))).toBeLessThan(0.0002)
  })

  it('does not depend on the order of the lines', () => {
    const fleet = modelFleet(ordinary)
    const lives = livesOf(fleet)
    const there = scaleEffects(lives, fleet.scales, fleetRules)
    const back = scaleEffects(lives.toReversed(), fleet.scales, fleetRules)
    for (const [scaleId, effect] of there) {
      expect(back.get(scaleId)?.gain).toBeCloseTo(effect.gain, 9)
      expect(back.get(scaleId)?.u).toBeCloseTo(effect.u, 9)
    }
  })

  it('is not drawn away by a scale that is off by a tenth', () => {
    const effects = effectsOf(modelFleet({ ...ordinary, gains: [...gains.slice(0, 5), 0.1] }))
    for (const { scaleId, gain, u } of effects.values())
      expect(Math.abs(gain - (scaleId === 6 ? 0.1 : (gains[scaleId - 1] as number)))).toBeLessThan(3 * u)
    expect(effects.get(6)?.u).toBeLessThan(0.002)
  })

  it('does not know the only scale of a fleet, whose certification alone speaks', () => {
    const [only] = [...effectsOf(modelFleet({ ...ordinary, gains: [0.009], homes: 1 })).values()]
    expect(only).toMatchObject({ gain: 0, known: false, groups: 60 })
    expect(only?.weighings).toBeGreaterThan(500)
    expect(only?.u).toBeCloseTo(0.002 / Math.sqrt(3), 9)
  })

  it('says of two scales far apart that one of them is off, not which', () => {
    const effects = [...effectsOf(modelFleet({ ...ordinary, gains: [0, 0.009], homes: 2 })).values()]
    expect(effects.map((effect) => scaleVerdict(effect, 0.2, fleetRules))).toEqual([
      'too close to call',
      'too close to call',
    ])
    const [one, other] = effects as [ScaleEffect, ScaleEffect]
    expect(Math.abs(other.gain - one.gain - 0.009)).toBeLessThan(0.001)
    for (const { u } of effects) expect(expanded(u)).toBeGreaterThan(0.004)
  })

  it('does not know a scale that was hardly used', () => {
    const three = modelFleet({ ...ordinary, gains: [0, 0, 0.009], homes: 2 })
    const few = new Set(three.groups.slice(0, 6))
    const effects = effectsOf({
      ...three,
      groups: three.groups.map((group) => ({
        ...group,
        observations: group.observations.filter(({ scaleId }, i) => scaleId !== 3 || (few.has(group) && i < 4)),
      })),
    })
    expect([...effects.values()].map(({ known }) => known)).toEqual([true, true, false])
  })

  it('tells from when on a scale weighs otherwise, and what it did before', () => {
    const later = { months: 6, gains: [...gains.slice(0, 5), 0.009] }
    const effects = effectsOf(modelFleet({ ...ordinary, later }))
    for (const { scaleId, gain, u, before, since } of effects.values()) {
      expect(Math.abs(gain - (later.gains[scaleId - 1] as number))).toBeLessThan(3 * u)
      if (scaleId < 6) expect(before).toBeNull()
      else {
        expect(Math.abs((before?.gain ?? 1) - (gains[5] as number))).toBeLessThan(3 * (before?.u ?? 0))
        expect(Math.abs((since ?? 0) - calibratedAt - 6 * monthMs)).toBeLessThan(monthMs)
      }
    }
  })

  it('knows nothing where no line was tested, or nobody weighed', () => {
    const fleet = modelFleet({ ...ordinary, homes: 1 })
    const untested = effectsOf({ ...fleet, groups: fleet.groups.map((group) => ({ ...group, observations: [] })) })
    expect(untested.size).toBe(6)
    for (const { known } of untested.values()) expect(known).toBe(false)
    expect(scaleEffects([], new Map(), fleetRules).size).toBe(0)
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

describe('checks against a line', () => {
  const fleet = modelFleet({ ...ordinary, groups: 6, gains: [0, 0, 0], homes: 1 })
  const changedAt = calibratedAt + 6 * monthMs
  const effect = (scaleId: number, change: Partial<ScaleEffect> = {}): ScaleEffect => ({
    ...unlearntScale(scaleId, 0.2),
    ...change,
  })
  const heavyLater = effect(2, { key: '2 later', gain: 0.01, since: changedAt, before: effect(2, { gain: 0.002 }) })
  const estimates = {
    ...estimatesFromRules(fleetRules),
    scales: new Map([1, 2, 3].map((scaleId) => [scaleId, scaleId === 2 ? heavyLater : effect(scaleId)])),
  }
  const checks = livesOf(fleet, fleetRules, estimates).flatMap(({ life }) => life.checks)
  const on = (scaleId: number) => checks.filter(({ observation }) => observation.scaleId === scaleId)

  it('are corrected by what their scale did at the time', () => {
    expect(on(2).length).toBeGreaterThan(20)
    for (const { observation, at, weightLb } of on(2))
      expect(weightLb / observation.weightLb).toBeCloseTo(at < changedAt ? 0.998 : 0.99, 9)
    for (const { observation, weightLb } of on(3)) expect(weightLb).toBe(observation.weightLb)
  })

  it('carry the uncertainty of the difference from the scale of the line, none on that same scale', () => {
    expect(Math.min(on(1).length, on(3).length)).toBeGreaterThan(20)
    const own = on(1).map(({ varOtherLb2 }) => varOtherLb2)
    for (const varLb2 of own) expect(varLb2).toBeLessThan(2_500)
    for (const { observation, varOtherLb2 } of on(3)) {
      // Two scales of 0.2 %, each on its own: 0.16 % of the weight.
      const scalesLb2 = (2 / 3) * (0.002 * observation.weightLb) ** 2
      expect(varOtherLb2 - scalesLb2).toBeGreaterThan(0)
      expect(varOtherLb2 - scalesLb2).toBeLessThan(2_500)
    }
  })
})

describe('sensors that follow the weather', () => {
  const level = modelFleet({ ...ordinary, seed: 'season', groups: 160, months: 20, gains: gains.map(() => 0) })
  const { others, estimates } = judged(inWeather(level, 0.03))

  it('pass for no scale, though it is open in one season alone', () => {
    expect(others.filter(({ code }) => code === 'scale-biased')).toEqual([])
    for (const { gain, u } of estimates.scales.values()) expect(Math.abs(gain)).toBeLessThan(2.5 * u)
  })
})
