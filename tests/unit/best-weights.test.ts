import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { GroupHistory, Observation } from '#core/evidence/history.ts'
import { addParts, fewParts, mixtureOf, probabilityAbove } from '#core/evidence/state/weight-mixture.ts'
import { judgedSet, weighReading } from '#core/weight/combination-weights.ts'
import { type CorrelatedWeight, covarianceLb2, sumWeights } from '#core/weight/correlated.ts'
import { heavyWeights, unitVerdicts } from '#core/weight/heavy.ts'
import { loadTo } from '#core/weight/target-pressure.ts'
import { judgeSum, judgeWeight } from '#core/weight/verdict.ts'
import type { UnitToWeigh } from '#core/weight/weigh-combination.ts'
import { type GroupWeighing, type WeighedGroup, readyGroup, weighGroup } from '#core/weight/weigh.ts'
import { weigherOf } from '#core/weight/weigher.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { sayStored } from '#core/words/say.ts'
import { sayNoLoad } from '#core/words/sentences/load-to.ts'
import { sayRoom, sayThin, sayTwoWeights } from '#core/words/sentences/two-weights.ts'
import {
  calibration,
  dayMs,
  driveGroup,
  estimates,
  mount,
  observation,
  recordOf,
  scale,
  spring,
} from '#tests/unit/weight-fleet.ts'

const states = { rules: defaultHouseRules, scales: new Map([[1, scale]]), tickets: new Map(), estimates }
const ready = (history: GroupHistory) => readyGroup(history, states)
const trueLb = (psi: number) => 1000 + 480 * psi
let readingId = 100
/** A weighing on a day after spring: what the scale shows at a gauge pressure, by default what the line reads there. */
const weighing = (day: number, psi: number, over: Partial<Observation> = {}): Observation => {
  readingId += 1
  return observation({
    readingId,
    ticketId: readingId,
    takenAt: spring + day * dayMs,
    psi: [psi],
    weightLb: trueLb(psi),
    ...over,
  })
}
const points = [20, 40, 66].map((psi, i) => weighing(0, psi, { readingId: i + 1, ticketId: i + 1 }))
/** A group calibrated in spring and weighed since. */
const followed = (checks: readonly Observation[], over: Partial<GroupHistory> = {}) =>
  driveGroup({ calibrations: [calibration(spring, points)], observations: [...points, ...checks], ...over })
const reading = (day: number, psi: number) =>
  observation({ takenAt: spring + day * dayMs, psi: [psi], ticketId: null, scaleId: null, weightLb: null })
function weighed(one: GroupWeighing): WeighedGroup {
  if (!one.weighed) throw new Error(one.reason)
  return one
}

const part = fc.record({
  share: fc.double({ min: 0.001, max: 1, noNaN: true }),
  mean: fc.double({ min: -3000, max: 3000, noNaN: true }),
  variance: fc.double({ min: 100, max: 90_000, noNaN: true }),
})
const mixtures = fc.array(part, { minLength: 1, maxLength: 16 }).map((drawn) => {
  const total = drawn.reduce((sum, { share }) => sum + share, 0)
  return drawn.map((one) => ({ ...one, share: one.share / total }))
})

describe('mixtures of a few parts', () => {
  it('keep probability, mean and variance when small parts are told together, and when two are added', () => {
    fc.assert(
      fc.property(mixtures, mixtures, fc.double({ min: -1, max: 1, noNaN: true }), (one, other, factor) => {
        const few = fewParts(one)
        expect(few.length).toBeLessThanOrEqual(9)
        expect(few.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 9)
        const [whole, kept] = [mixtureOf(one), mixtureOf(few)]
        expect(kept.weightLb).toBeCloseTo(whole.weightLb, 6)
        expect(kept.uLb).toBeCloseTo(whole.uLb, 6)
        const sum = addParts(few, fewParts(other), factor)
        expect(sum.length).toBeLessThanOrEqual(27)
        const added = mixtureOf(sum)
        const second = mixtureOf(other)
        expect(added.weightLb).toBeCloseTo(whole.weightLb + factor * second.weightLb, 5)
        expect(added.uLb).toBeCloseTo(Math.hypot(whole.uLb, factor * second.uLb), 5)
      }),
    )
  })
})

/** A weight of two explanations, 2,000 lb apart: as it was, or moved. */
const twofold = (weightLb: number, moved: number): CorrelatedWeight => {
  const parts = [
    { share: 1 - moved, mean: -2000 * moved, variance: 150 ** 2 },
    { share: moved, mean: 2000 * (1 - moved), variance: 150 ** 2 },
  ]
  return {
    weightLb,
    ownVarLb2: mixtureOf(parts).uLb ** 2,
    ownParts: parts,
    gains: [{ scaleId: 1, lb: 20 }],
    follows: null,
  }
}

describe('judging a weight of several explanations', () => {
  it('goes by the probability of all of them, where weight and uncertainty alone would be sure', () => {
    // One chance in twelve that it is 1,000 lb over: as a normal weight it would be surely under.
    const sum = sumWeights([twofold(33_000 + 2000 / 12, 1 / 12)])
    expect(judgeWeight(sum.weightLb, sum.uLb, 34_000, 90).verdict).toBe('under')
    const judged = judgeSum(sum, 34_000, 95, false)
    expect(judged.pOver).toBeCloseTo(1 / 12, 3)
    expect(judged.verdict).toBe('too close to call')
    expect(judgeSum(sum, 34_000, 90, false).verdict).toBe('under')
  })

  it('has room exactly when under, and fills it to under and not beyond', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 25_000, max: 40_000 }),
        fc.double({ min: 0.01, max: 0.99, noNaN: true }),
        fc.constantFrom(90, 95, 99),
        (weightLb, moved, percent) => {
          const at = (lb: number) => judgeSum(sumWeights([twofold(lb, moved)]), 34_000, percent, false)
          const { roomLb } = at(weightLb)
          expect(at(weightLb + roomLb - 0.1).verdict).toBe('under')
          expect(at(weightLb + roomLb + 0.1).verdict).not.toBe('under')
        },
      ),
    )
  })

  it('adds them up: an estimate moves with the weight that it follows, gains of one scale with each other', () => {
    const drive = twofold(30_000, 0.4)
    const steer: CorrelatedWeight = {
      weightLb: 11_000,
      ownVarLb2: 2500,
      gains: [{ scaleId: 1, lb: 5 }],
      follows: { weight: drive, slope: 0.1 },
    }
    const sum = sumWeights([drive, steer, twofold(28_000, 0.2)])
    // By brute force: both drive groups in both explanations, the steer weight with the first one.
    let pOver = 0
    for (const [a, shareA] of [
      [-800, 0.6],
      [1200, 0.4],
    ] as const)
      for (const [b, shareB] of [
        [-400, 0.8],
        [1600, 0.2],
      ] as const) {
        const mean = 69_000 + 1.1 * a + b
        const variance = (1.1 ** 2 + 1) * 150 ** 2 + 2500 + (20 + 5 + 2 + 20) ** 2
        pOver +=
          shareA * shareB * probabilityAbove({ parts: [{ share: 1, mean, variance }], weightLb: 0, uLb: 0 }, 69_500)
      }
    expect(sum.mixture && probabilityAbove(sum.mixture, 69_500)).toBeCloseTo(pOver, 9)
    expect(sum.uLb).toBeCloseTo(sum.mixture?.uLb ?? 0, 6)
    expect(covarianceLb2(drive, steer)).toBeCloseTo(0.1 * drive.ownVarLb2 + 20 * 7, 6)
  })

  it('is never sure where the evidence is too thin, whatever the figures say', () => {
    expect(judgeSum({ weightLb: 20_000, uLb: 100 }, 34_000, 95, true)).toMatchObject({
      verdict: 'too close to call',
      isThin: true,
    })
    expect(judgeSum({ weightLb: 40_000, uLb: 100 }, 34_000, 95, true).verdict).toBe('too close to call')
  })
})

describe('the best weight of a group', () => {
  const checks = [30, 60, 90, 120, 150].map((day, i) => weighing(day, 40 + 5 * i))

  it('is surer than its line while checks agree with it, and the line says what it said', () => {
    const best = weighed(weighGroup(ready(followed(checks)), reading(160, 60)))
    const alone = weighed(weighGroup(ready(followed([])), reading(160, 60)))
    expect(best.byLine?.weightLb).toBeCloseTo(trueLb(60), 4)
    expect(best.byLine?.uLb).toBeCloseTo(alone.byLine?.uLb ?? 0, 9)
    expect(Math.abs(best.weightLb - trueLb(60))).toBeLessThan(50)
    expect(best.uLb).toBeLessThan(best.byLine?.uLb ?? 0)
    expect([best.isThin, best.isProvisional]).toEqual([false, false])
  })

  it('is what the line reads where nothing was weighed with a reading, or a circuit of its life was not read', () => {
    const both = ['left', 'right'].map((name, i) => ({
      circuitId: i + 1,
      name,
      airSprings: 4,
      springAreaIn2: null,
      mounts: [mount({ serial: name })],
    }))
    const sided = (one: Observation, right: boolean): Observation => ({
      ...one,
      psi: [one.psi[0] ?? null, right ? (one.psi[0] ?? null) : null],
    })
    // Calibrated on the left circuit alone; all later weighings were read on both.
    const left = points.map((one) => sided(one, false))
    const group = driveGroup({
      circuits: both,
      calibrations: [calibration(spring, left)],
      observations: [...left, ...checks.map((one) => sided(one, true))],
    })
    const read = weighed(weighGroup(ready(group), sided(reading(160, 60), false)))
    expect(read.weight).toBe(read.byLine?.weight)
    const whole = weighed(weighGroup(ready(group), sided(reading(160, 60), true)))
    expect(whole.weight).not.toBe(whole.byLine?.weight)
  })

  it('judges no pressure that cannot be right: noted in another unit, as its ticket tells, or beyond its sensor', () => {
    // An empty unit in kPa: 138 would be 20 psi, and passes for a pressure.
    const empty = weighing(100, 138, { weightLb: trueLb(20) })
    const later = weighing(170, 50)
    const group = ready(followed([...checks, empty, later].toSorted((a, b) => a.takenAt - b.takenAt)))
    const noted = weighed(weighGroup(group, empty))
    expect([noted.isOddPressure, noted.isThin]).toEqual([true, true])
    expect(sayThin(noted)).toMatch(/unit it was noted in/)
    // The line reads what was typed; the evidence knows what it was, and no verdict is said until somebody has looked.
    expect(noted.byLine?.weightLb).toBeCloseTo(trueLb(138), 0)
    expect(Math.abs(noted.weightLb - trueLb(20))).toBeLessThan(2 * noted.uLb)
    expect(noted.uLb).toBeLessThan(400)
    for (const one of [later, reading(105, 138)]) {
      const { isOddPressure, isThin } = weighed(weighGroup(group, one))
      expect([isOddPressure, isThin]).toEqual([false, false])
    }
    const beyond = weighed(weighGroup(group, reading(160, 420)))
    expect([beyond.isOddPressure, beyond.isThin]).toEqual([true, true])
    const small = {
      circuitId: 1,
      name: 'main',
      airSprings: 4,
      springAreaIn2: null,
      mounts: [mount({ serial: 'small', rangePsi: 60 })],
    }
    const bySmall = ready(followed(checks, { circuits: [small] }))
    expect([59, 61].map((psi) => weighed(weighGroup(bySmall, reading(160, psi))).isOddPressure)).toEqual([false, true])
    // Without a weighing to follow, the line alone speaks of it.
    const alone = ready(driveGroup({ calibrations: [calibration(spring, points)], observations: [] }))
    expect(weighed(weighGroup(alone, reading(160, 420))).isThin).toBe(true)
  })

  it('follows a line that moved, and puts the one weighing that first said so under no sure verdict', () => {
    const moved = (day: number, psi: number) => weighing(day, psi, { weightLb: trueLb(psi) - 1500 })
    const first = ready(followed([...checks, moved(180, 60)]))
    const thin = weighed(weighGroup(first, reading(190, 68)))
    expect([thin.isThin, weighed(weighGroup(first, reading(140, 68))).isThin]).toEqual([true, false])
    expect(loadTo(first, 34_000, 95, spring + 190 * dayMs, null)).toEqual({
      why: ['suspect', { name: 'T-1 drive' }],
    })
    const known = ready(followed([...checks, moved(180, 60), moved(210, 50), moved(240, 65), moved(270, 58)]))
    const best = weighed(weighGroup(known, reading(280, 68)))
    expect(best.isThin).toBe(false)
    expect(Math.abs(best.weightLb - (trueLb(68) - 1500))).toBeLessThan(2 * best.uLb)
    expect(best.byLine?.weightLb).toBeCloseTo(trueLb(68), 4)
    const target = loadTo(known, 34_000, 95, spring + 280 * dayMs, null)
    // The line reads 34,000 lb at 68.75 psi, the moved one at 71.9 psi.
    expect('psi' in target && target.psi).toBeGreaterThan(69)
    expect('psi' in target && target.psi).toBeLessThan(71.9)
  })

  it('corrects for the temperature only a sensor that surely follows it', () => {
    const warm = { ...reading(160, 60), temperatureF: 100 }
    const group = ready(followed(checks))
    expect(weighed(weighGroup(group, warm)).weightLb).toBe(weighed(weighGroup(group, reading(160, 60))).weightLb)
  })

  it('shares the gain error of a scale with other groups that were weighed there', () => {
    const [one, other] = [2, 3].map((groupId) => ready(followed(checks, { groupId })))
    if (!one || !other) throw new Error('two groups are needed')
    const [a, b] = [one, other].map((group) => weighed(weighGroup(group, reading(160, 60))))
    const gain = (0.002 / Math.sqrt(3)) * trueLb(60)
    expect(covarianceLb2(a?.weight as CorrelatedWeight, b?.weight as CorrelatedWeight)).toBeCloseTo(gain * gain, -1)
  })
})

describe('after recorded work', () => {
  const work = { happenedAt: spring + 100 * dayMs, kind: 'valve replaced' as const, circuitId: null, note: null }
  const sinceWork = (day: number, psi: number) => weighing(day, psi, { weightLb: trueLb(psi) + 900 })
  const broken = (...since: Observation[]) => ready(followed([weighing(50, 50), ...since], { events: [work] }))
  const at = (group: ReturnType<typeof ready>, psi = 60) => weighGroup(group, reading(130, psi))

  it('two weighings at different loads make a provisional line with honest uncertainty, and no line beside it', () => {
    const best = weighed(at(broken(sinceWork(110, 20), sinceWork(120, 62))))
    expect([best.source, best.isProvisional, best.byLine, best.line]).toEqual(['provisional', true, null, null])
    expect(Math.abs(best.weightLb - (trueLb(60) + 900))).toBeLessThan(2 * best.uLb)
    const before = weighed(weighGroup(broken(sinceWork(110, 20), sinceWork(120, 62)), reading(90, 60)))
    expect(best.uLb).toBeGreaterThan(before.uLb)
  })

  it('one loaded weighing makes one, since the limit is near; an empty one, or two like it, do not', () => {
    expect(weighed(at(broken(sinceWork(110, 66)))).source).toBe('provisional')
    for (const group of [broken(), broken(sinceWork(110, 15)), broken(sinceWork(110, 15), sinceWork(120, 16))]) {
      const none = at(group)
      expect(none.weighed ? none.source : none.reason).toBe('upset')
    }
  })

  it('asks for the pressure that it lacks where a provisional line would weigh, and else says that the line ended', () => {
    const unread = { ...reading(130, 60), psi: [null] }
    const reasonOf = (group: ReturnType<typeof ready>) => {
      const found = weighGroup(group, unread)
      return found.weighed ? found.source : [found.reason, found.why[0]]
    }
    expect(reasonOf(broken(sinceWork(110, 20), sinceWork(120, 62)))).toEqual(['no pressure', 'no pressure'])
    expect(reasonOf(broken())).toEqual(['upset', 'line ended'])
  })

  it('has a pressure to load to once it carries a line, and says why not before', () => {
    const limit = [34_000, 95, spring + 130 * dayMs, null] as const
    const target = loadTo(broken(sinceWork(110, 20), sinceWork(120, 62)), ...limit)
    expect('psi' in target && target.psi).toBeGreaterThan(60)
    expect('psi' in target && target.psi).toBeLessThan((34_000 - 900 - 1000) / 480)
    const none = loadTo(broken(), ...limit)
    if ('psi' in none) throw new Error('there is a pressure to load to')
    expect(sayNoLoad(none.why, sayStored('UTC'))).toBe(
      'T-1 drive was not weighed: on 2026-06-09 a leveling valve was replaced, after its calibration of 2026-03-01.',
    )
  })
})

describe('what is heavy by all evidence, and by the line', () => {
  const unit: UnitToWeigh = {
    unitId: 1,
    unit: 'T-1',
    kind: 'trailer',
    grossLimitLb: null,
    fifthWheelFt: null,
    groups: [
      {
        groupId: 2,
        group: 'drive',
        role: 'trailer',
        axles: 2,
        axleSpacingFt: 4,
        firstAxleFt: 30,
        limitLb: 34_000,
        measuredBy: 'circuit',
      },
    ],
  }
  const fleet = (checks: readonly Observation[]) =>
    weigherOf({
      units: [unit],
      record: recordOf([followed(checks)]),
      steer: [],
      tickets: [],
      estimates,
      rules: defaultHouseRules,
    }).ready([1])
  const look = (checks: readonly Observation[], day: number, psi: number) => {
    const combination = fleet(checks)
    const taken = { ...reading(day, psi), temperatureF: null, pressures: new Map([[2, [psi]]]), ticket: null }
    return { combination, weights: weighReading(combination, taken) }
  }
  const moved = [180, 210, 240, 270].map((day, i) => weighing(day, 45 + 7 * i, { weightLb: trueLb(45 + 7 * i) - 1500 }))
  const good = [30, 60, 90, 120, 150].map((day, i) => weighing(day, 40 + 5 * i))

  it('keeps a row that the line alone calls over, and counts it as under', () => {
    const { combination, weights } = look([...good, ...moved], 280, 70)
    const one = { ready: combination, ticket: null, readings: [{ readingId: 1, weights }] }
    const [row] = heavyWeights(one)
    expect(row).toMatchObject({ kind: 'group', verdict: 'under', byLine: { verdict: 'over' }, isProvisional: false })
    expect(row?.byLine?.weightLb).toBeCloseTo(trueLb(70), 3)
    expect(unitVerdicts(one)[0]).toMatchObject({ group: 0, gross: 0 })
    expect(weights.groups[0]?.byLine?.verdict).toBe('over')
    expect(judgedSet(weights.bridge, 0, 95).byLine?.judgement.verdict).toBe('over')
  })

  it('leaves a light load out of the log while the evidence is thin, and lists one near the limit as open', () => {
    const thin = [...good, weighing(180, 60, { weightLb: trueLb(60) - 1500 })]
    const of = (psi: number) => {
      const { combination, weights } = look(thin, 190, psi)
      const one = { ready: combination, ticket: null, readings: [{ readingId: 1, weights }] }
      return { verdict: weights.groups[0]?.judgement?.verdict, rows: heavyWeights(one), units: unitVerdicts(one) }
    }
    expect(of(30)).toMatchObject({ verdict: 'too close to call', rows: [], units: [{ group: 0, gross: 0 }] })
    expect(of(72)).toMatchObject({ verdict: 'too close to call', units: [{ group: 1 }] })
    expect(of(72).rows[0]).toMatchObject({ kind: 'group', verdict: 'too close to call' })
  })
})

describe('words for two weights', () => {
  const say = sayStored('UTC')
  it('tell both where they lie apart by more than the best one is known by', () => {
    const best = { weightLb: 34_312, uLb: 209 }
    expect(sayTwoWeights(best, { weightLb: 35_219, uLb: 180 }, say)).toBe(
      'by the line 35,220 lb; all evidence says 34,310 ± 420 lb',
    )
    expect(sayTwoWeights(best, { weightLb: 34_500, uLb: 180 }, say)).toBeNull()
    expect(sayTwoWeights(best, null, say)).toBeNull()
  })

  it('name the excess, and apart from it what the margin adds', () => {
    expect(sayRoom(35_200, { limitLb: 34_000, roomLb: -1540 }, say)).toBe(
      'over by 1,200 lb; by 1,540 lb, margin included',
    )
    expect(sayRoom(33_900, { limitLb: 34_000, roomLb: -240 }, say)).toBe(
      'under by 100 lb; over by 240 lb, margin included',
    )
    expect(sayRoom(30_000, { limitLb: 34_000, roomLb: 3660 }, say)).toBe('room for 3,660 lb')
    expect(sayRoom(30_000, { limitLb: 34_000, roomLb: 3660, isThin: true }, say)).toBe('room not known')
  })
})
