import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { familyFigures, familyKey } from '#core/evidence/estimates.ts'
import type { GroupFacts } from '#core/evidence/history.ts'
import type { Line } from '#core/line/fit.ts'
import { median, robustSpread } from '#core/line/statistics.ts'
import { Random } from '#demo/simulation/random.ts'
import { circuit, history } from '#tests/unit/group-history.ts'

const line = (a: number, b: number): Line => ({ a, b, uA: 150, uB: 4, covAB: -500 })
const group: GroupFacts = history()
const only = (lines: readonly Line[]) =>
  familyFigures(lines.map((each) => ({ group, line: each }))).get(familyKey(group) ?? '')

describe('median and robust spread', () => {
  it('are those of the middle, whatever less than half of the values say', () => {
    const good = fc.array(fc.double({ min: -10, max: 10, noNaN: true }), { minLength: 5, maxLength: 40 })
    fc.assert(
      fc.property(
        good,
        fc.array(fc.double({ min: -1e9, max: 1e9, noNaN: true }), { maxLength: 40 }),
        (values, wild) => {
          const some = wild.slice(0, Math.ceil(values.length / 2) - 1)
          const all = [...values, ...some]
          expect(median(all)).toBeGreaterThanOrEqual(Math.min(...values))
          expect(median(all)).toBeLessThanOrEqual(Math.max(...values))
          expect(robustSpread(all)).toBeLessThanOrEqual(
            1.4826 * (Math.max(...values) - Math.min(...values)) * (1 + 1e-12),
          )
        },
      ),
    )
  })

  it('leave the list as it was and do not care for its order', () => {
    const values = [5, 1, 4, 2, 3]
    expect([median(values), median(values.toSorted((a, b) => a - b)), values]).toEqual([3, 3, [5, 1, 4, 2, 3]])
    expect(median([4, 1, 3, 2])).toBe(2.5)
    expect(median([])).toBeNaN()
  })

  it('tell the standard deviation of a normal sample', () => {
    const random = new Random('spread')
    expect(robustSpread(Array.from({ length: 20_000 }, () => random.normal(7)))).toBeCloseTo(7, 0)
  })
})

describe('familyKey', () => {
  it('is the same for the same hardware, in whatever order its circuits are listed', () => {
    const left = circuit({ circuitId: 1, airSprings: 2, springAreaIn2: 55 })
    const right = circuit({ circuitId: 2, airSprings: 4, springAreaIn2: 60 })
    expect(familyKey(history({ circuits: [left, right], unit: 'T-1', limitLb: 20_000 }))).toBe(
      familyKey(history({ circuits: [right, left] })),
    )
  })

  it('differs with role, axles, springs and area', () => {
    const keys = [
      history(),
      history({ role: 'trailer' }),
      history({ axles: 3 }),
      history({ circuits: [circuit({ airSprings: 8 })] }),
      history({ circuits: [circuit({ springAreaIn2: 70 })] }),
      history({ circuits: [circuit(), circuit({ circuitId: 2 })] }),
    ].map(familyKey)
    expect(new Set(keys).size).toBe(keys.length)
  })

  it('is unknown where the record lacks springs, area or circuits', () => {
    expect(familyKey(history({ circuits: [circuit(), circuit({ airSprings: null })] }))).toBeUndefined()
    expect(familyKey(history({ circuits: [circuit({ springAreaIn2: null })] }))).toBeUndefined()
    expect(familyKey(history({ circuits: [] }))).toBeUndefined()
  })
})

describe('familyFigures', () => {
  it('need eight lines of one kind', () => {
    expect(only(Array.from({ length: 7 }, (_, i) => line(4000 + i, 500)))).toBeUndefined()
    expect(only(Array.from({ length: 8 }, (_, i) => line(4000 + i, 500)))).toMatchObject({
      lines: 8,
      slope: { median: 500, spread: 0 },
      intercept: { median: 4003.5 },
    })
  })

  it('keep kinds apart and leave out groups whose hardware is unknown', () => {
    const trailer = history({ role: 'trailer' })
    const unknown = history({ circuits: [circuit({ airSprings: null })] })
    const members = Array.from({ length: 8 }, (_, i) => [
      { group, line: line(4000, 500 + i) },
      { group: trailer, line: line(6000, 300 + i) },
      { group: unknown, line: line(0, 1) },
    ]).flat()
    const figures = familyFigures(members)
    expect(figures.size).toBe(2)
    expect(figures.get(familyKey(trailer) ?? '')).toMatchObject({ lines: 8, slope: { median: 303.5 } })
  })

  it('are not shaped by odd lines among them', () => {
    const random = new Random('family')
    const good = Array.from({ length: 40 }, () => line(4000 + random.normal(120), 500 + random.normal(6)))
    const odd = Array.from({ length: 12 }, (_, i) => line(-20_000, 50 + i))
    const clean = only(good)
    const mixed = only([...good, ...odd])
    expect(Math.abs((mixed?.slope.median ?? 0) - (clean?.slope.median ?? 0))).toBeLessThan(4)
    expect(mixed?.slope.spread ?? 0).toBeLessThan(2 * (clean?.slope.spread ?? 0))
    expect(Math.abs((mixed?.intercept.median ?? 0) - (clean?.intercept.median ?? 0))).toBeLessThan(80)
  })
})
