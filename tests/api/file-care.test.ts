import { rmSync, writeFileSync } from 'node:fs'
import { expect, it, vi } from 'vitest'
import { keepDayCopies } from '#core/api/day-copies.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'

it(
  'a day’s copy that fails is told and tried again; one that is kept ends the complaint and is not made twice',
  () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      // Something else has the name of the copies folder.
      writeFileSync(copiesFolder(file), '')
      const reported: unknown[] = []
      const kept: string[] = []
      const copies = keepDayCopies(
        (error) => reported.push(error),
        (copy) => kept.push(copy),
        { firstMs: 10, againMs: 150 },
      )
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
