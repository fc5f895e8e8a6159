import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, beforeAll, expect, it, vi } from 'vitest'
import { importFolder } from '#core/exchange/import-folder.ts'
import { openStore } from '#core/store/open.ts'
import { everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import { writeLargeFleet } from '#tests/bench/large-fleet.ts'
import { some } from '#tests/some.ts'

const home = mkdtempSync(join(tmpdir(), 'tareline-import-'))
// The day after the stories end: on one before, an import says that records lie ahead.
beforeAll(() => {
  vi.stubEnv('TARELINE_CLOCK', '2026-11-25T18:00:00Z')
})
afterAll(() => {
  vi.unstubAllEnvs()
  rmSync(home, { recursive: true, force: true })
})

const bed = join(home, 'bed')
simulateFleet({ folder: bed, seed: 21, units: 120, months: 24, faults: everyFault(3) })
const large = join(home, 'large')
writeLargeFleet(large, { units: 40, readingRows: 4_000 })

it.each([
  ['the demo fleet', resolve(import.meta.dirname, '../../demo-data/fleet')],
  ['a fleet of the test bed', bed],
  ['the fleet of the bench', large],
])('%s comes in without a problem or a note, and a second time changes nothing', async (name, folder) => {
  const store = await openStore(join(home, `${name}.tareline`))
  try {
    const first = await importFolder(store, folder)
    if (first.outcome === 'refused')
      throw new Error(
        first.problems
          .slice(0, 5)
          .map(({ message }) => message)
          .join('\n'),
      )
    expect(first.notes).toEqual([])
    for (const { read, added } of some(first.files)) expect(added).toBe(read)
    const second = await importFolder(store, folder)
    if (second.outcome === 'refused')
      throw new Error(
        second.problems
          .slice(0, 5)
          .map(({ message }) => message)
          .join('\n'),
      )
    for (const { read, same } of some(second.files)) expect(same).toBe(read)
  } finally {
    await store.close()
  }
})
