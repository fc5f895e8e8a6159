import { setTimeout } from 'node:timers/promises'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { followNews, lookEveryMs, mostFollowers, openNewsDesk } from '#core/api/news.ts'
import type { News, Seen } from '#core/contracts/file.ts'
import { openStore } from '#core/store/open.ts'
import { type Client, bringInSmallFleet, clientOver, ways } from '#tests/api/windows.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { type RunningApp, enter, runApp } from '#tests/loopback/running-app.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { statementsOf } from '#tests/store/query-plan.ts'

let app: RunningApp
let mine: Admission
let client: Client
let close: () => void

beforeAll(async () => {
  app = await runApp()
  mine = await enter(app)
  ;({ client, close } = await clientOver('a message port', app))
  await bringInSmallFleet(app, client)
  await client.roster.list()
})
afterAll(async () => {
  close()
  await app[Symbol.asyncDispose]()
})

const seenIn = ({ state: { file, revision, renewals, madeOf } }: News): Seen => ({ file, revision, renewals, madeOf })

/** Reads on until something happened, and all of it was taken in. */
async function until(followed: AsyncIterator<News, unknown>, isIt: (news: News) => boolean): Promise<News[]> {
  const all: News[] = []
  for (;;) {
    const { value, done } = await followed.next()
    if (done === true) throw new Error('the stream ended before it was told')
    all.push(value as News)
    if (isIt(value as News)) return all
  }
}

const setOut = (text: string) =>
  client.fleet.save({
    subject: 'event',
    id: null,
    parent: { unitId: 1 },
    was: {},
    values: { kind: 'other', happened_at: text, note: 'looked at' },
    reason: null,
    localZone: 'America/Denver',
    workedAt: null,
    by: 'Ada',
  })

describe.each(ways)('a window that follows the file over %s', (way) => {
  it('is told of a save in another window: its unit alone, with its row, in a few kilobytes', async () => {
    const window = await clientOver(way, app, mine)
    const followed = await window.client.file.follow({ seen: null, seconds: 60 })
    const [first] = await until(followed, () => true)
    expect(first).toMatchObject({ since: null, units: null, kinds: ['lines', 'weights', 'cells', 'words'] })
    const { number } = await app.context.fleet.use(({ db }) =>
      db.selectFrom('unit').select('number').where('id', '=', 1).executeTakeFirstOrThrow(),
    )
    await setOut(`2025-0${1 + ways.indexOf(way)}-03T17:00:00.000Z`)
    const { revision, renewals } = await client.file.state()
    const told = await until(followed, ({ state }) => state.revision === revision && state.renewals === renewals)
    expect(new Set(told.flatMap(({ units }) => units ?? ['any']))).toEqual(new Set([number]))
    expect(told.flatMap(({ kinds }) => kinds)).toEqual(expect.arrayContaining(['lines', 'weights', 'words']))
    expect(told.some(({ judged }) => judged)).toBe(true)
    const rows = (await client.roster.list()).rows.filter(({ unit }) => unit === number)
    expect(told.at(-1)?.rows).toEqual(rows)
    expect(JSON.stringify(told).length).toBeLessThan(10_000)
    await followed.return?.()
    window.close()
  })

  it('is told of what another program wrote to the file', async () => {
    const window = await clientOver(way, app, mine)
    const { revision } = await client.file.state()
    const followed = await window.client.file.follow({ seen: null, seconds: 60 })
    await followed.next()
    const other = await openStore(app.context.fleet.file())
    await noteChange(other, [1])
    await other.close()
    const told = await until(followed, ({ state }) => state.revision > revision)
    expect(told.at(-1)?.units).not.toBeNull()
    await followed.return?.()
    window.close()
  })

  it('goes on from what it saw last: nothing of what happened meanwhile is lost, nothing is told twice', async () => {
    const window = await clientOver(way, app, mine)
    const begun = await window.client.file.follow({ seen: null, seconds: 60 })
    const [first] = await until(begun, () => true)
    await begun.return?.()
    await client.file.followUp()
    await expect.poll(async () => (await client.file.state()).current, { timeout: 60_000 }).toBe(true)
    const seen = seenIn(first as News)
    const again = await window.client.file.follow({ seen, seconds: 60 })
    const [next] = await until(again, () => true)
    expect(next?.since).toEqual(seen)
    const state = await client.file.state()
    expect(next?.state).toEqual(state)
    await again.return?.()
    const third = await window.client.file.follow({ seen: seenIn(next as News), seconds: 60 })
    const [nothing] = await until(third, () => true)
    expect(nothing).toMatchObject({ kinds: [], judged: false, weighed: false, whole: false, units: [], rows: [] })
    await third.return?.()
    window.close()
  })
})

it('a person can leave the fleet as it is for now: it is followed up when asked for, or when the record changes', async () => {
  const isBehind = (what: 'judge' | 'weigh') =>
    app.context.fleet.use(({ db }) =>
      db
        .insertInto('behind_fleet')
        .values({ what, since: 1 })
        .onConflict((conflict) => conflict.doNothing())
        .execute(),
    )
  /** All is done, and nobody is at it any more. */
  const current = () =>
    expect
      .poll(async () => await client.file.state(), { timeout: 60_000 })
      .toMatchObject({ current: true, following: null })
  await client.file.followUp()
  await current()
  await isBehind('judge')
  expect(await client.file.holdBack()).toMatchObject({ current: false, heldBack: true, following: null })
  // Whoever looks is shown what is there, and begins nothing.
  await client.roster.list()
  await client.weigh.combinations()
  expect(await client.file.state()).toMatchObject({ current: false, heldBack: true, following: null })
  await client.file.followUp()
  await current()
  await isBehind('weigh')
  await client.file.holdBack()
  await setOut('2025-05-03T17:00:00.000Z')
  expect((await client.file.state()).heldBack).toBe(false)
  await current()
})

it('is told of what it saw not yet in the same words as every other, who have it read once for all of them', async () => {
  const { context } = app
  await client.file.followUp()
  await expect.poll(async () => (await client.file.state()).current, { timeout: 60_000 }).toBe(true)
  const { file, revision, renewals, madeOf } = await client.file.state()
  const seen = { file, madeOf, revision: revision - 1, renewals: renewals - 1 }
  const windows = Array.from({ length: 30 }, () => followNews({ seen, seconds: 60 }, context, undefined))
  const told: News[] = []
  const counted = await context.fleet.use((store) =>
    statementsOf(store, async () => {
      const all = await Promise.all(windows.map((window) => window.next()))
      told.push(...all.map(({ value }) => value as News))
    }),
  )
  for (const window of windows) await window.return()
  expect(new Set(told.map((news) => JSON.stringify(news))).size).toBe(1)
  expect(told[0]?.counts).toEqual((await client.roster.list({ retired: false })).counts)
  const times = counted.filter((sql) => sql.includes('group by "l"."trust"')).length
  expect(times).toBeGreaterThan(0)
  expect(times).toBeLessThan(windows.length / 2)
  const states = counted.filter((sql) => sql.includes('count(*) as "units" from "unit"')).length
  expect(states).toBeGreaterThan(0)
  expect(states).toBeLessThan(windows.length / 2)
})

it('is asked once for all until something happens, and again where it could not be read', async () => {
  const desk = openNewsDesk(() => undefined)
  let reads = 0
  const read = async () => {
    reads += 1
    if (reads === 1) throw new Error('not yet')
    return reads
  }
  await expect(desk.once('a', read)).rejects.toThrow('not yet')
  expect(await Promise.all([desk.once('a', read), desk.once('a', read), desk.once('b', read)])).toEqual([2, 2, 3])
  expect(await desk.once('a', read)).toBe(2)
  desk.tell()
  expect(await desk.once('a', read)).toBe(4)
  const brief = await desk.once('c', read, 1)
  await setTimeout(5)
  expect(await desk.once('c', read, 60_000)).toBe(brief + 1)
  expect(await desk.once('c', read, 60_000)).toBe(brief + 1)
  desk.end()
})

it('is told once of a change that writes several times, and of one that failed half way', async () => {
  let mark = 0
  const desk = openNewsDesk(() => String(mark))
  const leave = desk.join()
  /** How long it takes until something is told, ms; the whole patience where nothing is. */
  const toldAfter = async (ms: number) => {
    const started = performance.now()
    await desk.wait(ms, undefined)
    return performance.now() - started
  }
  await toldAfter(lookEveryMs + 100)
  const half = Promise.withResolvers<void>()
  const change = desk.around(async () => {
    mark += 1
    await half.promise
    mark += 1
  })
  const patience = 3 * lookEveryMs
  expect(await toldAfter(patience)).toBeGreaterThan(patience - 1)
  const told = toldAfter(60_000)
  half.resolve()
  await change
  expect(await told).toBeLessThan(60_000)
  expect(await toldAfter(patience)).toBeGreaterThan(patience - 1)
  const failing = desk.around(async () => {
    mark += 1
    throw await Promise.resolve(new Error('half way'))
  })
  await expect(failing).rejects.toThrow('half way')
  expect(await toldAfter(60_000)).toBeLessThan(60_000)
  leave()
  desk.end()
})

it('ends by itself after its seconds', async () => {
  const followed = await client.file.follow({ seen: null, seconds: 1 })
  let step = await followed.next()
  while (step.done !== true) step = await followed.next()
  await expect.poll(() => app.context.fleet.news.followers).toBe(0)
})

it('is refused to more windows than are ever open at once', async () => {
  const leave = new AbortController()
  const open = Array.from({ length: mostFollowers }, () =>
    client.file.follow({ seen: null, seconds: 60 }, { signal: leave.signal }),
  )
  for (const each of open) await (await each).next()
  await expect((await client.file.follow({ seen: null, seconds: 60 })).next()).rejects.toThrow(
    `${mostFollowers} windows`,
  )
  leave.abort()
  await expect.poll(() => app.context.fleet.news.followers).toBe(0)
  await setTimeout(1)
  expect(app.reported).toEqual([])
})
