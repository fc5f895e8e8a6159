import fc from 'fast-check'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { describe, expect, it } from 'vitest'
import { ownPartsAt, readerOf, sinceWhen, weightAt } from '#core/evidence/state/best-weight.ts'
import { learnFleet } from '#core/evidence/state/learn-fleet.ts'
import { type LineState, lineState } from '#core/evidence/state/line-state.ts'
import { defaultChangePriors, lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import {
  type LifeSeries,
  type LineNoise,
  type WeighedPoint,
  priorWeights,
  seriesUpTo,
} from '#core/evidence/state/series.ts'
import { standardNormalCdf } from '#core/line/statistics.ts'
import { Random } from '#demo/simulation/random.ts'
import { ordinaryWorld, seriesOf, simulateLine } from '#tests/bed/simulate-lines.ts'
import { temperatureEffect, temperaturePopulation } from '#core/evidence/state/temperature.ts'
import { missAt, opinionOf, suspectedAt, suspicionOf } from '#core/evidence/state/troubles.ts'
import { mixtureOf, mixtureQuantile, probabilityAbove } from '#core/evidence/state/weight-mixture.ts'

const dayMs = 86_400_000
const noise: LineNoise = { ...lineNoiseOf(defaultHouseRules), levelingPsi: 0.35, wanderPsi: 0.05 }
const prior = { interceptLb: 4_500, uInterceptLb: 1_500, slopeLbPerPsi: 400, uSlopeLbPerPsi: 60 }

const point = (at: number, psi: number, weightLb: number): WeighedPoint => ({
  at,
  psi,
  weightLb,
  varOtherLb2: 1_700,
  scaleId: 1,
  scaleGain: 0,
  uScaleGain: 0.0005,
})

function lifeOf(points: readonly WeighedPoint[], slipsOf?: LifeSeries['slipsOf']): LifeSeries {
  return {
    points,
    emptyPsi: 12,
    limitPsi: 74,
    slopeLbPerPsi: 400,
    prior: priorWeights(prior, 12, 74),
    ...(slipsOf && { slipsOf }),
  }
}

/** Misses that average out: a fixed hand of them keeps every test the same. */
const missLb = [90, -120, 40, -30, 150, -80, 20, -140, 60, 10, -50, 110]
const psiAt = [12, 40, 74, 70, 30, 72, 12, 66, 73, 45, 71, 74]
/** A calibration of three points on the first day, then a check every sixteen days; lb beside the line by place. */
const healthyPoints = (count: number, besideLb = (_: number) => 0) =>
  Array.from({ length: count }, (_, i) => {
    const psi = psiAt[i % psiAt.length] as number
    const at = i < 3 ? i * 5_400_000 : (i - 2) * 16 * dayMs
    return point(
      at,
      psi,
      Math.round((4_500 + 400 * psi + (missLb[i % missLb.length] as number) + besideLb(i)) / 20) * 20,
    )
  })
const judge = (points: readonly WeighedPoint[], slipsOf?: LifeSeries['slipsOf']) =>
  lineState(lifeOf(points, slipsOf), noise, defaultChangePriors)
const suspicion = (state: LineState) => suspicionOf(sinceWhen(state), opinionOf(state, state.columns.size - 1))

describe('the state of a healthy line', () => {
  const state = judge(healthyPoints(12))

  it('has one likely story, and knows the line better than any of its weighings', () => {
    expect(state.stories[0]?.changes).toEqual([])
    expect(suspicion(state)).toBeLessThan(0.1)
    const { weightLb, uLb } = weightAt(state, 60 * dayMs, 60, 0)
    expect(Math.abs(weightLb - 28_500)).toBeLessThan(2 * uLb)
    expect(uLb).toBeLessThan(90)
  })

  it('is less sure of later days and of a pressure it never saw', () => {
    const u = (at: number, psi: number) => weightAt(state, at * dayMs, psi, 0).uLb
    expect(u(400, 60)).toBeGreaterThan(u(150, 60))
    expect(u(100, 110)).toBeGreaterThan(u(100, 70))
  })

  it('expects every weighing within the standard normal', () => {
    const z = state.columns.series.points.map((_, place) => missAt(state, place).z)
    expect(Math.max(...z.map(Math.abs))).toBeLessThan(3)
  })
})

describe('the standardised misses of lines that behave as the model says (600 seeded lines)', () => {
  const world = { ...ordinaryWorld, months: 12, together: noise.endsCorrelation }
  const runs = Array.from({ length: 600 }, (_, k) => {
    const random = new Random(`misses ${k}`)
    // Tickets as exact as they are said to be, on scales that are right.
    const line = simulateLine(world, null, [0, 0, 0, 0, 0, 0], random)
    const series = seriesOf(line)
    const points = series.points.map((point) => ({
      ...point,
      uScaleGain: 0,
      varOtherLb2: 30 ** 2 + 400 / 12 + (line.slopeLbPerPsi * 0.1) ** 2 / 12,
    }))
    const state = lineState({ ...series, points }, { ...noise, tailShare: 0.0001 }, defaultChangePriors)
    return points.map((_, place) => missAt(state, place).z).slice(6)
  })
  const all = runs.flat()

  it('have mean 0 and variance 1, and do not foretell each other', () => {
    const mean = all.reduce((sum, z) => sum + z, 0) / all.length
    const variance = all.reduce((sum, z) => sum + (z - mean) ** 2, 0) / all.length
    expect(all.length).toBeGreaterThan(5000)
    expect(Math.abs(mean)).toBeLessThan(4 / Math.sqrt(all.length))
    expect(Math.abs(variance - 1)).toBeLessThan(4 * Math.sqrt(2 / all.length))
    for (const lag of [1, 3]) {
      const products = runs.flatMap((run) => run.slice(lag).map((z, i) => z * (run[i] as number)))
      expect(Math.abs(products.reduce((sum, one) => sum + one, 0) / products.length)).toBeLessThan(
        4 / Math.sqrt(products.length),
      )
    }
  })

  it.each([1, 2, 3])('lie within ± %d as often as normal numbers', (band) => {
    const expected = 2 * standardNormalCdf(band) - 1
    const share = all.filter((z) => Math.abs(z) <= band).length / all.length
    expect(Math.abs(share - expected)).toBeLessThan(4 * Math.sqrt((expected * (1 - expected)) / all.length))
  })
})

describe('a line that lies 1,400 lb off since its tenth weighing', () => {
  const points = healthyPoints(16, (i) => (i >= 9 ? 1_400 : 0))

  it('is suspected, not established, with one weighing since: a limit between both readings is too close to call', () => {
    const life = seriesUpTo(lifeOf(points), (points[9] as WeighedPoint).at)
    const state = lineState(life, noise, defaultChangePriors)
    expect(suspicion(state)).toBeGreaterThan(suspectedAt)
    expect(sinceWhen(state)?.established ?? false).toBe(false)
    const now = weightAt(state, (points[9] as WeighedPoint).at + dayMs, 72, 0.36)
    const over = probabilityAbove(now, 33_300 + 700)
    expect(over).toBeGreaterThan(0.05)
    expect(over).toBeLessThan(0.95)
  })

  it('is established with more, dated to its gap, and read right before and after', () => {
    const state = judge(points)
    const since = sinceWhen(state)
    expect(since?.established).toBe(true)
    expect(since?.from).toBeGreaterThanOrEqual((points[8] as WeighedPoint).at)
    expect(since?.until).toBeLessThanOrEqual((points[9] as WeighedPoint).at)
    const before = weightAt(state, (points[8] as WeighedPoint).at - dayMs, 70, 0)
    const after = weightAt(state, (points[9] as WeighedPoint).at + dayMs, 70, 0)
    expect(Math.abs(before.weightLb - 32_500)).toBeLessThan(200)
    expect(Math.abs(after.weightLb - 33_900)).toBeLessThan(200)
  })

  it('may have either weight on a day between the two weighings', () => {
    const state = judge(points)
    const at = ((points[8] as WeighedPoint).at + (points[9] as WeighedPoint).at) / 2
    const mixture = weightAt(state, at, 70, 0)
    expect(mixture.uLb).toBeGreaterThan(500)
    const over = probabilityAbove(mixture, 33_200)
    expect(over).toBeGreaterThan(0.3)
    expect(over).toBeLessThan(0.7)
  })
})

describe('one weighing that does not fit', () => {
  const points = healthyPoints(12).map((one, i) => (i === 7 ? { ...one, weightLb: 39_100 } : one))
  // 39,100 lb at 66 psi, where the line reads 30,900: digits of 30,900 mistyped, or nothing at all.
  const typed = { code: 'digits-transposed', weightLb: 30_900, psi: 66, prior: 0.001 } as const

  it('is a slip where a slip explains it, and bends nothing', () => {
    const state = judge(points, (place) => (place === 7 ? [typed] : []))
    expect(opinionOf(state, 7).slip).toBeGreaterThan(0.9)
    expect(state.columns.slips(7)[opinionOf(state, 7).slipPlace]?.option).toBe(typed)
    expect(Math.abs(weightAt(state, (points[7] as WeighedPoint).at, 66, 0).weightLb - 30_900)).toBeLessThan(150)
  })

  it('is wild where nothing explains it, and bends nothing either', () => {
    const state = judge(points)
    expect(opinionOf(state, 7).wild).toBeGreaterThan(0.9)
    expect(Math.abs(weightAt(state, (points[7] as WeighedPoint).at, 66, 0).weightLb - 30_900)).toBeLessThan(150)
  })

  it('is a reading in kPa where its pressure says so', () => {
    const inKPa = healthyPoints(12).map((one, i) => (i === 7 ? { ...one, psi: 455 } : one))
    const state = judge(inKPa, (place) =>
      place === 7
        ? [{ code: 'wrong-pressure-unit', weightLb: inKPa[7]?.weightLb as number, psi: 66, prior: 0.0005 }]
        : [],
    )
    expect(opinionOf(state, 7).slip).toBeGreaterThan(0.99)
  })
})

describe('whatever is weighed', () => {
  const weighings = fc.array(
    fc.record({
      days: fc.integer({ min: 0, max: 60 }),
      psi: fc.oneof(fc.constantFrom(1e-9, 2e-9, 0), fc.double({ min: 0, max: 150, noNaN: true })),
      weightLb: fc.double({ min: 1, max: 60_000, noNaN: true }),
    }),
    { minLength: 1, maxLength: 14 },
  )

  it('gives positive variances, probabilities that add up, and ordered quantiles', () => {
    fc.assert(
      fc.property(weighings, (given) => {
        let days = 0
        const state = judge(
          given.map(({ days: more, psi, weightLb }) => {
            days += more
            return point(days * dayMs, psi, weightLb)
          }),
        )
        expect(state.stories.reduce((sum, { probability }) => sum + probability, 0)).toBeCloseTo(1, 9)
        for (const at of [-10, days / 2, days, days + 30]) {
          const mixture = weightAt(state, at * dayMs, 60, 0.4)
          for (const { variance } of mixture.parts) expect(variance).toBeGreaterThan(0)
          expect(Number.isFinite(mixture.weightLb)).toBe(true)
          expect(mixtureQuantile(mixture, 0.025)).toBeLessThan(mixtureQuantile(mixture, 0.975))
        }
      }),
    )
  })

  it('refuses what is not finite, out of order, or without a span', () => {
    expect(() => judge([point(0, Number.NaN, 1)])).toThrow(/not finite/)
    expect(() => judge([point(1, 10, 1), point(0, 10, 1)])).toThrow(/order of time/)
    expect(() => lineState({ ...lifeOf([]), limitPsi: 12 }, noise, defaultChangePriors)).toThrow(/limit pressure/)
  })
})

describe('a life that has just begun', () => {
  it('makes a provisional line of two tickets, far less sure than one of twelve', () => {
    const all = healthyPoints(12)
    const few = weightAt(judge([all[0] as WeighedPoint, all[2] as WeighedPoint]), dayMs, 50, 0)
    const many = weightAt(judge(all), dayMs, 50, 0)
    expect(Math.abs(few.weightLb - 24_500)).toBeLessThan(2 * few.uLb)
    expect(few.uLb).toBeGreaterThan(1.5 * many.uLb)
    expect(few.uLb).toBeLessThan(250)
  })
})

describe('mixtures of weights', () => {
  const parts = [
    { share: 0.25, mean: 30_000, variance: 100 ** 2 },
    { share: 0.75, mean: 34_000, variance: 200 ** 2 },
  ]

  it('put a quarter below a gap that a normal law would fill', () => {
    const mixture = mixtureOf(parts)
    expect(mixture.weightLb).toBe(33_000)
    expect(probabilityAbove(mixture, 32_000)).toBeCloseTo(0.75, 6)
    expect(mixtureQuantile(mixture, 0.125)).toBeCloseTo(30_000, 0)
  })
})

describe('a fleet too small to teach', () => {
  it('keeps the House Rules', () => {
    const series = lifeOf(healthyPoints(12))
    const { noise: learnt, temperature } = learnFleet(
      [{ series, kind: 'a', degreesF: series.points.map(() => 60) }],
      noise,
      defaultChangePriors,
    )
    expect(learnt).toEqual({ fleet: noise, kinds: new Map(), u: null, weighings: 0 })
    expect(temperature.share).toBeLessThan(0.05)
  })
})

describe('sensors and the weather', () => {
  it('corrects those that surely follow it, and leaves the others alone', () => {
    const signs = [
      ...Array.from({ length: 30 }, (_, i) => ({ psiPerDegree: 0.004 * ((i % 5) - 2), u: 0.006 })),
      { psiPerDegree: 0.04, u: 0.006 },
      { psiPerDegree: 0, u: Number.POSITIVE_INFINITY },
    ]
    const population = temperaturePopulation(signs)
    const effects = signs.map((sign) => temperatureEffect(sign, population))
    expect(effects.slice(0, 30).every(({ psiPerDegree }) => psiPerDegree === 0)).toBe(true)
    expect(effects[30]?.probability).toBeGreaterThan(0.95)
    expect(effects[30]?.psiPerDegree).toBeGreaterThan(0.03)
    expect(effects[31]?.psiPerDegree).toBe(0)
  })
})

describe('what the fleet says of the weather', () => {
  it('stays a number where one sensor follows it by more than any sensor can', () => {
    const signs = [
      { psiPerDegree: 5.6, u: 0.036 },
      { psiPerDegree: -0.01, u: 0.02 },
    ]
    const population = temperaturePopulation(signs)
    expect(population.share).toBeGreaterThan(0)
    expect(population.share).toBeLessThan(1)
    expect(population.spread).toBeGreaterThan(0.02)
    for (const sign of signs) {
      const { psiPerDegree, u, probability } = temperatureEffect(sign, population)
      expect([psiPerDegree, u, probability].every(Number.isFinite)).toBe(true)
    }
  })
})

describe('a weight between two weighings', () => {
  it('is the same read off at once and by a step of the smoother', () => {
    const whole = readerOf(judge(healthyPoints(12, (i) => (i < 9 ? 0 : -1_500))))
    const reader = { ...whole, stories: whole.stories.filter(({ driftFrom }) => driftFrom === null) }
    expect(reader.stories.some(({ jumps }) => jumps !== null)).toBe(true)
    const drifting = {
      ...reader,
      stories: reader.stories.map((story) => ({ ...story, driftFrom: Number.POSITIVE_INFINITY })),
    }
    for (const [day, psi] of [
      [-20, 40],
      [25, 30],
      [105, 70],
      [120, 40],
      [500, 55],
    ] as const) {
      const [quick, general] = [reader, drifting].map((one) => ownPartsAt(one, day * dayMs, psi, 0.4))
      expect(quick?.length).toBeGreaterThanOrEqual(reader.stories.length)
      expect(quick?.length).toBe(general?.length)
      for (const [i, part] of (quick ?? []).entries()) {
        expect(part.mean).toBeCloseTo(general?.[i]?.mean as number, 6)
        expect(part.variance).toBeCloseTo(general?.[i]?.variance as number, 5)
      }
    }
  })
})
