import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { finishCutOff, placeFolder, stateOf, sweepExports, unfinishedFolder } from '#core/exchange/place-folder.ts'
import { smallFleet, withFolder } from '#tests/exchange/small-fleet.ts'
import { bringWell } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const text = (...path: string[]) => readFileSync(join(...path), 'utf8')
/** The number of a program that ran and is gone. */
const goneProgram = () => spawnSync(process.execPath, ['-e', '']).pid
const old = (path: string) => utimesSync(path, new Date(0), new Date(0))

/** A folder with files of an old export, and new files beside it. */
function prepare(home: string, owner?: number) {
  const folder = join(home, 'fleet')
  mkdirSync(join(folder, 'attachments'), { recursive: true })
  const scan = `attachments/${'a'.repeat(64)}.pdf`
  for (const name of ['yards.csv', 'tickets.csv', 'attachments.csv', scan]) writeFileSync(join(folder, name), 'old')
  const unfinished = owner === undefined ? unfinishedFolder(folder) : join(home, `.fleet.unfinished-${owner}-0a1b2c3d`)
  mkdirSync(unfinished)
  for (const name of ['yards.csv', 'tickets.csv']) writeFileSync(join(unfinished, name), 'new')
  return { folder, unfinished, scan }
}

describe('a folder that is written out over another', () => {
  it('has the new files in place of the old, and nothing beside it', () =>
    withFolder(async (home) => {
      const { folder, unfinished } = prepare(home)
      placeFolder(unfinished, folder, stateOf(folder))
      expect(readdirSync(folder).sort()).toEqual(['tickets.csv', 'yards.csv'])
      expect([text(folder, 'yards.csv'), text(folder, 'tickets.csv')]).toEqual(['new', 'new'])
      expect(readdirSync(home)).toEqual(['fleet'])
    }))

  it.each([
    ['a file of somebody’s own', 'notes.txt', 'holds notes.txt'],
    ['an attachment of somebody’s own', 'attachments/letter.pdf', 'holds attachments/letter.pdf'],
    ['a file of the folder', 'tickets.csv', 'tickets.csv in'],
  ])('loses nothing that was saved into it meanwhile: %s', (_, name, words) =>
    withFolder(async (home) => {
      const { folder, unfinished } = prepare(home)
      const before = stateOf(folder)
      writeFileSync(join(folder, name), 'saved meanwhile')
      expect(() => placeFolder(unfinished, folder, before)).toThrow(words)
      expect(text(folder, name)).toBe('saved meanwhile')
      expect(text(folder, 'yards.csv')).toBe('old')
    }),
  )

  it('keeps what somebody saves into it while it is written out from a store', () =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      await withFolder(async (home) => {
        const folder = join(home, 'fleet')
        await exportFolder(store, folder)
        const before = stateOf(folder)
        await exportFolder(store, folder)
        expect([...stateOf(folder).keys()].sort()).toEqual([...before.keys()].sort())
        writeFileSync(join(folder, 'notes.txt'), 'mine')
        await expect(exportFolder(store, folder)).rejects.toMatchObject({ code: 'folder-in-use' })
        expect(text(folder, 'notes.txt')).toBe('mine')
        expect(readdirSync(home)).toEqual(['fleet'])
      })
    }))
})

describe('an export whose program was ended', () => {
  /** As it stands when the program is ended after some of the new files have their places. */
  const cutOff = (home: string) => {
    const { folder, unfinished, scan } = prepare(home, goneProgram())
    writeFileSync(
      join(folder, '.tareline-export'),
      JSON.stringify({ files: unfinished.split('/').at(-1), stale: ['attachments.csv', scan] }),
    )
    rmSync(join(folder, 'yards.csv'))
    writeFileSync(join(folder, 'yards.csv'), 'new')
    rmSync(join(unfinished, 'yards.csv'))
    return { folder, unfinished }
  }

  it('is finished by whoever uses the folder next', () =>
    withFolder(async (home) => {
      const { folder } = cutOff(home)
      finishCutOff(folder, { mustBeWhole: true })
      expect(readdirSync(folder).sort()).toEqual(['tickets.csv', 'yards.csv'])
      expect([text(folder, 'yards.csv'), text(folder, 'tickets.csv')]).toEqual(['new', 'new'])
      expect(readdirSync(home)).toEqual(['fleet'])
    }))

  it('is not imported where its new files are gone, and the next export ends it', () =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      await withFolder(async (home) => {
        const { folder, unfinished } = cutOff(home)
        rmSync(unfinished, { recursive: true })
        await expect(importFolder(store, folder)).rejects.toMatchObject({ code: 'folder-unfinished' })
        await exportFolder(store, folder)
        expect(existsSync(join(folder, '.tareline-export'))).toBe(false)
        expect((await importFolder(store, folder)).outcome).toBe('stored')
      })
    }))

  it('leaves nothing for good: its files go, a folder that it moved away comes back, what is not its own stays', () =>
    withFolder(async (home) => {
      const owner = goneProgram()
      const made = (name: string, ...files: string[]) => {
        mkdirSync(join(home, name))
        for (const file of files) writeFileSync(join(home, name, file), 'of the export')
        old(join(home, name))
      }
      made(`.fleet.unfinished-${owner}-0a1b2c3d`, 'yards.csv')
      made(`.moved.replaced-${owner}`, 'yards.csv')
      made(`.other.unfinished-${owner}`, 'yards.csv', 'letter.txt')
      made(`.mine.unfinished-${process.pid}`, 'yards.csv')
      mkdirSync(join(home, '.recent.unfinished-1-0a1b2c3d'))
      sweepExports(home)
      expect(readdirSync(home).sort()).toEqual(
        [
          `.mine.unfinished-${process.pid}`,
          `.other.unfinished-${owner}`,
          '.recent.unfinished-1-0a1b2c3d',
          'moved',
        ].sort(),
      )
    }))
})
