import Database from 'better-sqlite3'
import { chmodSync, mkdirSync, readFileSync, readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { applicationId } from '#core/store/look.ts'
import { latestStep, openStore } from '#core/store/open.ts'
import { smallFleet, withFolder } from '#tests/exchange/small-fleet.ts'
import { bringWell } from '#tests/exchange/whole-record.ts'

/** Makes a fleet file that holds something, closed. */
async function makeFleet(folder: string): Promise<string> {
  const file = join(folder, 'fleet.tareline')
  const store = await openStore(file)
  await bringWell(store, smallFleet())
  await store.close()
  return file
}

/** The file is refused with the code, keeps every byte, and nothing new lies beside it. */
async function refused(file: string, code: string, sentence: RegExp) {
  const before = readFileSync(file)
  const beside = readdirSync(join(file, '..'))
  await expect(openStore(file)).rejects.toMatchObject({
    name: 'TarelineError',
    code,
    message: expect.stringMatching(sentence),
  })
  expect(readFileSync(file).equals(before)).toBe(true)
  expect(readdirSync(join(file, '..'))).toEqual(beside)
}

describe('a fleet file', () => {
  it('is made where there is none, and opens again as it is', () =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder)
      const store = await openStore(file, { mustExist: true })
      expect(store.raw.pragma('journal_mode', { simple: true })).toBe('wal')
      expect(store.raw.pragma('synchronous', { simple: true })).toBe(2)
      expect(store.raw.pragma('foreign_keys', { simple: true })).toBe(1)
      expect(store.raw.pragma('application_id', { simple: true })).toBe(applicationId)
      expect(store.raw.pragma('user_version', { simple: true })).toBe(latestStep)
      expect(store.raw.prepare('select count(*) from unit').pluck().get()).toBe(2)
      await store.close()
      expect(readdirSync(folder)).toEqual(['fleet.tareline'])
    }))

  it('must exist where that is asked', () =>
    withFolder(async (folder) => {
      await expect(openStore(join(folder, 'none'), { mustExist: true })).rejects.toMatchObject({ code: 'missing' })
      expect(readdirSync(folder)).toEqual([])
      await expect(openStore(join(folder, 'none', 'fleet'))).rejects.toMatchObject({ code: 'cannot-open' })
    }))

  it('is refused when it is a text file', () =>
    withFolder(async (folder) => {
      const file = join(folder, 'units.csv')
      writeFileSync(file, 'unit,kind\n'.repeat(500))
      await refused(file, 'not-a-database', /is not a Tareline database/)
    }))

  it.each(['delete', 'wal'])('is refused when it is a database of another program (%s)', (mode) =>
    withFolder(async (folder) => {
      const file = join(folder, 'other.db')
      const raw = new Database(file)
      raw.pragma(`journal_mode = ${mode}`)
      raw.exec('create table song (title text)')
      raw.close()
      await refused(file, 'not-a-database', /database of another program/)
    }),
  )

  it('is refused when it comes from a newer version', () =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder)
      const raw = new Database(file)
      raw.pragma(`user_version = ${latestStep + 3}`)
      raw.close()
      await refused(file, 'newer', /newer version of Tareline \(step \d+; this version knows \d+\)/)
    }))

  it.each([
    ['a page in the middle', (bytes: Buffer) => bytes.fill(0x5a, 4096 * 5, 4096 * 8)],
    ['the first page', (bytes: Buffer) => bytes.fill(0, 100, 4096)],
    ['the end, cut off', (bytes: Buffer) => bytes.subarray(0, 4096 * 7)],
  ])('is refused when it is damaged: %s', (_, damage) =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder)
      writeFileSync(file, damage(readFileSync(file)))
      await refused(file, 'damaged', /is damaged and was left as it is.*copies folder/)
    }),
  )

  it('is refused when it is a folder', () =>
    withFolder(async (folder) => {
      mkdirSync(join(folder, 'fleet'))
      await expect(openStore(join(folder, 'fleet'))).rejects.toMatchObject({
        code: 'cannot-open',
        message: expect.stringMatching(/cannot be opened/),
      })
      expect(readdirSync(join(folder, 'fleet'))).toEqual([])
    }))

  // The root user may write everywhere, so there is nothing to refuse.
  it.skipIf(process.getuid?.() === 0)('is refused when it may not be written', () =>
    withFolder(async (folder) => {
      const file = await makeFleet(folder)
      chmodSync(file, 0o444)
      chmodSync(folder, 0o555)
      try {
        await refused(file, 'read-only', /nothing can be written to/)
      } finally {
        chmodSync(folder, 0o755)
      }
    }),
  )
})
