import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { type House, runHouse } from '#tests/api/desk.ts'
import { bringInSmallFleet } from '#tests/api/windows.ts'
import { insertListedFleet } from '#tests/bench/listed-fleet.ts'

const kindOf = (units: readonly { readonly kind: string }[], kind: string) =>
  units.filter((unit) => unit.kind === kind).length

describe('units to choose from', () => {
  let house: House
  beforeAll(async () => {
    house = await runHouse()
    await house.app.context.fleet.use(async (store) => insertListedFleet(store, 1000))
  })
  afterAll(() => house[Symbol.asyncDispose]())

  it('of a large fleet are the first by number, as many as a list shows', async () => {
    const { units, usual, whole } = await house.here.weigh.combinations()
    expect([kindOf(units, 'tractor'), kindOf(units, 'trailer'), whole, usual]).toEqual([60, 60, false, []])
    expect(units[0]).toEqual({ unit: 'T1', kind: 'tractor', yard: 'Alder Flat', groups: 3, sensed: 3 })
    expect(units.map(({ unit }) => unit).slice(58, 62)).toEqual(['T117', 'T119', 'V2', 'V4'])
    expect(JSON.stringify({ units, usual }).length).toBeLessThan(20_000)
  })

  it('are found by the beginning of a number, by a yard and by several words', async () => {
    const found = async (text: string) => (await house.here.weigh.combinations({ text })).units.map(({ unit }) => unit)
    expect(await found('t99')).toEqual(['T99', 'T991', 'T993', 'T995', 'T997', 'T999'])
    expect(await found('  v998 ')).toEqual(['V998'])
    expect(await found('v99 drover')).toEqual(['V990', 'V998'])
    expect(await found('nothing')).toEqual([])
    expect((await house.here.weigh.combinations({ text: 'v998' })).whole).toBe(false)
  })

  it('are told with those that are chosen, whatever else is looked for', async () => {
    const { units } = await house.here.weigh.combinations({ text: 'T99', units: ['V1000', 'T999', 'nobody'] })
    expect(units.map(({ unit }) => unit)).toEqual(['T99', 'T991', 'T993', 'T995', 'T997', 'T999', 'V1000'])
  })

  it('of a driver are those given, wherever they stand, and no others', async () => {
    const { client } = await house.signedIn('driver', { units: ['T999', 'V1000'] })
    const given = await client.weigh.combinations()
    expect([given.units.map(({ unit }) => unit), given.whole]).toEqual([['T999', 'V1000'], true])
    expect((await client.weigh.combinations({ text: 'T1', units: ['T1'] })).units).toEqual([])
  })
})

it('of a small fleet are all of them, with what each tractor was last weighed with', async () => {
  await using house = await runHouse()
  await bringInSmallFleet(house.app, house.here)
  const { units, usual, whole } = await house.here.weigh.combinations()
  expect([units.map(({ unit }) => unit), whole]).toEqual([['T-101', 'V-201'], true])
  expect(usual.map(({ unit }) => unit)).toEqual(['T-101'])
})
