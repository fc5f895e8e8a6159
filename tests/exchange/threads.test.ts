import { join } from 'node:path'
import { expect, it } from 'vitest'
import { bringInFolder, listCopiesInThread } from '#core/jobs/in-thread.ts'
import { giveThreadBack, takeThread } from '#core/jobs/threads.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { largeFleet, writeFleetFolder } from '#tests/screens/fleet-folder.ts'

const ended = (worker: ReturnType<typeof takeThread>) =>
  new Promise<void>((done) => {
    worker.once('exit', () => done())
  })

it('a thread that has done its task does the next, and one that holds much memory is ended', async () => {
  const first = takeThread()
  giveThreadBack(first, 1000)
  expect(takeThread()).toBe(first)
  const end = ended(first)
  giveThreadBack(first, 1024 ** 3)
  await end
  const second = takeThread()
  expect(second).not.toBe(first)
  giveThreadBack(second, 1000)
})

it('at most two wait; the others end', async () => {
  const threads = [takeThread(), takeThread(), takeThread()]
  const end = ended(threads[2] as (typeof threads)[number])
  for (const thread of threads) giveThreadBack(thread, 0)
  await end
  expect(new Set([takeThread(), takeThread()])).toEqual(new Set(threads.slice(0, 2)))
  for (const thread of threads.slice(0, 2)) giveThreadBack(thread, 0)
})

it('a task that was cancelled leaves its thread fit for the next one', () =>
  withFolder(async (folder) => {
    const file = join(folder, 'fleet.tareline')
    // Long enough for the cancel to come before its end.
    const fleet = writeFleetFolder(join(folder, 'fleet'), largeFleet(1500))
    for (let turn = 0; turn < 5; turn += 1) {
      const stop = new AbortController()
      const bringing = bringInFolder(file, fleet, {
        signal: stop.signal,
        onProgress: () => stop.abort(new Error('enough')),
      })
      await expect(bringing).rejects.toThrow('enough')
      expect(await listCopiesInThread(file)).toEqual([])
    }
    expect((await bringInFolder(file, fleet, { assess: false })).outcome).toBe('stored')
  }))
