import { copyFileSync } from 'node:fs'
import { setTimeout } from 'node:timers/promises'
import type { News } from '#core/contracts/file.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import type { Client } from '#tests/api/windows.ts'
import { largeDatabase, scratchDatabase } from '#tests/bench/data.ts'
import { median, milliseconds, seconds, times, whole } from '#tests/bench/figures.ts'
import { openApp } from '#tests/bench/open-app.ts'
import { type Goal, type Measurement, type Section, atMost } from '#tests/bench/section.ts'
import { weighInOf } from '#tests/bench/weigh-in-of.ts'

const saves = 9
const dayMs = 86_400_000

interface Timed {
  readonly ms: number
  /** Work of this thread alone: on a busy machine the more telling of the two. */
  readonly cpuMs: number
}

async function timed(work: () => Promise<unknown>): Promise<Timed> {
  const [started, before] = [performance.now(), process.threadCpuUsage()]
  await work()
  const { user, system } = process.threadCpuUsage(before)
  return { ms: performance.now() - started, cpuMs: (user + system) / 1000 }
}

const middle = (all: readonly Timed[]): string =>
  `${milliseconds(median(all.map(({ ms }) => ms)))}, ${milliseconds(median(all.map(({ cpuMs }) => cpuMs)))} of work`

/** As if the file had last been judged and learnt from on the day before. */
async function dayBefore({ db }: Store, now: number): Promise<void> {
  const then = toStoredInstant(now - dayMs)
  await db.updateTable('books').set({ judged_for: then }).execute()
  await db.updateTable('fleet_figures').set({ learnt_at: then }).execute()
}

/** What a second window is told of one weigh-in: how long after the click, and how much. */
async function toldOf(client: Client, rig: number): Promise<{ ms: number; bytes: number }> {
  const followed = await client.file.follow({ seen: null, seconds: 600 })
  const { value: first } = (await followed.next()) as { value: News }
  const started = performance.now()
  const told = (async () => {
    let bytes = 0
    let [judged, weighed] = [false, false]
    for await (const news of followed) {
      bytes += JSON.stringify(news).length
      judged ||= news.judged
      weighed ||= news.weighed
      if (judged && weighed && news.state.revision > first.state.revision) break
    }
    return { ms: performance.now() - started, bytes }
  })()
  await client.weighIn.save(weighInOf(rig, timeNow() - 60_000))
  return await told
}

async function measure(): Promise<Measurement[]> {
  const large = await largeDatabase()
  const { file, remove } = scratchDatabase('live')
  copyFileSync(large, file)
  const now = timeNow()
  const store = await openStore(file)
  await catchUp(store, now)
  await store.close()
  const { client, fleet } = await openApp(file)
  try {
    await client.weighIn.save(weighInOf(1001, now - 60_000))
    const ofNow: Timed[] = []
    const ofYesterday: Timed[] = []
    for (let i = 0; i < saves; i += 1) {
      ofNow.push(await timed(() => client.weighIn.save(weighInOf(1003 + 4 * i, timeNow() - 60_000))))
      ofYesterday.push(await timed(() => client.weighIn.save(weighInOf(1005 + 4 * i, timeNow() - dayMs))))
    }
    const told = []
    for (let i = 0; i < saves; i += 1) told.push(await toldOf(client, 1201 + 2 * i))
    await fleet.use((open) => dayBefore(open, now))
    const shown = await timed(() => client.roster.list())
    const beside: Timed[] = []
    const startedAt = performance.now()
    while (!(await client.file.state()).current && beside.length < 200) {
      beside.push(await timed(() => client.weighIn.save(weighInOf(1401 + 2 * beside.length, timeNow() - 60_000))))
      await setTimeout(300)
    }
    const followedMs = performance.now() - startedAt
    const goal = (all: readonly Timed[]): Goal => atMost(median(all.map(({ ms }) => ms)), 250, milliseconds)
    const tellsMs = median(told.map(({ ms }) => ms))
    const tellsBytes = Math.max(...told.map(({ bytes }) => bytes))
    return [
      { what: 'weigh-in of now, saved, judged and weighed', measured: middle(ofNow), goal: goal(ofNow) },
      { what: 'the same of yesterday', measured: middle(ofYesterday), goal: goal(ofYesterday) },
      {
        what: 'a second window is told of it: judged, weighed, its rows of the Roster',
        measured: milliseconds(tellsMs),
        goal: atMost(tellsMs, 1000, milliseconds),
      },
      {
        what: '  in so many bytes at most',
        measured: whole(tellsBytes),
        goal: atMost(tellsBytes, 10_000, whole),
      },
      { what: 'first look on a new day: the Roster as it was judged', measured: middle([shown]) },
      {
        what: `weigh-ins while the fleet is judged for the new day beside it (${whole(beside.length)} in ${seconds(followedMs)})`,
        measured: middle(beside),
        ratio: `${times(median(beside.map(({ cpuMs }) => cpuMs)) / median(ofNow.map(({ cpuMs }) => cpuMs)))} the work`,
        goal: goal(beside),
      },
      { what: '  the slowest of them', measured: milliseconds(Math.max(...beside.map(({ ms }) => ms))) },
    ]
  } finally {
    await fleet.close()
    remove()
  }
}

export const live: Section = {
  title: 'Saves while 10,000 units, 1,000,000 rows of readings are open, and what other windows are told of them',
  against: 'the same work with nothing else to be done',
  measure,
}
