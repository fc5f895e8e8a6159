import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bridgeSets } from '#core/weight/bridge.ts'
import { type GroupPlace, type UnitPlace, placeAxles } from '#core/weight/ruler.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { weighBridgeSet } from '#tests/unit/weigh-bridge-set.ts'

const group = (groupId: number, over: Partial<GroupPlace>): GroupPlace => ({
  groupId,
  group: `g${groupId}`,
  role: 'trailer',
  axles: 2,
  firstAxleFt: 0,
  axleSpacingFt: 4,
  limitLb: null,
  ...over,
})
const steer = (over: Partial<GroupPlace> = {}) =>
  group(1, { role: 'steer', axles: 1, firstAxleFt: null, axleSpacingFt: null, ...over })
const drive = (over: Partial<GroupPlace> = {}) => group(2, { role: 'drive', firstAxleFt: 16, ...over })
const tandem = (over: Partial<GroupPlace> = {}) => group(3, { firstAxleFt: 34, ...over })
const tractor = (over: Partial<UnitPlace> = {}): UnitPlace => ({
  unitId: 1,
  unit: 'T-1',
  kind: 'tractor',
  grossLimitLb: null,
  fifthWheelFt: 18,
  groups: [steer(), drive()],
  ...over,
})
const trailer = (over: Partial<UnitPlace> = {}): UnitPlace => ({
  unitId: 2,
  unit: 'R-1',
  kind: 'trailer',
  grossLimitLb: null,
  fifthWheelFt: null,
  groups: [tandem()],
  ...over,
})
const positions = (units: readonly UnitPlace[], lift: 'raised' | 'lowered' | 'none' | null = 'none') =>
  placeAxles(units, lift).stretches.map(({ axles }) => axles.map(({ positionFt }) => positionFt))

describe('the axle ruler', () => {
  it('puts a tractor and trailer on one ruler from the front axle', () => {
    const ruler = placeAxles([tractor(), trailer()], 'none')
    expect(positions([tractor(), trailer()])).toEqual([[0, 16, 20, 52, 56]])
    expect(ruler).toMatchObject({ gaps: [], axles: 5, stretches: [{ zero: 'front axle' }] })
  })

  it('says which distance is missing, keeps what is known, and joins nothing across it', () => {
    const noDrive = placeAxles([tractor({ groups: [steer(), drive({ firstAxleFt: null })] }), trailer()], 'none')
    expect(noDrive.gaps).toMatchObject([
      {
        groupId: 2,
        reason: 'no first axle',
        message: 'T-1 g2: the distance of its first axle behind the front axle is not recorded.',
      },
    ])
    expect(noDrive.stretches.map(({ axles }) => axles.map(({ positionFt }) => positionFt))).toEqual([
      [0],
      [0, 4],
      [52, 56],
    ])
    const noSpacing = placeAxles([tractor(), trailer({ groups: [tandem({ axleSpacingFt: null })] })], 'none')
    expect(noSpacing.gaps).toMatchObject([{ groupId: 3, reason: 'no axle spacing' }])
    const noWheel = placeAxles([tractor({ fifthWheelFt: null }), trailer()], 'none')
    expect(noWheel.gaps).toMatchObject([{ unitId: 1, reason: 'no fifth wheel' }])
    expect(noWheel.stretches.map(({ zero }) => zero)).toEqual(['front axle', 'kingpin'])
    expect(bridgeSets(noWheel).map(({ axles }) => axles)).toEqual([2, 3, 2, 2])
    expect(bridgeSets(noWheel).every(({ name }) => name === null)).toBe(true)
  })

  it('does not place a trailer behind a trailer and says so', () => {
    const second = trailer({ unitId: 3, unit: 'R-2', groups: [group(4, { firstAxleFt: 20 })] })
    const ruler = placeAxles([tractor(), trailer(), second], 'none')
    expect(ruler.gaps).toMatchObject([{ unitId: 3, reason: 'trailer behind a trailer' }])
    expect(ruler.stretches.map(({ axles }) => axles.length)).toEqual([5, 2])
    expect(ruler.axles).toBe(7)
  })

  it('takes a raised lift axle off the road, counts a lowered one, and says when it does not know', () => {
    const lifting = trailer({
      groups: [tandem(), group(4, { role: 'lift', axles: 1, firstAxleFt: 30, axleSpacingFt: null })],
    })
    expect(positions([tractor(), lifting], 'raised')).toEqual([[0, 16, 20, 52, 56]])
    expect(positions([tractor(), lifting], 'lowered')).toEqual([[0, 16, 20, 48, 52, 56]])
    expect(placeAxles([tractor(), lifting], null).gaps).toMatchObject([{ groupId: 4, reason: 'lift state unknown' }])
  })

  it("is the same whatever the order of a unit's groups, and moves with the kingpin only", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 40, max: 80 }),
        fc.integer({ min: 100, max: 170 }),
        fc.integer({ min: 1, max: 40 }),
        (wheel4, first4, shift4) => {
          const [wheel, first, shift] = [wheel4 / 4, first4 / 4, shift4 / 4]
          const forward = [tractor({ fifthWheelFt: wheel }), trailer({ groups: [tandem({ firstAxleFt: first })] })]
          const back = [
            tractor({ fifthWheelFt: wheel, groups: [drive(), steer()] }),
            trailer({ groups: [tandem({ firstAxleFt: first })] }),
          ]
          expect(positions(back)).toEqual(positions(forward))
          const moved = [
            tractor({ fifthWheelFt: wheel + shift }),
            trailer({ groups: [tandem({ firstAxleFt: first - shift })] }),
          ]
          expect(bridgeSets(placeAxles(moved, 'none'))).toEqual(bridgeSets(placeAxles(forward, 'none')))
        },
      ),
    )
  })
})

describe('bridge sets', () => {
  it('number n(n-1)/2, with an outer bridge over all axles and an inner one behind the first', () => {
    const sets = bridgeSets(placeAxles([tractor(), trailer()], 'none'))
    expect(sets).toHaveLength(10)
    expect(sets.filter(({ name }) => name !== null)).toMatchObject([
      { name: 'outer bridge', axles: 5 },
      { name: 'inner bridge', axles: 4 },
    ])
    expect(sets[0]).toMatchObject({
      firstAxle: 1,
      lastAxle: 2,
      lengthFt: 16,
      limitLb: 40_000,
      basis: 'axle cap',
      firstGroupId: 1,
      lastGroupId: 2,
    })
  })

  it('holds axles within 40 in to 20,000 and within 8 ft to 34,000 (23 CFR 658.5, from memory)', () => {
    const limits = (spacingFt: number) =>
      bridgeSets(placeAxles([trailer({ groups: [tandem({ axleSpacingFt: spacingFt })] })], 'none'))[0]
    expect(limits(3.3)).toMatchObject({ limitLb: 20_000, basis: 'single axle' })
    expect(limits(3.4)).toMatchObject({ limitLb: 34_000, basis: 'tandem' })
    expect(limits(8)).toMatchObject({ limitLb: 34_000, basis: 'tandem' })
    expect(limits(8.1)).toMatchObject({ limitLb: 38_000, basis: 'bridge formula' })
  })

  it('takes the caps from House Rules, never the formula', () => {
    const ruler = placeAxles([tractor(), trailer()], 'none')
    const sets = bridgeSets(ruler, {
      ...defaultHouseRules,
      tandemLimitLb: 36_000,
      singleAxleLimitLb: 22_000,
      grossLimitLb: 88_000,
    })
    const limitOf = (first: number, last: number) =>
      sets.find(({ firstAxle, lastAxle }) => firstAxle === first && lastAxle === last)?.limitLb
    expect([limitOf(2, 3), limitOf(1, 2), limitOf(2, 5), limitOf(1, 5)]).toEqual([36_000, 44_000, 72_000, 83_000])
  })

  it('weighs a set that splits a group by its share, and not at all with a group unweighed', () => {
    const sets = bridgeSets(placeAxles([tractor(), trailer()], 'none'))
    const firstTwo = sets.find(({ firstAxle, lastAxle }) => firstAxle === 1 && lastAxle === 2)
    if (!firstTwo) throw new Error('no set of axles 1 to 2')
    const own = (weightLb: number, u: number) => ({ weightLb, ownVarLb2: u * u, gains: [], follows: null })
    const weights = new Map([
      [1, own(12_000, 60)],
      [2, own(33_000, 160)],
    ])
    expect(weighBridgeSet(firstTwo, weights)).toMatchObject({ weightLb: 28_500, uLb: 100 })
    expect(weighBridgeSet(firstTwo, new Map([[1, own(12_000, 60)]]))).toBeNull()
  })

  it('gives a longer set of as many axles no smaller limit', () => {
    fc.assert(
      fc.property(fc.integer({ min: 34, max: 700 }), fc.integer({ min: 0, max: 100 }), (tenths, more) => {
        const inner = (firstAxleFt: number) =>
          bridgeSets(placeAxles([tractor(), trailer({ groups: [tandem({ firstAxleFt })] })], 'none')).find(
            ({ name }) => name === 'inner bridge',
          )?.limitLb ?? 0
        expect(inner((tenths + more) / 10)).toBeGreaterThanOrEqual(inner(tenths / 10))
      }),
    )
  })
})
