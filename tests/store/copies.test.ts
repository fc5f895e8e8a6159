import fc from 'fast-check'
import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { checkFile } from '#core/store/check-file.ts'
import {
  isCopyDueBeforeImport,
  keepCopy,
  keepCopyBesideImport,
  keepDayCopy,
  listCopyNames,
} from '#core/store/copies.ts'
import {
  type CopyName,
  copiesFolder,
  copiesToRemove,
  copyName,
  isDayCopyDue,
  readCopyName,
} from '#core/store/copy-names.ts'
import { openGuard, openStore, openUnchecked } from '#core/store/open.ts'
import { restoreCopy } from '#core/store/restore.ts'
import { dayOf } from '#core/words/day.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { wholeRecord } from '#tests/exchange/whole-record.ts'
import { bytesOf, makeFleetFile, overwriteBytes } from '#tests/faults/fleet-files.ts'

const dayMs = 86_400_000
const noon = Date.UTC(2026, 10, 25, 18)

const named = (sequence: number, reason: CopyName['reason'], at: number): CopyName => ({
  name: copyName(sequence, reason, at),
  sequence,
  reason,
  at,
})

describe('the names of copies', () => {
  it('tell their place, reason and time, and any other file is let be', () => {
    expect(copyName(12, 'before-import', Date.UTC(2026, 10, 25, 22, 10, 2, 123))).toBe(
      '000012-before-import-2026-11-25T221002123Z.tareline',
    )
    expect(readCopyName('000012-before-import-2026-11-25T221002123Z.tareline')).toEqual(
      named(12, 'before-import', Date.UTC(2026, 10, 25, 22, 10, 2, 123)),
    )
    expect(readCopyName('from the office.tareline')).toMatchObject({ sequence: 0, reason: 'other', at: null })
    expect(readCopyName('.12-1764000000000.unfinished')).toBeUndefined()
    expect(readCopyName('notes.txt')).toBeUndefined()
  })
})

const zone = 'America/Denver'

describe('which copies go', () => {
  /**
   * Makes the day's copies as the app does, on days by a clock that may say anything; answers the copies and when each
   * was truly made.
   */
  const run = (clock: readonly number[]) => {
    let copies: CopyName[] = []
    const madeOn = new Map<string, number>()
    clock.forEach((at, trueDay) => {
      if (!isDayCopyDue(copies, at, zone)) return
      const copy = named(1 + Math.max(0, ...copies.map(({ sequence }) => sequence)), 'day', at)
      madeOn.set(copy.name, trueDay)
      const gone = new Set(copiesToRemove([...copies, copy], zone))
      copies = [...copies, copy].filter(({ name }) => !gone.has(name))
    })
    return copies.map(({ name }) => madeOn.get(name) as number)
  }

  it('the last 14 days stay while the clock is right', () => {
    expect(run(Array.from({ length: 40 }, (_, day) => noon + day * dayMs))).toEqual(
      Array.from({ length: 14 }, (_, index) => 26 + index),
    )
  })

  it('a clock set back or far ahead takes none of the last 14 copies that were made', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 20_000 }), { minLength: 15, maxLength: 40 }), (days) => {
        const clock = days.map((day) => noon + day * dayMs)
        // What would be there if none ever went: each run of copies of the same day counts once.
        const everyDay = clock.map((at) => dayOf(at, zone))
        const runs = everyDay.flatMap((day, index) => (everyDay[index + 1] === day ? [] : [index]))
        expect(run(clock).length).toBe(Math.min(14, runs.length))
      }),
    )
  })

  it('set back for one day, the clock leaves the copies of the days before', () => {
    const clock = [
      ...Array.from({ length: 20 }, (_, day) => noon + day * dayMs),
      noon - 9000 * dayMs,
      noon + 20 * dayMs,
    ]
    expect(run(clock)).toEqual([8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21])
  })

  it('a clock that starts anew at every start still leaves copies', () => {
    const clock = Array.from({ length: 5 }, (_, start) => noon - start * 1000)
    expect(run(clock)).toEqual([4])
  })

  it('of imports, updates and restores the last ten stay, and what others put there', () => {
    const imports = Array.from({ length: 13 }, (_, index) => named(index + 1, 'before-import', noon + index))
    const others: CopyName[] = [
      named(20, 'before-update', noon),
      { name: 'mine.tareline', sequence: 0, reason: 'other', at: null },
    ]
    expect(copiesToRemove([...imports, ...others], zone)).toEqual(
      [3, 2, 1].map((sequence) => imports[sequence - 1]?.name),
    )
  })
})

describe('a kept copy', () => {
  it('is made once a day, holds what only the log holds, and nothing unfinished stays', () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      const store = await openStore(file)
      store.raw.exec("update unit set plate = 'in the log only' where id = 1")
      const copy = await keepDayCopy(store.raw, file, noon)
      expect(await keepDayCopy(store.raw, file, noon + 1000)).toBeNull()
      expect(await keepDayCopy(store.raw, file, noon + dayMs)).not.toBeNull()
      const copied = await openStore(copy as string)
      expect(wholeRecord(copied)).toEqual(wholeRecord(store))
      await copied.close()
      await store.close()
      expect(readdirSync(copiesFolder(file))).toEqual([
        '000001-day-2026-11-25T180000000Z.tareline',
        '000002-day-2026-11-26T180000000Z.tareline',
        'checked.json',
      ])
    }))

  it('comes out whole beside another of the same moment, as two imports at once keep them', () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      const stores = [await openStore(file), await openStore(file), await openStore(file)]
      const copies = await Promise.all(stores.map(({ raw }) => keepCopy(raw, file, 'before-import', noon)))
      for (const store of stores) await store.close()
      expect(new Set(copies).size).toBe(3)
      expect(listCopyNames(file)).toHaveLength(3)
    }))

  it('is not made of a file that holds nothing yet', () =>
    withFolder(async (folder) => {
      const file = join(folder, 'new.tareline')
      const store = await openStore(file)
      expect([await keepDayCopy(store.raw, file), isCopyDueBeforeImport(store.raw, file)]).toEqual([null, false])
      await store.close()
      expect(existsSync(copiesFolder(file))).toBe(false)
    }))

  it('is made before an import, once for the same record, and again after a restore led elsewhere', () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      const change = (plate: string) =>
        `update unit set plate = '${plate}'; update ledger set revision = revision + 1; insert into change_log (changed_at, changed_by, subject, subject_key, action) values ('2026-11-25T18:00:00.000Z', 'M. Tarn', 'unit', '${plate}', 'changed')`
      const store = await openStore(file)
      expect(isCopyDueBeforeImport(store.raw, file)).toBe(true)
      await keepCopyBesideImport(file)
      expect(isCopyDueBeforeImport(store.raw, file)).toBe(false)
      store.raw.exec(change('A'))
      expect(isCopyDueBeforeImport(store.raw, file)).toBe(true)
      await keepCopyBesideImport(file)
      await store.close()
      expect(listCopyNames(file).map(({ sequence, reason }) => [sequence, reason])).toEqual([
        [2, 'before-import'],
        [1, 'before-import'],
      ])
    }))

  it('sweeps away what an ended program left unfinished, and nothing that may still be written', () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      mkdirSync(copiesFolder(file))
      const at = (name: string) => join(copiesFolder(file), name)
      // No process has this number: it is above what Linux, macOS and Windows give out.
      for (const name of [
        '.4194999-1.unfinished',
        '.4194999-1.unfinished-journal',
        '.4194999-2.unfinished',
        `.${process.pid}-3.unfinished`,
      ])
        writeFileSync(at(name), 'half')
      for (const name of ['.4194999-1.unfinished', '.4194999-1.unfinished-journal', `.${process.pid}-3.unfinished`])
        utimesSync(at(name), 1, 1)
      const store = await openStore(file)
      await keepCopy(store.raw, file, 'by-hand')
      await store.close()
      expect(readdirSync(copiesFolder(file)).filter((name) => name.startsWith('.'))).toEqual(
        ['.4194999-2.unfinished', `.${process.pid}-3.unfinished`].sort(),
      )
    }))
})

/** A fleet file with one copy, changed since. */
async function changedSince(folder: string) {
  const file = await makeFleetFile(folder)
  const store = await openStore(file)
  const copy = await keepCopy(store.raw, file, 'day', noon)
  const copied = wholeRecord(store)
  store.raw.exec("update unit set plate = 'later'")
  const later = wholeRecord(store)
  await store.close()
  return { file, copy, copied, later }
}

async function recordOf(file: string) {
  const store = await openStore(file, { mustExist: true })
  try {
    return wholeRecord(store)
  } finally {
    await store.close()
  }
}

describe('restoring', () => {
  it('puts the copy in place of a sound file, which becomes a copy itself and can be brought back', () =>
    withFolder(async (folder) => {
      const { file, copy, copied, later } = await changedSince(folder)
      const { keptAs } = await restoreCopy(file, copy, { isDamaged: false })
      expect(await recordOf(file)).toEqual(copied)
      expect(await recordOf(keptAs as string)).toEqual(later)
      expect(listCopyNames(file).map(({ reason }) => reason)).toEqual(['before-restore', 'day'])
      await restoreCopy(file, keptAs as string, { isDamaged: false })
      expect(await recordOf(file)).toEqual(later)
      expect(readdirSync(folder).sort()).toEqual([
        'fleet.tareline',
        'fleet.tareline copies',
        'folder of fleet.tareline',
      ])
    }))

  it('sets a damaged file aside byte for byte, with its log', () =>
    withFolder(async (folder) => {
      const { file, copy, copied } = await changedSince(folder)
      overwriteBytes(file)
      writeFileSync(`${file}-wal`, 'what was in the log')
      const damaged = readFileSync(file)
      const { keptAs } = await restoreCopy(file, copy, { isDamaged: true, now: noon })
      expect(keptAs).toBe(join(folder, 'fleet (set aside 2026-11-25T180000).tareline'))
      expect(readFileSync(keptAs as string).equals(damaged)).toBe(true)
      expect(readFileSync(`${keptAs}-wal`, 'utf8')).toBe('what was in the log')
      expect(existsSync(`${file}-wal`)).toBe(false)
      expect(await recordOf(file)).toEqual(copied)
    }))

  it('ended between the file and its log, finds the log’s place when it is done again', () =>
    withFolder(async (folder) => {
      const { file, copy, copied } = await changedSince(folder)
      writeFileSync(join(folder, 'fleet (set aside 2026-11-25T175959).tareline'), 'damaged')
      writeFileSync(`${file}-wal`, 'its log')
      rmSync(file)
      const { keptAs } = await restoreCopy(file, copy, { isDamaged: false, now: noon })
      expect(keptAs).toBe(join(folder, 'fleet (set aside 2026-11-25T175959).tareline'))
      expect(readFileSync(`${keptAs}-wal`, 'utf8')).toBe('its log')
      expect(await recordOf(file)).toEqual(copied)
    }))

  it('refuses a damaged copy, one of another program, and a file that another program holds; nothing is changed', () =>
    withFolder(async (folder) => {
      const { file, copy } = await changedSince(folder)
      const before = bytesOf(folder)
      const spoilt = join(copiesFolder(file), copyName(2, 'day', noon))
      writeFileSync(spoilt, readFileSync(copy))
      overwriteBytes(spoilt, { from: 0.3, to: 0.9 })
      await expect(restoreCopy(file, spoilt, { isDamaged: false })).rejects.toMatchObject({
        code: 'copy-damaged',
        message: expect.stringContaining('is damaged itself'),
      })
      writeFileSync(join(folder, 'letter'), 'Dear shop')
      await expect(restoreCopy(file, join(folder, 'letter'), { isDamaged: false })).rejects.toMatchObject({
        code: 'not-a-database',
      })
      await expect(restoreCopy(file, join(folder, 'none'), { isDamaged: false })).rejects.toMatchObject({
        code: 'no-such-copy',
      })
      expect({ ...before, letter: bytesOf(folder)['letter'] }).toEqual(bytesOf(folder))
      const other = await openStore(file)
      other.raw.exec("update unit set plate = 'by another window'")
      await expect(restoreCopy(file, copy, { isDamaged: false, patienceMs: 300 })).rejects.toMatchObject({
        code: 'locked',
        message: expect.stringContaining('is in use'),
      })
      expect(wholeRecord(other)['unit']).toEqual(
        expect.arrayContaining([expect.objectContaining({ plate: 'by another window' })]),
      )
      await other.close()
      expect((await checkFile(file)).sound).toBe(true)
      expect(readdirSync(folder).filter((name) => name.startsWith('.'))).toEqual([])
    }))
})

describe('a file whose pages are not checked yet', () => {
  it('answers questions, refuses changes, and is not changed by being closed, log and all', () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      const owner = await openStore(file)
      owner.raw.pragma('wal_autocheckpoint = 0')
      owner.raw.exec("update unit set plate = 'in the log only'")
      const unchecked = openUnchecked(file)
      if (!unchecked) throw new Error('it is of the newest step')
      expect(unchecked.raw.prepare('select min(plate) from unit').pluck().get()).toBe('in the log only')
      expect(() => unchecked.raw.exec("update unit set plate = 'changed'")).toThrow(
        expect.objectContaining({ code: expect.stringMatching(/^SQLITE_READONLY/) }),
      )
      const before = bytesOf(folder)
      await unchecked.close()
      expect(bytesOf(folder)['fleet.tareline']).toBe(before['fleet.tareline'])
      expect(bytesOf(folder)['fleet.tareline-wal']).toBe(before['fleet.tareline-wal'])
      // The last to close would move the log into the file; a file that turned out damaged is left as it is.
      const guard = openGuard(file)
      await owner.close()
      guard?.close()
      expect(bytesOf(folder)['fleet.tareline']).toBe(before['fleet.tareline'])
      expect(bytesOf(folder)['fleet.tareline-wal']).toBe(before['fleet.tareline-wal'])
    }))
})
