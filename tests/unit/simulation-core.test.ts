import { describe, expect, it } from 'vitest'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { parseInstant } from '#core/words/instant.ts'
import { cellHistory, cellLifeMs } from '#demo/simulation/battery.ts'
import { atLocal, dayFromText, dayMs, monthMs, stamp } from '#demo/simulation/clock.ts'
import { groupWeightsLb } from '#demo/simulation/loading.ts'
import { type VehicleModel, tractorModels, trailerModels, truckModels } from '#demo/simulation/models.ts'
import { Random } from '#demo/simulation/random.ts'
import { printedLb } from '#demo/simulation/scale.ts'
import { makeSensor, sensedPsi } from '#demo/simulation/sensor.ts'
import { transpositions } from '#demo/simulation/slips.ts'
import { type Suspension, circuitPressuresPsi, meanPressurePsi, wanderTo } from '#demo/simulation/suspension.ts'
import { makeUnit } from '#demo/simulation/unit.ts'
import { fictitiousVin } from '#demo/simulation/vin.ts'
import { vinCheckDigit } from '#core/words/vin.ts'

const draw = <T>(count: number, one: () => T): T[] => Array.from({ length: count }, one)
const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length
const deviation = (values: readonly number[]) => {
  const centre = mean(values)
  return Math.sqrt(mean(values.map((value) => (value - centre) ** 2)))
}

describe('the stream of random numbers', () => {
  it('repeats for a seed and differs for another', () => {
    const ten = (seed: string) => {
      const random = new Random(seed)
      return draw(10, () => random.next())
    }
    expect(ten('a')).toEqual(ten('a'))
    expect(ten('a')).not.toEqual(ten('b'))
  })

  it('forks streams that do not depend on what was drawn before', () => {
    const fresh = new Random(7)
    const used = new Random(7)
    for (let i = 0; i < 100; i += 1) used.next()
    expect(used.fork('x').next()).toBe(fresh.fork('x').next())
    expect(fresh.fork('x').next()).not.toBe(fresh.fork('y').next())
  })

  it('is flat over ten bins: chi-squared of 9 degrees of freedom under its 99.9 % quantile of 27.88 (NIST table)', () => {
    const random = new Random(1)
    const bins = new Array(10).fill(0)
    for (let i = 0; i < 100_000; i += 1) bins[Math.floor(random.next() * 10)] += 1
    expect(bins.reduce((sum, count) => sum + (count - 10_000) ** 2 / 10_000, 0)).toBeLessThan(27.88)
  })

  it('has the moments of the normal and the median of the Weibull law, scale · ln 2 ^ (1/shape)', () => {
    const random = new Random(2)
    const normal = draw(40_000, () => random.normal(3))
    expect(Math.abs(mean(normal))).toBeLessThan(0.06)
    expect(deviation(normal)).toBeCloseTo(3, 1)
    const lives = draw(40_000, () => random.weibull(4.5, 20)).toSorted((a, b) => a - b)
    expect(lives[20_000]).toBeCloseTo(20 * Math.LN2 ** (1 / 4.5), 0)
  })
})

describe('local time', () => {
  it('keeps the moment through stamp and parse', () => {
    for (let day = dayFromText('2024-11-24'); day < dayFromText('2026-11-24'); day += 5 * dayMs) {
      const at = atLocal(day, 13.25)
      expect(parseInstant(stamp(at))).toBe(at)
      expect(stamp(at)).toContain('T13:15:00-0')
    }
  })

  it('changes to and from summer time on the second Sunday of March and the first of November (15 U.S.C. 260a)', () => {
    expect(stamp(atLocal(dayFromText('2026-03-07'), 12))).toBe('2026-03-07T12:00:00-07:00')
    expect(stamp(atLocal(dayFromText('2026-03-08'), 12))).toBe('2026-03-08T12:00:00-06:00')
    expect(stamp(atLocal(dayFromText('2026-10-31'), 12))).toBe('2026-10-31T12:00:00-06:00')
    expect(stamp(atLocal(dayFromText('2026-11-01'), 12))).toBe('2026-11-01T12:00:00-07:00')
  })

  it('refuses a day that does not exist', () => {
    expect(() => dayFromText('2026-02-30')).toThrow(/2026-02-30 is not a date/)
  })
})

describe('VINs', () => {
  it('have the check digit of 49 CFR 565.15(c) (its sample 1G4AH59H45G118341, and two known valid ones)', () => {
    for (const vin of ['1G4AH59H45G118341', '1M8GDM9AXKP042788', '11111111111111111'])
      expect(vinCheckDigit(vin)).toBe(vin[8])
  })

  it('are 17 allowed characters, and belong to nobody', () => {
    for (let serial = 1; serial < 200; serial += 1) {
      const vin = fictitiousVin('A', 2014 + (serial % 12), serial)
      expect(vin).toMatch(/^1ZZTARE[A-HJ-NPR-Z0-9]{10}$/)
      expect(vin[8]).toBe(vinCheckDigit(vin))
    }
  })
})

const still = (unsprungLb: number, slopeLbPerPsi: number, circuitExcess: number[]): Suspension => ({
  unsprungLb,
  slopeLbPerPsi,
  circuitExcess,
  wanderPsi: 0,
  wanderedAt: 0,
  wanderRate: 0.05,
})

describe('the suspension', () => {
  it('carries a weight on a straight line through the unsprung weight', () => {
    const suspension = still(4_700, 390, [0])
    for (const psi of [0, 20, 75]) expect(meanPressurePsi(suspension, 4_700 + 390 * psi)).toBeCloseTo(psi, 10)
  })

  it('scatters by the leveling repeatability, the mean of two circuits no more than one', () => {
    const random = new Random(3)
    const twin = still(4_700, 390, [0.02, -0.02])
    const pairs = draw(20_000, () => circuitPressuresPsi(twin, 30_000, 0.35, random))
    const means = pairs.map(([left, right]) => ((left as number) + (right as number)) / 2)
    expect(deviation(means)).toBeCloseTo(0.35, 2)
    expect(mean(means)).toBeCloseTo(25_300 / 390, 1)
    expect(mean(pairs.map(([left, right]) => (left as number) / (right as number)))).toBeCloseTo(1.02 / 0.98, 3)
  })

  it('wanders by its rate times the root of the months', () => {
    const random = new Random(4)
    const after = draw(8_000, () => {
      const suspension = still(4_700, 390, [0])
      for (let month = 1; month <= 16; month += 1) wanderTo(suspension, month * monthMs, random)
      return suspension.wanderPsi
    })
    expect(deviation(after)).toBeCloseTo(0.05 * 4, 2)
  })
})

describe('sensors and scales', () => {
  it('show multiples of the resolution, and the atmosphere where absolute (U.S. Standard Atmosphere 1976)', () => {
    const random = new Random(5)
    const sensor = { ...makeSensor(1, 1, random), offsetPsi: 0, gain: 0 }
    const shown = draw(4_000, () => sensedPsi(sensor, 60, 0, 5_000, random))
    expect(mean(shown)).toBeCloseTo(60 + atmosphericPsi(5_000), 1)
    for (const psi of shown)
      expect(Math.abs(psi / sensor.resolutionPsi - Math.round(psi / sensor.resolutionPsi))).toBeLessThan(1e-6)
  })

  it('keep their constant errors within their accuracy', () => {
    const random = new Random(6)
    for (const sensor of draw(500, () => makeSensor(1, 0, random)))
      expect(Math.abs(sensor.offsetPsi)).toBeLessThanOrEqual(sensor.accuracyPsi)
  })

  it('print whole divisions', () => {
    const scale = {
      name: 's',
      divisionLb: 20,
      elevationFt: 0,
      tolerancePercent: 0.2,
      gain: 0.0012,
      grossOnly: false,
      nextTicket: 1,
    }
    expect(printedLb(scale, 30_000)).toBe(30_040)
    for (const weight of [9_123.4, 12_345, 33_999.9]) expect(printedLb(scale, weight) % 20).toBe(0)
  })
})

const unitOf = (model: VehicleModel) => {
  const random = new Random(model.model)
  return makeUnit(
    {
      number: model.model,
      model,
      yard: 'y',
      serial: 1,
      wanderRate: 0,
      startedAt: 0,
      nextSensor: () => makeSensor(1, 0, random),
    },
    random,
  )
}

describe('loads', () => {
  const total = (weights: ReadonlyMap<unknown, number>) =>
    [...weights.values()].reduce((sum, weight) => sum + weight, 0)

  it('put every pound of cargo on some axle group, for every tractor and trailer', () => {
    for (const power of tractorModels.map(unitOf)) {
      for (const trailer of trailerModels.map(unitOf)) {
        const empty = groupWeightsLb(power, trailer, { cargoLb: 0, centre: 0.5, fuelLb: 0, lift: 'none' })
        const full = groupWeightsLb(power, trailer, { cargoLb: 40_000, centre: 0.5, fuelLb: 300, lift: 'none' })
        expect(total(full) - total(empty)).toBeCloseTo(40_300, 6)
      }
    }
  })

  it('bring every sensed group near its limit when full, and under half of it when empty', () => {
    const combinations = [
      ...tractorModels.flatMap((power) => trailerModels.map((trailer) => [unitOf(power), unitOf(trailer)] as const)),
      ...truckModels.map((power) => [unitOf(power), null] as const),
    ]
    for (const [power, trailer] of combinations) {
      const { fullCargoLb, cargoCentre } = (trailer ?? power).model
      const at = (cargoLb: number) =>
        groupWeightsLb(power, trailer, { cargoLb, centre: cargoCentre, fuelLb: 0, lift: 'none' })
      const empty = at(0)
      for (const [group, weight] of at(fullCargoLb)) {
        if (group.suspension === null) continue
        expect(weight / group.model.limitLb).toBeGreaterThan(0.8)
        expect(weight / group.model.limitLb).toBeLessThan(1.05)
        expect((empty.get(group) as number) / group.model.limitLb).toBeLessThan(0.5)
        expect(meanPressurePsi(group.suspension, weight)).toBeLessThan(100)
      }
    }
  })

  it('shift weight from the other axles to a lowered lift axle', () => {
    const truck = unitOf(truckModels[0] as VehicleModel)
    const raised = groupWeightsLb(truck, null, { cargoLb: 25_000, centre: 0.83, fuelLb: 0, lift: 'raised' })
    const lowered = groupWeightsLb(truck, null, { cargoLb: 25_000, centre: 0.83, fuelLb: 0, lift: 'lowered' })
    expect(total(lowered)).toBeCloseTo(total(raised), 6)
    const drive = truck.groups.find(({ model }) => model.role === 'drive')
    expect(lowered.get(drive as never)).toBeLessThan(raised.get(drive as never) as number)
  })
})

describe('slips', () => {
  it('change over two neighbouring digits and nothing else', () => {
    expect(transpositions(31_460, 900)).toEqual([13_460, 34_160])
    expect(transpositions(22_220, 1)).toEqual([22_202])
  })
})

describe('cells', () => {
  it('live shorter the more often a sensor reports, and are changed in order of time until the end', () => {
    const random = new Random(8)
    const often = { ...makeSensor(1, 0, random), reportEveryS: 300 }
    const seldom = { ...often, reportEveryS: 900 }
    expect(mean(draw(2_000, () => cellLifeMs(often, random)))).toBeLessThan(
      mean(draw(2_000, () => cellLifeMs(seldom, random))),
    )
    for (let i = 0; i < 50; i += 1) {
      const { changes, silent } = cellHistory(often, 0, 2_000 * dayMs, [400 * dayMs], 0.3, random)
      expect(changes[0]).toEqual({ at: 0, reason: 'new' })
      expect(changes.map(({ at }) => at)).toEqual(changes.map(({ at }) => at).toSorted((a, b) => a - b))
      expect(silent.every(({ from, until }) => from < until)).toBe(true)
    }
  })
})
