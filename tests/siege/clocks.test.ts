import { safe } from '@orpc/client'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { openStore } from '#core/store/open.ts'
import { Random } from '#demo/simulation/random.ts'
import { firstCircuit, makeFleetFile, soundness } from '#tests/faults/fleet-files.ts'
import { startMain } from '#tests/faults/main-process.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { weighNow } from '#tests/fleet/typed.ts'
import { isSentence } from '#tests/siege/sentence.ts'

/**
 * The computer's clock stands wrong, by years or by the hour that a zone changes, another way at each start: what was
 * saved under any of them stays, copies are kept, and what is refused is said in a sentence.
 */
const random = new Random(`clocks ${process.env['TARELINE_SEED'] ?? ''}`)
const clocks = [
  '1970-01-01T00:00:05Z',
  '1999-12-31T23:59:50Z',
  '2024-02-29T23:59:58Z',
  '2026-03-08T08:59:58Z',
  '2026-11-01T07:59:58Z',
  '2037-12-31T23:59:58Z',
  '2038-01-19T03:14:05Z',
  '2106-02-07T06:28:13Z',
  '2199-12-31T23:59:55Z',
]
const counts = { 'starts under a wrong clock': 0, 'saves acknowledged': 0, 'steps refused with a sentence': 0 }
let lost = 0
let misleading = 0
let home: string
let file: string
let circuit: string
beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tareline-clocks-'))
  file = await makeFleetFile(home)
  circuit = await firstCircuit(file)
})
afterAll(() => {
  keepTally('siege-clocks', { title: 'Clocks that stand wrong', counts, failed: lost, misleading })
  rmSync(home, { recursive: true, force: true })
})

it('keep every acknowledged save, and say what they refuse', async () => {
  const saved: string[] = []
  for (let start = 0; start < (isNightly ? 20 : 2); start += 1) {
    const clock = clocks[Math.floor(random.next() * clocks.length)] ?? ''
    const running = startMain(file, home, { env: { TARELINE_CLOCK: clock } })
    try {
      const client = await running.ready
      counts['starts under a wrong clock'] += 1
      const said = [
        await safe(client.weigh.save(weighNow(new Date(Date.parse(clock) - 60_000).toISOString(), { [circuit]: 30 }))),
        await safe(client.weigh.save(weighNow('2026-06-01T12:00:00.000Z', { [circuit]: 31 }))),
        await safe(client.copies.keep()),
        await safe(client.roster.list()),
        await safe(client.today.page({})),
        await safe(client.unit.sheet({ unit: circuit.split(' ')[0] ?? '' })),
      ]
      for (const { error, data } of said) {
        if (error) {
          counts['steps refused with a sentence'] += 1
          if (!isSentence(error.message)) misleading += 1
          expect([clock, error.message, isSentence(error.message)]).toEqual([clock, error.message, true])
        }
        if (data && 'reading' in data) {
          saved.push(data.reading)
          counts['saves acknowledged'] += 1
        }
      }
    } finally {
      await running.kill()
    }
  }
  const store = await openStore(file)
  const kept = new Set(store.raw.prepare('select name from reading').pluck().all() as string[])
  await store.close()
  const gone = saved.filter((name) => !kept.has(name))
  lost += gone.length
  expect([gone, new Set(saved).size]).toEqual([[], saved.length])
  expect(saved.length).toBeGreaterThan(0)
  expect(await soundness(file)).toMatch(/ is sound/)
}, 1_800_000)
