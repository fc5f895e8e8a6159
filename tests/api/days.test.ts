import { safe } from '@orpc/client'
import { afterEach, beforeAll, describe, expect, it, vi } from 'vitest'
import { readBooks } from '#core/store/books.ts'
import { machineZone } from '#core/store/clock.ts'
import { readZone } from '#core/store/zone.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { weighNow } from '#tests/fleet/typed.ts'

/** Evening of 2026-11-25 in Denver, by UTC already the next day. */
const evening = '2026-11-26T02:00:00Z'
/** Half past midnight of 2026-11-26 in Berlin, by UTC still the day before. */
const midnight = '2026-11-25T23:30:00Z'
const by = 'Ada'

let app: RunningApp
let client: Client
beforeAll(async () => {
  const window = await openWindow(await runHeavyApp())
  ;({ app, client } = window)
  return window.end
})
afterEach(() => vi.unstubAllEnvs())

const at = (clock: string) => vi.stubEnv('TARELINE_CLOCK', clock)
const moveTo = async (zone: string) =>
  client.houseRules.changeZone({ was: (await client.houseRules.zone()).zone, zone, by })
const serial = () =>
  app.context.fleet.use(async ({ db }) => {
    const row = await db
      .selectFrom('sensor as s')
      .innerJoin('mount as m', 'm.sensor_id', 's.id')
      .select('s.serial')
      .where('m.removed_at', 'is', null)
      .executeTakeFirstOrThrow()
    return row.serial
  })
const newestSwap = () =>
  app.context.fleet.use(async ({ db }) => {
    const row = await db
      .selectFrom('battery_change')
      .select('changed_at')
      .orderBy('changed_at', 'desc')
      .executeTakeFirstOrThrow()
    return row.changed_at
  })

describe('the days of a fleet', () => {
  it('begin as those of the machine that makes its file', async () => {
    const zone = machineZone()
    expect(await client.houseRules.zone()).toEqual({ zone, machine: zone })
    vi.stubEnv('TARELINE_ZONE', 'Asia/Kathmandu')
    expect(await client.houseRules.zone()).toEqual({ zone, machine: 'Asia/Kathmandu' })
  })

  it('take a visit of today at seven in the evening in Denver, and none of yesterday', async () => {
    at(evening)
    await moveTo('America/Denver')
    const visit = { unit: 'T-101', yard: null, by }
    expect(await client.bench.addVisit({ ...visit, on: '2026-11-25' })).toEqual({ added: true })
    const { error } = await safe(client.bench.addVisit({ ...visit, on: '2026-11-24' }))
    expect(error?.message).toBe('2026-11-24 has passed. A visit is planned for a day from 2026-11-25 on.')
    expect((await client.bench.plan()).firstDay).toBe('2026-11-25')
  })

  it('take a swap of today half an hour after midnight in Berlin, and none of tomorrow', async () => {
    at(midnight)
    await moveTo('Europe/Berlin')
    const swap = { cells: [{ serial: await serial(), reason: 'scheduled' as const }], cell: null, by }
    const { error } = await safe(client.bench.markSwapped({ ...swap, on: '2026-11-27' }))
    expect(error?.message).toMatch(/^2026-11-27 lies ahead\..* up to 2026-11-26 is accepted\.$/)
    expect(await client.bench.markSwapped({ ...swap, on: '2026-11-20' })).toEqual({ swapped: 1 })
    expect(await newestSwap(), 'noon in Berlin').toBe('2026-11-20T11:00:00.000Z')
    expect(await client.bench.markSwapped({ ...swap, on: '2026-11-26' })).toEqual({ swapped: 1 })
    expect((await newestSwap()).slice(0, 15), 'now, which is before noon').toBe('2026-11-25T23:3')
  })

  it('name a reading, and find it in the Heavy Log, by the day on which it was taken', async () => {
    at(evening)
    await moveTo('America/Denver')
    const taken = weighNow('2026-11-26T01:50:00.000Z', { 'T-101 drive main': 110 }, { lift: 'none' })
    const saved = await client.weigh.save({ ...taken, localZone: 'America/Denver' })
    expect(saved.reading).toBe('W-20261125-1')
    const weighedOn = (day: string) => client.heavy.summary({ unit: 'T-101', from: day, to: day })
    const listed = async (day: string) => [
      ...new Set((await client.heavy.list({ unit: 'T-101', from: day, to: day })).rows.map(({ reading }) => reading)),
    ]
    await vi.waitUntil(async () => (await client.heavy.list({})).current, { timeout: 20_000, interval: 50 })
    expect([await listed('2026-11-25'), await listed('2026-11-26')]).toEqual([[saved.reading], []])
    expect((await weighedOn('2026-11-25')).byMonth).toMatchObject([{ month: '2026-11', weighings: 1 }])
    expect((await weighedOn('2026-11-26')).byMonth).toEqual([])

    await moveTo('Europe/Berlin')
    await vi.waitUntil(async () => (await client.heavy.list({})).current, { timeout: 20_000, interval: 50 })
    expect([await listed('2026-11-25'), await listed('2026-11-26')]).toEqual([[], [saved.reading]])
    expect((await weighedOn('2026-11-26')).byMonth).toMatchObject([{ month: '2026-11', weighings: 1 }])
  })

  it('are judged anew in another zone; the change is taken down and can be taken back', async () => {
    at(evening)
    await moveTo('UTC')
    const before = await client.unit.sheet({ unit: 'T-101' })
    await moveTo('Pacific/Auckland')
    expect(await app.context.fleet.use(({ db }) => readBooks(db))).toMatchObject({ linesCurrent: true })
    const [change] = (await client.log.list({ subject: 'house rule' })).rows
    expect(change).toMatchObject({ by, key: 'zone', action: 'changed' })
    const step = await client.log.last()
    await client.log.undo({ revision: step?.revision as number, by })
    expect(await app.context.fleet.use(({ db }) => readZone(db))).toBe('UTC')
    await vi.waitUntil(
      async () => {
        await client.roster.list()
        return (await app.context.fleet.use(({ db }) => readBooks(db))).linesCurrent
      },
      { timeout: 20_000, interval: 50 },
    )
    expect((await client.unit.sheet({ unit: 'T-101' })).groups.map(({ dueOn }) => dueOn)).toEqual(
      before.groups.map(({ dueOn }) => dueOn),
    )
  })

  it('are left as they are where the zone is none, or another window has changed it', async () => {
    const { error: none } = await safe(client.houseRules.changeZone({ was: 'UTC', zone: 'Moon/Tranquility', by }))
    expect(none?.message).toBeDefined()
    const { error } = await safe(client.houseRules.changeZone({ was: 'Asia/Tokyo', zone: 'Europe/Berlin', by }))
    expect(error).toMatchObject({ code: 'CONFLICT', data: { fields: [{ field: 'zone', stored: 'UTC' }] } })
    expect((await client.houseRules.zone()).zone).toBe('UTC')
  })
})
