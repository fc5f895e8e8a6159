import Database from 'better-sqlite3'
import fc from 'fast-check'
import { copyFileSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { RehearsalNote } from '#core/contracts/safekeeping.ts'
import { attachmentPath, attachmentsFolder, copiedAttachmentsFolder } from '#core/store/attachments.ts'
import { isRehearsalDue, overdueDays } from '#core/store/care-due.ts'
import { noteRehearsal, readCheckNote, readRehearsalNote } from '#core/store/care-notes.ts'
import { keepCopy, listCopyNames } from '#core/store/copies.ts'
import { copiesFolder, copyName } from '#core/store/copy-names.ts'
import { withLook } from '#core/store/look.ts'
import { openStore } from '#core/store/open.ts'
import { rehearseRestore } from '#core/store/rehearse-restore.ts'
import { restoreCopy } from '#core/store/restore.ts'
import { recordDigest } from '#core/store/seals.ts'
import { bringToSecondPlace, isOnSameDisk, prepareSecondPlace } from '#core/store/second-place.ts'
import { laterBy, toStoredInstant } from '#core/words/instant.ts'
import { sayKept } from '#core/words/kept-phrase.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { bytesOf, makeFleetFile, overwriteBytes, soundness } from '#tests/faults/fleet-files.ts'
import { writeOldFile } from '#tests/faults/old-file.ts'
import { smallDisk } from '#tests/faults/small-disk.ts'
import { photos, withPhotos } from '#tests/store/with-photos.ts'

const noon = Date.UTC(2026, 10, 25, 18)
const named = (at: number) => ({ name: copyName(1, 'day', at), sequence: 1, reason: 'day', at }) as const
const noteAt = (at: number, outcome: RehearsalNote['outcome'], copy = named(noon).name): RehearsalNote => ({
  at: toStoredInstant(at),
  copy,
  copyMadeAt: toStoredInstant(noon),
  outcome,
  words: '',
  rows: 1,
})

describe('when a restore is rehearsed', () => {
  it('is once a week while it goes well, and the next day or with the next copy where it did not', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 40, noNaN: true }), (days) => {
        const now = laterBy(noon, days)
        expect(isRehearsalDue(noteAt(noon, 'restored'), named(now), now)).toBe(days >= 7)
        expect(isRehearsalDue(noteAt(noon, 'failed'), named(noon), now)).toBe(days >= 1)
        expect(isRehearsalDue(noteAt(noon, 'hindered', named(laterBy(noon, -1)).name), named(noon), now)).toBe(true)
      }),
    )
  })

  it('is at once where it never was, and never without a copy; a clock that was set back makes it wait for nothing', () => {
    expect(isRehearsalDue(null, named(noon), noon)).toBe(true)
    expect(isRehearsalDue(null, undefined, noon)).toBe(false)
    expect(isRehearsalDue(noteAt(laterBy(noon, 400), 'restored'), named(noon), noon)).toBe(true)
  })

  it('is overdue by whole days, counted from when it could first have been', () => {
    expect(overdueDays('rehearsal', null, null, noon)).toBeNull()
    expect(overdueDays('rehearsal', laterBy(noon, -13.9), null, noon)).toBeNull()
    expect(overdueDays('rehearsal', laterBy(noon, -14), laterBy(noon, -90), noon)).toBe(14)
    expect(overdueDays('check', null, laterBy(noon, -5.5), noon)).toBe(5)
    expect(overdueDays('second', null, laterBy(noon, -6.9), noon)).toBeNull()
  })
})

/** What rehearsals of this program have left behind. */
const leftovers = () => readdirSync(tmpdir()).filter((name) => name.startsWith(`tareline-rehearsal-${process.pid}-`))

/** A fleet file with two attachments and a copy of it. */
async function withCopy(folder: string): Promise<{ file: string; copy: string; hashes: string[] }> {
  const { file, store, hashes } = await withPhotos(folder)
  const copy = await keepCopy(store.raw, file, 'day', noon)
  await store.close()
  return { file, copy, hashes }
}

describe('a rehearsed restore', () => {
  it('brings every row back, touches neither file nor copies, and leaves nothing', () =>
    withFolder(async (folder) => {
      const { file, copy } = await withCopy(folder)
      const before = [bytesOf(folder), bytesOf(copiesFolder(file))]
      const note = await rehearseRestore(file, laterBy(noon, 1))
      const rows = withLook(copy, (raw) => raw.prepare('select count(*) from reading').pluck().get())
      expect(note).toMatchObject({
        at: toStoredInstant(laterBy(noon, 1)),
        copy: basename(copy),
        copyMadeAt: toStoredInstant(noon),
        outcome: 'restored',
        words: '',
      })
      expect(note?.rows).toBeGreaterThan(Number(rows))
      expect([bytesOf(folder), bytesOf(copiesFolder(file))]).toEqual(before)
      expect(leftovers()).toEqual([])
      expect(readCheckNote(file)).toEqual({ at: toStoredInstant(noon), by: 'copy', outcome: 'whole', found: [] })
    }))

  it('brings a copy of the first release to the newest step as an update would', () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      mkdirSync(copiesFolder(file))
      await writeOldFile(file, join(copiesFolder(file), copyName(1, 'before-update', noon)))
      expect(await rehearseRestore(file)).toMatchObject({ outcome: 'restored', words: '' })
    }))

  it('of no copy says nothing, of a damaged one that it failed', () =>
    withFolder(async (folder) => {
      const { file, copy } = await withCopy(folder)
      expect(await rehearseRestore(join(folder, 'other.tareline'))).toBeNull()
      overwriteBytes(copy)
      const note = await rehearseRestore(file)
      expect(note).toMatchObject({ outcome: 'failed', words: expect.stringMatching(/newest copy is damaged/), rows: 0 })
      writeFileSync(copy, 'Dear shop, this is a letter and not a database.')
      expect(await rehearseRestore(file)).toMatchObject({ outcome: 'failed' })
      expect(leftovers()).toEqual([])
      // A note that was written is read again, and one that was cut off says nothing.
      if (note) noteRehearsal(file, note)
      expect(readRehearsalNote(file)).toEqual(note)
      writeFileSync(join(copiesFolder(file), 'rehearsed.json'), '{"at":"2026-')
      expect(readRehearsalNote(file)).toBeNull()
    }))

  it('tells of attachments that lie neither beside the file nor among the copies', () =>
    withFolder(async (folder) => {
      const { file, hashes } = await withCopy(folder)
      const [first = ''] = hashes
      rmSync(attachmentPath(copiedAttachmentsFolder(file), first))
      expect(await rehearseRestore(file)).toMatchObject({ outcome: 'restored' })
      rmSync(attachmentPath(attachmentsFolder(file), first))
      expect(await rehearseRestore(file)).toMatchObject({
        outcome: 'restored',
        words: expect.toSatisfy(
          (words: string) => sayKept(words) === '1 attachment that it names is nowhere to be found.',
        ),
      })
    }))

  it('compares every row: one figure more makes another digest, whatever the seals say', () =>
    withFolder(async (folder) => {
      const { copy } = await withCopy(folder)
      const digest = withLook(copy, recordDigest)
      const raw = new Database(copy)
      expect(
        raw
          .prepare(
            'update ticket_weight set weight_lb = weight_lb + 1 where rowid = (select min(rowid) from ticket_weight)',
          )
          .run().changes,
      ).toBe(1)
      raw.close()
      expect(withLook(copy, recordDigest)).not.toBe(digest)
    }))
})

/** The folder of the second place for the copies of a file. */
const placeOf = (chosen: string, file: string) => join(chosen, basename(copiesFolder(file)))

describe('a second place', () => {
  it('gets the newest copy once, byte for byte with its attachments, and gives all back where the first is gone', () =>
    withFolder(async (folder) => {
      const { file, copy } = await withCopy(folder)
      const chosen = join(folder, 'drive')
      mkdirSync(chosen)
      prepareSecondPlace(file, chosen)
      const arrived = bringToSecondPlace(file, chosen)
      expect(arrived).toEqual({ name: copyName(1, 'day', noon), madeAt: toStoredInstant(noon) })
      expect(bringToSecondPlace(file, chosen)).toEqual(arrived)
      const there = join(placeOf(chosen, file), arrived?.name ?? '')
      expect(readFileSync(there).equals(readFileSync(copy))).toBe(true)
      expect(readdirSync(placeOf(chosen, file)).sort()).toEqual([arrived?.name, 'files'])
      expect(isOnSameDisk(file, chosen)).toBe(true)

      const elsewhere = join(folder, 'new computer')
      mkdirSync(elsewhere)
      await restoreCopy(join(elsewhere, 'fleet.tareline'), there, { isDamaged: false })
      expect(await soundness(join(elsewhere, 'fleet.tareline'))).toContain('is sound')
      expect(readdirSync(attachmentsFolder(join(elsewhere, 'fleet.tareline')))).toHaveLength(photos.length)
    }))

  it('keeps numbering on where a file was begun anew, and lets old days go as the first does', () =>
    withFolder(async (folder) => {
      const file = await makeFleetFile(folder)
      const chosen = join(folder, 'drive')
      mkdirSync(chosen)
      prepareSecondPlace(file, chosen)
      const place = placeOf(chosen, file)
      for (let day = 1; day <= 14; day += 1)
        writeFileSync(join(place, copyName(100 + day, 'day', laterBy(noon, day - 20))), 'kept long ago')
      const store = await openStore(file)
      await keepCopy(store.raw, file, 'day', noon)
      await store.close()
      expect(bringToSecondPlace(file, chosen)?.name).toBe(copyName(115, 'day', noon))
      expect(readdirSync(place).filter((name) => name.endsWith('.tareline'))).toHaveLength(14)
      expect(readdirSync(place)).not.toContain(copyName(101, 'day', laterBy(noon, -19)))
    }))

  it('that is not there, the folder of the file itself, or no folder is refused with a sentence, and not made', () =>
    withFolder(async (folder) => {
      const { file } = await withCopy(folder)
      const chosen = join(folder, 'drive')
      expect(() => prepareSecondPlace(file, chosen)).toThrow(/drive is not there: the drive may be unplugged/)
      expect(() => prepareSecondPlace(file, folder)).toThrow(/another disk or drive/)
      expect(() => prepareSecondPlace(file, join(copiesFolder(file), 'files'))).toThrow(/another disk or drive/)
      expect(() => prepareSecondPlace(file, file)).toThrow(/is a file/)
      mkdirSync(chosen)
      prepareSecondPlace(file, chosen)
      // What a mount point looks like whose drive is out.
      rmSync(placeOf(chosen, file), { recursive: true })
      expect(() => bringToSecondPlace(file, chosen)).toThrow(/is not there/)
      expect(readdirSync(chosen)).toEqual([])
    }))

  it('that is full or read-only is told of with a sentence, and nothing half is left there', async (context) => {
    const refused = await withFolder(async (folder) => {
      const { file } = await withCopy(folder)
      const disk = smallDisk(join(folder, 'disk'), 6)
      if (typeof disk === 'string') return disk
      using _ = disk
      prepareSecondPlace(file, disk.folder)
      disk.leave(60_000)
      expect(() => bringToSecondPlace(file, disk.folder)).toThrow(/no room for the copy in .*Free some space there/)
      const place = placeOf(disk.folder, file)
      expect(readdirSync(place).filter((name) => name !== 'files')).toEqual([])
      disk.free()
      disk.writable(false)
      expect(() => bringToSecondPlace(file, disk.folder)).toThrow(/Nothing can be written to .*write-protected/)
      disk.writable(true)
      expect(bringToSecondPlace(file, disk.folder)).not.toBeNull()
      expect(isOnSameDisk(file, disk.folder)).toBe(false)
      return undefined
    })
    if (refused !== undefined) context.skip(refused)
  })

  it('gets nothing of a copy that is damaged itself', () =>
    withFolder(async (folder) => {
      const { file, copy } = await withCopy(folder)
      const chosen = join(folder, 'drive')
      mkdirSync(chosen)
      prepareSecondPlace(file, chosen)
      copyFileSync(copy, `${copy}.aside`)
      overwriteBytes(copy, { from: 0, to: 0.05 })
      expect(() => bringToSecondPlace(file, chosen)).toThrow(/copy beside the file is damaged/)
      expect(listCopyNames(file)).toHaveLength(1)
      expect(readdirSync(placeOf(chosen, file))).toEqual([])
    }))
})
