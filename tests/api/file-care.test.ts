import { mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it, vi } from 'vitest'
import { careForFile } from '#core/api/file-care.ts'
import { readRehearsalNote } from '#core/store/care-notes.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { makeFleetFile, overwriteBytes } from '#tests/faults/fleet-files.ts'

it(
  'a day’s copy that fails is told and tried again; one that is kept ends the complaint and is not made twice',
  () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      // Something else has the name of the copies folder.
      writeFileSync(copiesFolder(file), '')
      const reported: unknown[] = []
      const kept: string[] = []
      const copies = careForFile({
        report: (error) => reported.push(error),
        placesFile: join(folder, 'second-places.json'),
        onKept: (copy) => kept.push(copy),
        waits: { firstMs: 10, thenMs: 150, againMs: 150 },
      })
      copies.opened(file)
      await vi.waitUntil(() => copies.failure(file) !== null, { timeout: 25_000 })
      expect(copies.failure(file)).toMatch(/could not be kept/)
      expect(reported.length).toBeGreaterThan(0)
      rmSync(copiesFolder(file))
      await vi.waitUntil(() => kept.length === 1, { timeout: 25_000 })
      expect(copies.failure(file)).toBeNull()
      expect(await copies.keepNow(file)).toContain('by-hand')
      copies.end()
      expect(listCopyNames(file).map(({ reason }) => reason)).toEqual(['by-hand', 'day'])
    }),
  60_000,
)

it(
  'the newest copy goes to a second place, a restore is rehearsed, and a failed one is told until one goes well',
  () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      const chosen = join(folder, 'drive')
      mkdirSync(chosen)
      const reported: unknown[] = []
      const care = careForFile({
        report: (error) => reported.push(error),
        placesFile: join(folder, 'second-places.json'),
        waits: { firstMs: 10, thenMs: 10, againMs: 50 },
      })
      care.chooseSecond(file, chosen)
      care.opened(file)
      await vi.waitUntil(() => readRehearsalNote(file) !== null, { timeout: 40_000 })
      expect(readRehearsalNote(file)).toMatchObject({ outcome: 'restored' })
      await vi.waitUntil(() => care.second(file)?.newest != null, { timeout: 40_000 })
      expect(care.second(file)?.newest?.name).toContain('000001-day')
      expect([care.secondFailure(file), care.warnings(file)]).toEqual([null, []])

      // The drive is taken out: nothing else suffers, and nobody is troubled before it is overdue.
      renameSync(chosen, `${chosen} taken out`)
      await care.keepNow(file)
      await vi.waitUntil(() => care.secondFailure(file) !== null, { timeout: 40_000 })
      expect(care.secondFailure(file)).toMatch(/is not there/)
      expect([care.failure(file), care.warnings(file), reported]).toEqual([null, [], []])
      renameSync(`${chosen} taken out`, chosen)
      await vi.waitUntil(() => care.secondFailure(file) === null, { timeout: 40_000 })

      care.end()
      const [newest] = listCopyNames(file)
      overwriteBytes(join(copiesFolder(file), newest?.name ?? ''))
      expect(await care.rehearseNow(file)).toMatchObject({ outcome: 'failed' })
      expect(care.warnings(file)).toEqual(['rehearsal-failed'])
      rmSync(join(copiesFolder(file), newest?.name ?? ''))
      expect(await care.rehearseNow(file)).toMatchObject({ outcome: 'restored' })
      expect(care.warnings(file)).toEqual([])
    }),
  120_000,
)
