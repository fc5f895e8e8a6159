import { describe, expect, it } from 'vitest'
import { sayOfRules } from '#core/words/say.ts'
import { unlikelyPressure, unlikelyWeight } from '#core/words/sentences/unlikely.ts'

// 150 psi and 500 lb are common trade practice, from memory.
const us = sayOfRules({ measures: 0, zone: 'UTC' })

describe('a typed pressure that is hardly meant so', () => {
  it('asks about kPa where that would fit, and about a slip where it would not', () => {
    expect(unlikelyPressure(484, null, us)).toMatch(/Is it kPa\? That would be 70\.2\spsi/)
    expect(unlikelyPressure(1_400, null, us)).toMatch(/Is it a slip\?/)
    expect(unlikelyPressure(484, null, us)).toMatch(/more than an air circuit holds \(150\.0\spsi\)/)
  })
  it('goes by the range of the sensor where that is on record', () => {
    expect(unlikelyPressure(120, null, us)).toBeNull()
    expect(unlikelyPressure(120, 100, us)).toMatch(/more than its sensor can show/)
    expect(unlikelyPressure(160, 200, us)).toBeNull()
  })
  it('leaves every pressure that a circuit can hold alone', () => {
    for (const psi of [0, 5, 70, 135, 150]) expect(unlikelyPressure(psi, null, us)).toBeNull()
  })
})

describe('a typed weight that is hardly meant so', () => {
  it('asks about a part that is missing, and a digit too many', () => {
    expect(unlikelyWeight(34, us)).toMatch(/34\slb is less than any axle group weighs/)
    expect(unlikelyWeight(341_200, us)).toMatch(/digit too many/)
  })
  it('leaves an axle off the road, an empty axle and a heavy group alone', () => {
    for (const lb of [0, 4_200, 34_000, 62_000]) expect(unlikelyWeight(lb, us)).toBeNull()
  })
})
