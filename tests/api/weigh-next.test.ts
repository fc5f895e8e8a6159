import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { join } from 'node:path'
import { importFolder } from '#core/exchange/import-folder.ts'
import { type Client, clientOver, ways } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { type PlannedUnit, writeFleetFolder } from '#tests/screens/fleet-folder.ts'

/** Twelve calibrated long ago, one that a change is suspected of, one never calibrated. */
const plan: readonly PlannedUnit[] = [
  ...Array.from({ length: 12 }, (_, i) => ({ unit: `T-${101 + i}`, calibratedDaysAgo: [90 + 10 * i] })),
  { unit: 'T-201', yard: 'Fernside', calibratedDaysAgo: [120], checks: [{ daysAgo: 5, psi: 60, missLb: 1500 }] },
  { unit: 'T-202' },
]

describe.each(ways)('the weighings that teach most, over %s', (way) => {
  let app: RunningApp
  let client: Client
  let close = () => {}
  beforeAll(async () => {
    app = await runApp()
    const folder = writeFleetFolder(join(app.folder, 'fleet'), plan)
    await app.context.fleet.use(async (store) => expect((await importFolder(store, folder)).outcome).toBe('stored'))
    ;({ client, close } = await clientOver(way, app))
  })
  afterAll(async () => {
    close()
    expect(app.reported).toEqual([])
    await app[Symbol.asyncDispose]()
  })

  it('are ten at most, one a unit, most first, each surer than now and with its reason', async () => {
    const { trips } = await client.bench.weighNext()
    expect(trips.length).toBe(10)
    expect(new Set(trips.map(({ unit }) => unit)).size).toBe(10)
    expect(trips[0]).toMatchObject({ unit: 'T-201', yard: 'Fernside', load: 'loaded', scale: 'Millrace Yard' })
    expect(trips[0]?.groups).toMatchObject([{ group: 'drive', how: 'loaded', why: 'a change is suspected' }])
    expect(trips.map(({ unit }) => unit)).not.toContain('T-202')
    const regained = trips.map((trip) => trip.regained)
    expect(regained).toEqual(regained.toSorted((a, b) => b - a))
    for (const { groups } of trips) {
      expect(groups.length).toBeGreaterThan(0)
      for (const { uNowLb, uAfterLb, taught } of groups) {
        expect(uAfterLb).toBeLessThan(uNowLb)
        const [, now, after] = /^± ([\d,]+) lb becomes ± ([\d,]+) lb at the limit$/.exec(taught) ?? []
        expect(now).not.toBe(after)
      }
    }
  })

  it('are said on the Unit sheet in a sentence, and of no group that has to be calibrated first', async () => {
    const sentenceOf = async (unit: string) =>
      (await client.unit.sheet({ unit })).groups.find(({ sensed }) => sensed)?.weighNext
    expect(await sentenceOf('T-201')).toMatch(
      /^One weighing loaded on Millrace Yard would make its best weight at the limit good to ± [\d,]+ lb, now ± [\d,]+ lb: a change is suspected\.$/,
    )
    expect(await sentenceOf('T-202')).toBeNull()
  })

  it('leave out a unit that is retired', async () => {
    await client.fleet.retire({ unit: 'T-201', retired: true, reason: null, by: 'M. Adair' })
    const { trips } = await client.bench.weighNext()
    expect(trips.length).toBe(10)
    expect(trips.map(({ unit }) => unit)).not.toContain('T-201')
  })
})
