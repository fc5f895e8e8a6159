import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { attachmentPath, attachmentsFolder, hashOf, keepAttachment } from '#core/store/attachments.ts'
import type { Store } from '#core/store/open.ts'
import { attach, findTicket } from '#core/store/ticket-attachments.ts'
import { mostAttachmentBytes } from '#core/words/attachment-file.ts'
import { runHere } from '#tests/command/run-here.ts'
import { smallFleet, withFleetFolder, withFolder } from '#tests/exchange/small-fleet.ts'
import { bringWell, wholeRecord } from '#tests/exchange/whole-record.ts'
import { jpegPhoto, pdfScan, photoOf, samples } from '#tests/store/attachment-samples.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const header = 'scale,ticket,file,sha256,name'
const list = (...rows: string[]) => `${[header, ...rows].join('\n')}\n`

async function attachTo(
  store: Store,
  ticketId: number,
  [name, type, bytes]: readonly [string, string, Uint8Array],
): Promise<void> {
  const sha256 = keepAttachment(store.file, bytes)
  const ticket = await findTicket(store.db, ticketId)
  await store.db
    .transaction()
    .execute((db) =>
      attach(
        db,
        ticket,
        { sha256, name, type: type as 'image/png', bytes: bytes.byteLength },
        { by: 'Ada', at: '2026-03-01T12:00:00.000Z' },
      ),
    )
}

/** A store with the small fleet, its first ticket with three attachments and its second with one of them. */
const withAttached = (work: (store: Store, home: string) => Promise<void>) =>
  withFolder((home) =>
    withStore(async (store) => {
      await bringWell(store, smallFleet())
      for (const [at, sample] of samples.entries())
        await attachTo(store, 1, at === 2 ? ['scan, "front".pdf', sample[1], sample[2]] : sample)
      await attachTo(store, 2, samples[0])
      await work(store, home)
    }),
  )

const links = ({ raw }: Store) =>
  raw
    .prepare(
      'select t.number, l.sha256, a.media_type, a.size_bytes, a.file_name from ticket_attachment l join attachment a using (sha256) join ticket t on t.id = l.ticket_id order by 1, 2',
    )
    .all()
const treeOf = (folder: string) =>
  Object.fromEntries(
    readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map(({ parentPath, name }) => [
        join(parentPath, name).slice(folder.length + 1),
        hashOf(readFileSync(join(parentPath, name))),
      ])
      .sort(),
  )

describe('attachments in a fleet folder', () => {
  it('go out once each with a list, come in whole, and the same folder twice changes nothing', () =>
    withAttached(async (store, home) => {
      const folder = join(home, 'out')
      const written = await exportFolder(store, folder)
      expect([written.files.length, written.files.at(-1), written.leftOut]).toEqual([
        13,
        { file: 'attachments.csv', rows: 4 },
        [],
      ])
      const rows = readFileSync(join(folder, 'attachments.csv'), 'utf8').trimEnd().split('\n')
      expect(rows[0]).toBe(header)
      expect(rows).toHaveLength(5)
      for (const [, , bytes] of samples)
        expect(rows.some((row) => row.includes(`attachments/${hashOf(bytes)}.`))).toBe(true)
      expect(readdirSync(join(folder, 'attachments')).sort()).toEqual(
        [`${hashOf(jpegPhoto)}.jpg`, `${hashOf(samples[1][2])}.png`, `${hashOf(pdfScan)}.pdf`].sort(),
      )

      await withStore(async (other) => {
        expect(await importFolder(other, folder)).toMatchObject({
          outcome: 'stored',
          notes: [],
          files: expect.arrayContaining([{ file: 'attachments.csv', read: 4, added: 4, completed: 0, same: 0 }]),
        })
        expect(links(other)).toEqual(links(store))
        for (const [, , bytes] of samples)
          expect(readFileSync(attachmentPath(attachmentsFolder(other.file), hashOf(bytes))).equals(bytes)).toBe(true)
        const before = wholeRecord(other)
        expect(await importFolder(other, folder)).toMatchObject({
          outcome: 'stored',
          files: expect.arrayContaining([{ file: 'attachments.csv', read: 4, added: 0, completed: 0, same: 4 }]),
        })
        expect(wholeRecord(other)).toEqual(before)
        // A folder with attachments is one of our kind, and may be replaced.
        await exportFolder(other, join(home, 'again'))
        await exportFolder(other, join(home, 'again'))
        expect(treeOf(join(home, 'again'))).toEqual(treeOf(folder))
      })
    }))

  it('a fleet without any has the twelve files and nothing else', () =>
    withFolder((home) =>
      withStore(async (store) => {
        await bringWell(store, smallFleet())
        await exportFolder(store, join(home, 'out'))
        expect(readdirSync(join(home, 'out'))).toHaveLength(12)
      }),
    ))

  it('one that is damaged or gone is left out and told, and the folder comes in all the same', () =>
    withAttached(async (store, home) => {
      writeFileSync(attachmentPath(attachmentsFolder(store.file), hashOf(jpegPhoto)), 'damaged')
      rmSync(attachmentPath(attachmentsFolder(store.file), hashOf(pdfScan)))
      const { files, leftOut } = await exportFolder(store, join(home, 'out'))
      expect(files.at(-1)).toEqual({ file: 'attachments.csv', rows: 1 })
      expect(leftOut.sort()).toEqual([
        expect.stringMatching(/^Left out, ticket 30417 of .*: photo\.jpg is damaged/),
        expect.stringMatching(/^Left out, ticket 30417 of .*: scan, "front"\.pdf cannot be read/),
      ])
      await withStore(async (other) =>
        expect(await importFolder(other, join(home, 'out'))).toMatchObject({ outcome: 'stored' }),
      )
    }))

  it('what somebody else put among them is never thrown away', () =>
    withAttached(async (store, home) => {
      await exportFolder(store, join(home, 'out'))
      writeFileSync(join(home, 'out/attachments/my notes.pdf'), 'mine')
      await expect(exportFolder(store, join(home, 'out'))).rejects.toMatchObject({
        code: 'folder-in-use',
        message: expect.stringContaining('attachments/my notes.pdf'),
      })
    }))

  it('both commands do the same', () =>
    withAttached(async (store, home) => {
      const file = store.file
      const out = await runHere('export', join(home, 'out'), '--db', file)
      expect([out.exit, out.out]).toEqual([0, expect.stringMatching(/attachments\.csv +4 rows/)])
      expect((await runHere('import', join(home, 'out'), '--db', join(home, 'new.tareline'))).exit).toBe(0)
      expect(treeOf(attachmentsFolder(join(home, 'new.tareline')))).toEqual(treeOf(attachmentsFolder(file)))
      rmSync(attachmentPath(attachmentsFolder(file), hashOf(pdfScan)))
      expect((await runHere('export', join(home, 'out'), '--db', file)).error).toContain('Left out, ticket')
    }))
})

describe('a folder made by hand', () => {
  const [scale, ticket] = ['Salt Bend Yard', '30417']
  /** Brings the small fleet in with rows of attachments.csv and files. */
  const bringBy = (
    rows: readonly string[],
    files: Readonly<Record<string, Uint8Array | string>>,
    work: (outcome: Awaited<ReturnType<typeof importFolder>>, store: Store) => void,
    prepare: (folder: string) => void = () => undefined,
  ) =>
    withFleetFolder({ ...smallFleet(), 'attachments.csv': list(...rows) }, (folder) =>
      withStore(async (store) => {
        mkdirSync(join(folder, 'attachments'))
        for (const [name, content] of Object.entries(files)) writeFileSync(join(folder, 'attachments', name), content)
        prepare(folder)
        work(await importFolder(store, folder), store)
      }),
    )

  it('needs neither hash nor name; a cut-off picture and a second name are noted', () =>
    bringBy(
      [
        `${scale},${ticket},attachments/ticket 1.JPG,,`,
        `${scale},30418,attachments/again.jpg,${hashOf(jpegPhoto).toUpperCase()},other.jpg`,
        `${scale},${ticket},attachments/cut.jpg,,../x/cut off`,
      ],
      { 'ticket 1.JPG': jpegPhoto, 'again.jpg': jpegPhoto, 'cut.jpg': jpegPhoto.subarray(0, 600) },
      (outcome, store) => {
        expect(outcome).toMatchObject({
          outcome: 'stored',
          notes: [
            expect.stringMatching(/^attachments\.csv line 4: attachments\/cut\.jpg is a JPEG picture without its end/),
            'attachments.csv line 3: this very file is kept already as ticket 1.JPG, and keeps that name.',
          ],
        })
        expect(links(store)).toMatchObject([
          { number: '30417', file_name: expect.stringMatching(/ticket 1\.JPG|cut off\.jpg/) },
          { number: '30417' },
          { number: '30418', file_name: 'ticket 1.JPG' },
        ])
      },
    ))

  it.each([
    ['a file that is not there', 'attachments/none.jpg', '', 'file', /no such file in the fleet folder/],
    [
      'a web page under a picture’s name',
      'attachments/page.jpg',
      '',
      'file',
      /is a web page; a JPEG or PNG picture or a PDF/,
    ],
    ['an empty file', 'attachments/empty.jpg', '', 'file', /is empty/],
    ['a file that is too large', 'attachments/large.jpg', '', 'file', /has 20\.1 MB/],
    ['another hash', 'attachments/photo.jpg', 'a'.repeat(64), 'sha256', /damaged or another file: its SHA-256 is/],
    ['a hash that is none', 'attachments/photo.jpg', 'abc', 'sha256', /64 hexadecimal digits/],
    ['a link', 'attachments/link.jpg', '', 'file', /no such file/],
  ] as const)('%s is a problem with file, line and column, and nothing is stored', (_, path, hash, column, sentence) =>
    bringBy(
      [`${scale},${ticket},attachments/photo.jpg,,`, `${scale},${ticket},${path},${hash},`],
      {
        'photo.jpg': jpegPhoto,
        'page.jpg': '<!doctype html>',
        'empty.jpg': '',
        ...(path.includes('large') ? { 'large.jpg': photoOf(mostAttachmentBytes + 1) } : {}),
      },
      (outcome, store) => {
        expect(outcome).toMatchObject({
          outcome: 'refused',
          problems: [{ file: 'attachments.csv', line: 3, column, message: expect.stringMatching(sentence) }],
        })
        expect([
          links(store),
          store.raw.prepare('select count(*) from unit').pluck().get(),
          existsSync(attachmentsFolder(store.file)),
        ]).toEqual([[], 0, false])
      },
      (folder) => {
        writeFileSync(join(folder, 'secret.jpg'), jpegPhoto)
        symlinkSync(join(folder, 'secret.jpg'), join(folder, 'attachments/link.jpg'))
      },
    ),
  )

  it('no path leads out of the folder of attachments, and each that would is told with its line', () => {
    const paths = [
      'attachments/../secret.jpg',
      '../secret.jpg',
      '/etc/passwd.pdf',
      'attachments/sub/photo.jpg',
      'attachments\\photo.jpg',
      'photo.jpg',
      'attachments/',
      'attachments/.jpg',
      'attachments/CON.jpg',
      'attachments/photo.jpg:x.png',
      'C:\\x.jpg',
    ]
    return bringBy(
      paths.map((path) => `${scale},${ticket},${path},,`),
      { 'photo.jpg': jpegPhoto },
      (outcome, store) => {
        expect(outcome).toMatchObject({
          outcome: 'refused',
          problems: paths.map((path, at) => ({
            file: 'attachments.csv',
            line: at + 2,
            column: 'file',
            value: path,
            message: expect.stringMatching(/is not accepted; a path such as attachments\/ticket 7\.jpg/),
          })),
        })
        expect([links(store), existsSync(attachmentsFolder(store.file))]).toEqual([[], false])
      },
      (folder) => writeFileSync(join(folder, 'secret.jpg'), jpegPhoto),
    )
  })

  it('a ticket that is not there is told, and a folder of files without its list is noted', async () => {
    await bringBy([`${scale},nowhere,attachments/photo.jpg,,`], { 'photo.jpg': jpegPhoto }, (outcome) => {
      expect(outcome).toMatchObject({
        outcome: 'refused',
        problems: [{ file: 'attachments.csv', line: 2, column: 'ticket' }],
      })
    })
    await bringBy(
      [],
      { 'photo.jpg': jpegPhoto },
      (outcome) => {
        expect(outcome).toMatchObject({
          outcome: 'stored',
          notes: [
            'The folder attachments was passed over: there is no attachments.csv that says which tickets its files belong to.',
          ],
        })
      },
      (folder) => rmSync(join(folder, 'attachments.csv')),
    )
  })

  it('a cancel between two files leaves nothing', () =>
    withFleetFolder(
      {
        ...smallFleet(),
        'attachments.csv': list(`${scale},${ticket},attachments/a.jpg,,`, `${scale},${ticket},attachments/b.pdf,,`),
      },
      (folder) =>
        withStore(async (store) => {
          mkdirSync(join(folder, 'attachments'))
          writeFileSync(join(folder, 'attachments/a.jpg'), jpegPhoto)
          writeFileSync(join(folder, 'attachments/b.pdf'), pdfScan)
          const stop = new AbortController()
          const stages: string[] = []
          await expect(
            importFolder(store, folder, {
              signal: stop.signal,
              onProgress: ({ stage }) => {
                stages.push(stage)
                if (stage === 'Keeping attachment 2 of 2') stop.abort()
              },
            }),
          ).rejects.toMatchObject({ name: 'AbortError' })
          expect(stages).toEqual(expect.arrayContaining(['Reading attachment 1 of 2', 'Keeping attachment 1 of 2']))
          expect([links(store), store.raw.prepare('select count(*) from ticket').pluck().get()]).toEqual([[], 0])
        }),
    ))
})
