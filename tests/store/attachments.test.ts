import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { attachmentPath, attachmentsFolder, copiedAttachmentsFolder, keepAttachment } from '#core/store/attachments.ts'
import { checkFile } from '#core/store/check-file.ts'
import { backupStore, keepCopy } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { restoreCopy } from '#core/store/restore.ts'
import { TarelineError } from '#core/words/problem.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { photos, withPhotos } from '#tests/store/with-photos.ts'

it('the SHA-256 of an attachment is its name, whoever keeps it twice', () =>
  withFolder((folder) => {
    const file = join(folder, 'fleet.tareline')
    // FIPS 180-2, the example "abc".
    expect(keepAttachment(file, Buffer.from('abc'))).toBe(
      'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
    )
    keepAttachment(file, Buffer.from('abc'))
    expect(readdirSync(join(attachmentsFolder(file), 'ba'))).toHaveLength(1)
  }))

it('check tells of attachments that are missing or damaged', () =>
  withFolder(async (folder) => {
    const {
      file,
      store,
      hashes: [first = '', second = ''],
    } = await withPhotos(folder)
    await store.close()
    expect(await checkFile(file)).toMatchObject({ sound: true, missingAttachments: [] })
    writeFileSync(attachmentPath(attachmentsFolder(file), first), 'a ticket, PHOTOGRAPHED')
    rmSync(attachmentPath(attachmentsFolder(file), second))
    expect(await checkFile(file)).toMatchObject({
      sound: false,
      missingAttachments: [first, second].sort(),
      message: expect.stringMatching(/2 attachments that it names are missing or damaged/),
    })
  }))

it('a backup has its own, and says which it could not have', () =>
  withFolder(async (folder) => {
    const {
      file,
      store,
      hashes: [first = '', second = ''],
    } = await withPhotos(folder)
    const to = join(folder, 'stick.tareline')
    expect((await backupStore(store, to)).missing).toEqual([])
    expect(await checkFile(to)).toMatchObject({ sound: true })
    expect(readFileSync(attachmentPath(attachmentsFolder(to), first)).equals(photos[0] as Buffer)).toBe(true)
    rmSync(attachmentPath(attachmentsFolder(file), second))
    expect((await backupStore(store, join(folder, 'second.tareline'))).missing).toEqual([second])
    await store.close()
  }))

it('copies share one set of them, and a restore puts back those that are gone', () =>
  withFolder(async (folder) => {
    const {
      file,
      store,
      hashes: [first = '', second = ''],
    } = await withPhotos(folder)
    const copy = await keepCopy(store.raw, file, 'day')
    await keepCopy(store.raw, file, 'by-hand')
    await store.close()
    expect(existsSync(attachmentPath(copiedAttachmentsFolder(file), first))).toBe(true)
    rmSync(attachmentPath(attachmentsFolder(file), first))
    writeFileSync(attachmentPath(attachmentsFolder(file), second), 'Another ticket')
    expect((await restoreCopy(file, copy, { isDamaged: false })).missingAttachments).toBe(0)
    expect(await checkFile(file)).toMatchObject({ sound: true })
    // Gone from both places it cannot come back, and that is told.
    rmSync(attachmentsFolder(file), { recursive: true })
    rmSync(attachmentPath(copiedAttachmentsFolder(file), second))
    expect((await restoreCopy(file, copy, { isDamaged: false })).missingAttachments).toBe(1)
  }))

it('no copy has its name without them: one whose attachments cannot be kept is none', () =>
  withFolder(async (folder) => {
    const {
      file,
      store,
      hashes: [first = ''],
    } = await withPhotos(folder)
    mkdirSync(copiesFolder(file), { recursive: true })
    writeFileSync(copiedAttachmentsFolder(file), 'in the way')
    await expect(keepCopy(store.raw, file, 'day')).rejects.toBeInstanceOf(TarelineError)
    expect(readdirSync(copiesFolder(file))).toEqual(['files'])
    writeFileSync(attachmentsFolder(join(folder, 'stick.tareline')), 'in the way')
    await expect(backupStore(store, join(folder, 'stick.tareline'))).rejects.toBeInstanceOf(TarelineError)
    expect(existsSync(join(folder, 'stick.tareline'))).toBe(false)

    // What a restore moves away is a copy like any other.
    rmSync(copiedAttachmentsFolder(file))
    const elsewhere = await keepCopy(store.raw, file, 'by-hand')
    rmSync(copiedAttachmentsFolder(file), { recursive: true })
    await store.close()
    const { keptAs } = await restoreCopy(file, elsewhere, { isDamaged: false })
    expect(await checkFile(keptAs as string, [copiedAttachmentsFolder(file)])).toMatchObject({ sound: true })
    expect(existsSync(attachmentPath(copiedAttachmentsFolder(file), first))).toBe(true)
  }))
