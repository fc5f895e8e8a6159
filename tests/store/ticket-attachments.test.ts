import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import {
  attachmentPath,
  attachmentsFolder,
  copiedAttachmentsFolder,
  keepAttachment,
  readAttachment,
} from '#core/store/attachments.ts'
import { checkFile } from '#core/store/check-file.ts'
import { backupStore, keepCopy } from '#core/store/copies.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { restoreCopy } from '#core/store/restore.ts'
import { attach, findTicket, listAttachments, takeOff } from '#core/store/ticket-attachments.ts'
import { lastStep, undoStep } from '#core/store/undo.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'
import { jpegPhoto, samples } from '#tests/store/attachment-samples.ts'
import { some } from '#tests/some.ts'

const hand = (by: string, minute = 0) => ({ by, at: `2026-03-01T12:${String(minute).padStart(2, '0')}:00.000Z` })

const write = <T>(store: Store, work: Parameters<ReturnType<Store['db']['transaction']>['execute']>[0]): Promise<T> =>
  store.db.transaction().execute(work) as Promise<T>

async function attachSample(
  store: Store,
  ticketId: number,
  [name, type, bytes]: (typeof samples)[number],
  by = 'Ada',
  minute = 0,
): Promise<{ sha256: string; added: boolean }> {
  const sha256 = keepAttachment(store.file, bytes)
  const ticket = await findTicket(store.db, ticketId)
  const added = await write<boolean>(store, (db) =>
    attach(db, ticket, { sha256, name, type, bytes: bytes.byteLength }, hand(by, minute)),
  )
  return { sha256, added }
}

const count = ({ raw }: Store, table: string) => raw.prepare(`select count(*) from ${table}`).pluck().get()
const revision = ({ raw }: Store) => raw.prepare('select revision from ledger').pluck().get()

/** A fleet file with the three samples on its first ticket. */
const withAttached = (work: (store: Store, hashes: string[], file: string, folder: string) => Promise<void>) =>
  withFolder(async (folder) => {
    const file = await makeFleetFile(folder)
    const store = await openStore(file)
    const hashes: string[] = []
    for (const [at, sample] of samples.entries()) hashes.push((await attachSample(store, 1, sample, 'Ada', at)).sha256)
    await work(store, hashes, file, folder)
  })

it('a file on two tickets is stored once, and twice on one is told and changes nothing', () =>
  withAttached(async (store, hashes) => {
    const before = revision(store)
    expect(await attachSample(store, 1, samples[0], 'Ben')).toEqual({ sha256: hashes[0], added: false })
    expect(revision(store)).toBe(before)
    expect(await attachSample(store, 2, ['other name.jpg', 'image/jpeg', jpegPhoto] as never, 'Ben')).toMatchObject({
      added: true,
    })
    expect([count(store, 'attachment'), count(store, 'ticket_attachment')]).toEqual([3, 4])
    // It keeps the name that it was first given.
    expect(await listAttachments(store.db, 2)).toEqual([
      {
        sha256: hashes[0],
        name: 'photo.jpg',
        type: 'image/jpeg',
        bytes: jpegPhoto.byteLength,
        addedAt: hand('Ben').at,
        addedBy: 'Ben',
      },
    ])
    expect((await listAttachments(store.db, 1)).map(({ name, addedBy }) => [name, addedBy])).toEqual([
      ['photo.jpg', 'Ada'],
      ['picture.png', 'Ada'],
      ['scan.pdf', 'Ada'],
    ])
    await store.close()
  }))

it('taken off, the file stays and the log tells name, hash and reason; a judgement stays current', () =>
  withAttached(async (store, [sha256 = '']) => {
    const ticket = await findTicket(store.db, 1)
    await write(store, (db) => takeOff(db, ticket, sha256, 'of another truck', hand('Ben')))
    expect([
      count(store, 'ticket_attachment'),
      count(store, 'attachment'),
      readAttachment(store.file, { sha256, name: 'photo.jpg' }).equals(jpegPhoto),
    ]).toEqual([2, 3, true])
    expect(
      store.raw
        .prepare('select subject, subject_key, action, record_id, old_value, reason from change_log order by id desc')
        .get(),
    ).toEqual({
      subject: 'ticket',
      subject_key: ticket.name,
      action: 'attachment taken off',
      record_id: 1,
      old_value: JSON.stringify({ attachment: 'photo.jpg', sha256 }),
      reason: 'of another truck',
    })
    expect(ticket.name).toMatch(/ of /)
    await expect(write(store, (db) => takeOff(db, ticket, sha256, 'again', hand('Ben')))).rejects.toMatchObject({
      code: 'no-such-attachment',
    })
    await expect(findTicket(store.db, 99_999)).rejects.toMatchObject({ code: 'no-such-ticket' })
    await store.close()
  }))

it('both steps are undone, and not where something has happened since', () =>
  withAttached(async (store, [sha256 = '']) => {
    const ticket = await findTicket(store.db, 1)
    const names = async () => (await listAttachments(store.db, 1)).map(({ name }) => name)
    const undo = async (of?: number) =>
      write(store, async (db) => undoStep(db, of ?? (await lastStep(db))?.revision ?? 0, hand('Cy', 9)))
    const undone = (await lastStep(store.db))?.revision ?? 0
    await undo()
    expect(await names()).toEqual(['photo.jpg', 'picture.png'])
    await expect(undo(undone)).rejects.toMatchObject({ code: 'cannot-undo' })
    await write(store, (db) => takeOff(db, ticket, sha256, 'blurred', hand('Ben')))
    const step = (await lastStep(store.db))?.revision ?? 0
    await attachSample(store, 1, samples[0], 'Ben', 5)
    await expect(undo(step)).rejects.toMatchObject({
      code: 'cannot-undo',
      message: expect.stringContaining('added again since'),
    })
    await undo()
    await undo(step)
    expect(await names()).toEqual(['photo.jpg', 'picture.png'])
    expect(await listAttachments(store.db, 1)).toMatchObject([
      { addedBy: 'Cy', addedAt: hand('Cy', 9).at },
      { addedBy: 'Ada' },
    ])
    expect(count(store, 'ticket')).toBeGreaterThan(1)
    await store.close()
  }))

it('adding a file again mends one that is missing or damaged; reading it tells which', () =>
  withAttached(async (store, [first = '', second = '']) => {
    const folder = attachmentsFolder(store.file)
    const read = (sha256: string) => () => readAttachment(store.file, { sha256, name: 'photo.jpg' })
    writeFileSync(
      attachmentPath(folder, first),
      jpegPhoto.map((byte, at) => (at === 500 ? byte ^ 1 : byte)),
    )
    rmSync(attachmentPath(folder, second))
    expect(read(first)).toThrow(
      expect.objectContaining({ code: 'attachment-damaged', message: expect.stringMatching(/^photo\.jpg is damaged/) }),
    )
    expect(read(second)).toThrow(
      expect.objectContaining({ code: 'attachment-missing', message: expect.stringContaining('fleet.tareline files') }),
    )
    expect((await checkFile(store.file)).missingAttachments).toEqual([first, second].sort())
    for (const sample of samples) await attachSample(store, 1, sample)
    expect(await checkFile(store.file)).toMatchObject({ sound: true, missingAttachments: [] })
    expect(read(first)().equals(jpegPhoto)).toBe(true)
    await store.close()
  }))

it('what was added is in a backup, in the day’s copy, and there after a restore', () =>
  withAttached(async (store, hashes, file, folder) => {
    const to = join(folder, 'stick.tareline')
    expect((await backupStore(store, to)).missing).toEqual([])
    expect(await checkFile(to)).toMatchObject({ sound: true, missingAttachments: [] })
    for (const [at, [, , bytes]] of samples.entries())
      expect(readFileSync(attachmentPath(attachmentsFolder(to), hashes[at] ?? '')).equals(bytes)).toBe(true)
    const copy = await keepCopy(store.raw, file, 'day')
    for (const sha256 of some(hashes))
      expect(existsSync(attachmentPath(copiedAttachmentsFolder(file), sha256))).toBe(true)
    const ticket = await findTicket(store.db, 1)
    await write(store, (db) => takeOff(db, ticket, hashes[0] ?? '', 'after the copy', hand('Ben')))
    await store.close()
    rmSync(attachmentsFolder(file), { recursive: true })
    expect((await restoreCopy(file, copy, { isDamaged: false })).missingAttachments).toBe(0)
    const again = await openStore(file)
    expect((await listAttachments(again.db, 1)).map(({ name }) => name)).toEqual([
      'photo.jpg',
      'picture.png',
      'scan.pdf',
    ])
    for (const [at, [name, , bytes]] of samples.entries())
      expect(readAttachment(file, { sha256: hashes[at] ?? '', name }).equals(bytes)).toBe(true)
    await again.close()
  }))
