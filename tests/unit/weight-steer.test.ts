import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { covarianceLb2, varianceLb2 } from '#core/weight/correlated.ts'
import {
  type SteerFacts,
  type SteerTicket,
  compareWithStatics,
  estimateSteer,
  fifthWheelStatics,
  fleetSteerScatterLb,
  steerModel,
} from '#core/weight/steer.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { normalFrom, scale } from '#tests/unit/weight-fleet.ts'
import { seeded } from '#tests/seeded.ts'

const rules = defaultHouseRules
const scaleOf = () => scale

function staticsOf(fifthWheelFt: number, wheelbaseFt: number) {
  const result = fifthWheelStatics(fifthWheelFt, wheelbaseFt)
  if (!result.ok) throw new Error(result.problem.message)
  return result.value
}
// A fifth wheel 2 ft ahead of the drive's middle, 18 ft behind the front axle: 1/8 lb on steer per lb on drive.
const statics = staticsOf(16, 18)

const ticket = (driveLb: number, over: Partial<SteerTicket> = {}): SteerTicket => ({
  weighedAt: 0,
  scaleId: 1,
  lift: null,
  driveLb,
  steerLb: 9000 + 0.125 * driveLb,
  ...over,
})
const facts = (over: Partial<SteerFacts> = {}): SteerFacts => ({
  tickets: [8000, 20_000, 28_000, 33_000].map((lb) => ticket(lb)),
  statics: null,
  driveLimitLb: 34_000,
  ...over,
})

function modelOf(over: Partial<SteerFacts> = {}, lift: SteerTicket['lift'] = null) {
  const result = steerModel(facts(over), lift, scaleOf, rules)
  if (!result.ok) throw new Error(result.problem.message)
  return result.value
}
const drive = (weightLb: number, u = 150) => ({
  weightLb,
  ownVarLb2: u * u,
  gains: [{ scaleId: 1, lb: 0.00115 * weightLb }],
  follows: null,
})
const uAt = (model: ReturnType<typeof modelOf>, driveLb: number) =>
  Math.sqrt(varianceLb2(estimateSteer(model, drive(driveLb, 0))))

describe('steer from drive', () => {
  it('follows the tickets, moves with the drive weight and shares its error', () => {
    const model = modelOf()
    expect(model).toMatchObject({ basis: 'tickets', tickets: 4 })
    const tandem = drive(30_000)
    const steer = estimateSteer(model, tandem)
    expect(steer.weightLb).toBeCloseTo(12_750, 4)
    // b u²(drive) and the scale that moves both by their weight: 0.125 · 150² + (g · 12,750)(g · 30,000), g = 0.2 %/√3.
    expect(covarianceLb2(steer, tandem)).toBeCloseTo(
      0.125 * 150 ** 2 + (0.002 / Math.sqrt(3)) * 12_750 * 0.00115 * 30_000,
      -1,
    )
  })

  it('moves as a whole with a scale that is behind all its tickets', () => {
    const gain = 0.002 / Math.sqrt(3)
    const shift = modelOf().shifts[0]
    expect((shift?.da ?? 0) + 30_000 * (shift?.db ?? 0)).toBeCloseTo(gain * 9000, 0)
    expect(modelOf({ tickets: [ticket(8000)], statics }).shifts[0]?.da).toBeCloseTo(gain * 9000, 3)
  })

  it('is least sure far from its tickets and never surer with a less certain drive weight', () => {
    const model = modelOf()
    fc.assert(
      fc.property(
        fc.double({ min: 6000, max: 40_000, noNaN: true }),
        fc.double({ min: 0, max: 500, noNaN: true }),
        fc.double({ min: 0, max: 500, noNaN: true }),
        (driveLb, one, other) => {
          const [sure, unsure] = [Math.min(one, other), Math.max(one, other)].map((u) =>
            varianceLb2(estimateSteer(model, drive(driveLb, u))),
          )
          expect(unsure).toBeGreaterThanOrEqual(sure as number)
        },
      ),
    )
    expect(uAt(model, 45_000)).toBeGreaterThan(uAt(model, 25_000))
  })

  it('falls back to one empty ticket and the fifth wheel, honestly less sure when loaded', () => {
    const model = modelOf({ tickets: [ticket(8000)], statics })
    expect(model.basis).toBe('fifth wheel')
    expect(estimateSteer(model, drive(30_000)).weightLb).toBeCloseTo(12_750, 6)
    expect(uAt(model, 8000)).toBeLessThan(110)
    expect(uAt(model, 30_000)).toBeGreaterThan(uAt(modelOf(), 30_000))
    expect(uAt(model, 30_000)).toBeGreaterThan(200)
  })

  it('prefers the fifth wheel while the tickets are too much alike to give a slope', () => {
    const alike = [32_800, 33_000, 33_200].map((lb) => ticket(lb))
    expect(modelOf({ tickets: alike, statics }).basis).toBe('fifth wheel')
    expect(modelOf({ statics }).basis).toBe('tickets')
  })

  it('says when it cannot be estimated', () => {
    expect(steerModel(facts({ tickets: [] }), null, scaleOf, rules)).toMatchObject({
      ok: false,
      problem: { code: 'no-ticket' },
    })
    expect(steerModel(facts({ tickets: [ticket(8000)] }), null, scaleOf, rules)).toMatchObject({
      ok: false,
      problem: { code: 'no-position' },
    })
    const swapped = facts().tickets.map((one, i) =>
      i === 2 ? { ...one, steerLb: one.driveLb, driveLb: one.steerLb } : one,
    )
    expect(steerModel(facts({ tickets: swapped }), null, scaleOf, rules)).toMatchObject({
      ok: false,
      problem: { code: 'tickets-disagree' },
    })
    expect(
      steerModel(facts({ tickets: [32_900, 33_000].map((lb) => ticket(lb)) }), null, scaleOf, rules),
    ).toMatchObject({ ok: false, problem: { code: 'no-position' } })
  })

  it('uses only tickets of a fitting lift state', () => {
    const tickets = [...facts().tickets, ...[9000, 30_000].map((lb) => ticket(lb, { lift: 'lowered' }))]
    expect(modelOf({ tickets }, 'raised').tickets).toBe(4)
    expect(modelOf({ tickets }, 'lowered').tickets).toBe(6)
  })

  it('becomes less sure when its own tickets scatter more than the rules say', () => {
    const rough = facts().tickets.map((one, i) => ({ ...one, steerLb: one.steerLb + (i % 2 === 0 ? 400 : -400) }))
    expect(modelOf({ tickets: rough }).scatterLb).toBeGreaterThan(3 * modelOf().scatterLb)
  })
})

describe('steer tickets against fifth-wheel statics', () => {
  it('agree where the fifth wheel stands as recorded', () => {
    const check = compareWithStatics(facts(), statics, scaleOf, rules)
    expect(check).toMatchObject({ disagree: false, tickets: 4 })
    expect(check?.impliedFifthWheelFt).toBeCloseTo(16, 6)
    expect(check?.differenceLb).toBeCloseTo(0, 4)
  })

  it('disagree where it is recorded 2 ft off, and name where it would have to stand', () => {
    const check = compareWithStatics(facts(), staticsOf(14, 18), scaleOf, rules)
    expect(check).toMatchObject({ disagree: true })
    expect(check?.impliedFifthWheelFt).toBeCloseTo(16, 6)
    expect(check?.z).toBeLessThan(-3)
  })

  it('say nothing while the tickets make no line, and refuse distances that are none', () => {
    expect(compareWithStatics(facts({ tickets: [ticket(8000)] }), statics, scaleOf, rules)).toBeUndefined()
    expect(fifthWheelStatics(0, 18)).toMatchObject({ ok: false, problem: { code: 'not-positive' } })
    expect(fifthWheelStatics(16, Number.NaN)).toMatchObject({ ok: false })
  })

  it('gives all of the kingpin load to the drive group when it stands over its middle, and less than none to steer behind it', () => {
    expect(staticsOf(18, 18)).toMatchObject({ steerShare: 0, slope: 0 })
    expect(staticsOf(19, 18).steerShare).toBeLessThan(0)
  })
})

describe("the fleet's steer scatter", () => {
  function fleet(scatterLb: number, slips: number) {
    const normal = normalFrom(seeded(7))
    return Array.from({ length: 150 }, (_, i) => ({
      tickets: [8000, 15_000, 26_000, 31_000, 33_000].map((lb, j) => {
        const steerLb = 9000 + 0.12 * lb + scatterLb * normal() + 40 * normal()
        return ticket(lb, { steerLb: i < slips && j === 2 ? steerLb + 9000 : steerLb })
      }),
    }))
  }

  it.each([80, 200])(
    'of %i lb is found within 10 percent, with one mistyped ticket in every fifteenth tractor too (seeded)',
    (scatterLb) => {
      for (const slips of [0, 10])
        expect(Math.abs(fleetSteerScatterLb(fleet(scatterLb, slips), scaleOf, rules) / scatterLb - 1)).toBeLessThan(
          slips === 0 ? 0.1 : 0.25,
        )
    },
  )

  it("is the House Rules' one while no tractor has three tickets", () => {
    expect(fleetSteerScatterLb([{ tickets: [ticket(8000), ticket(30_000)] }], scaleOf, rules)).toBeCloseTo(
      rules.steerScatterLb,
      1,
    )
  })
})
