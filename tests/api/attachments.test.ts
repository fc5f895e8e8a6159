import { safe } from '@orpc/client'
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { beforeAll, describe, expect, it } from 'vitest'
import { attachmentPath, attachmentsFolder } from '#core/store/attachments.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, ways } from '#tests/api/windows.ts'
import { runHere } from '#tests/command/run-here.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { jpegPhoto, photoOf, pngOf, samples } from '#tests/store/attachment-samples.ts'

describe.each(ways)('attachments over %s', (way) => {
  let app: RunningApp
  let client: Client
  let ticketId: number
  let otherId: number
  beforeAll(async () => {
    const window = await openWindow(await runHeavyApp(), way)
    ;({ app, client } = window)
    ;[ticketId = 0, otherId = 0] = await app.context.fleet.use(
      async ({ raw }) => raw.prepare('select id from ticket order by id limit 2').pluck().all() as number[],
    )
    return window.end
  })
  const folder = () => attachmentsFolder(app.context.fleet.file())
  const names = async (id = ticketId) => (await client.attachment.list({ ticketId: id })).map(({ name }) => name)
  const add = (bytes: Uint8Array<ArrayBuffer>, name: string, type = 'text/html', id = ticketId) =>
    client.attachment.add({ ticketId: id, file: new File([bytes], name, { type }), by: 'Ada' })

  it.each(samples)(
    '%s is added under any type, told by its bytes, and comes back whole as %s',
    async (name, type, bytes) => {
      const { sha256, ...told } = await add(bytes, name)
      expect(told).toEqual({ added: true, name, warning: null })
      expect((await client.attachment.list({ ticketId })).find((each) => each.sha256 === sha256)).toMatchObject({
        name,
        type,
        bytes: bytes.byteLength,
        addedBy: 'Ada',
        addedAt: expect.stringMatching(/Z$/),
      })
      const file = await client.attachment.read({ ticketId, sha256 })
      expect([file.name, file.type, new Uint8Array(await file.arrayBuffer())]).toEqual([name, type, bytes])
      expect(readFileSync(attachmentPath(folder(), sha256)).equals(bytes)).toBe(true)
    },
  )

  it('the same file again is told and not doubled; a cut-off one is kept with a warning', async () => {
    expect(await add(jpegPhoto, 'again.jpg')).toMatchObject({ added: false, name: 'photo.jpg' })
    const short = await add(jpegPhoto.slice(0, 600), '../../cut off\u0000.jpg')
    expect(short).toMatchObject({
      added: true,
      name: 'cut off.jpg',
      warning: expect.stringMatching(/^cut off.* is a JPEG picture without its end/),
    })
    await client.attachment.takeOff({ ticketId, sha256: short.sha256, reason: 'cut off', by: 'Ada' })
  })

  it('takes 20 MB, and a little more not', async () => {
    const large = photoOf(20_971_520)
    const { sha256 } = await add(large, 'large.jpg', 'image/jpeg', otherId)
    const file = await client.attachment.read({ ticketId: otherId, sha256 })
    expect([file.size, Buffer.compare(new Uint8Array(await file.arrayBuffer()), large)]).toEqual([20_971_520, 0])
    const { error, isDefined } = await safe(add(photoOf(20_971_521), 'larger.jpg', 'image/jpeg', otherId))
    expect(isDefined && error.data).toEqual({
      code: 'too-large',
      field: 'file',
      value: '20.1 MB',
      accepted: 'a JPEG or PNG picture or a PDF of 1 byte to 20 MB',
    })
    expect(await names(otherId)).toEqual(['large.jpg'])
  })

  it.each([
    [
      'a web page that says it is a picture',
      Buffer.from('<html><script>alert(1)</script></html>'),
      'wrong-kind',
      /is a web page; a JPEG or PNG picture or a PDF/,
    ],
    ['nothing', Buffer.alloc(0), 'empty', /ticket\.jpg is empty/],
  ] as const)('%s is refused with a sentence, and nothing is kept', async (_, bytes, code, sentence) => {
    const before = await names()
    const { error, isDefined } = await safe(add(Uint8Array.from(bytes), 'C:\\x\\ticket.jpg', 'image/jpeg'))
    expect(isDefined && error.data.code).toBe(code)
    expect(error?.message).toMatch(sentence)
    expect(await names()).toEqual(before)
  })

  it('a picture of more dots than a page can draw is refused, and kept with a note where a folder brings it', async () => {
    const vast = pngOf(16_384, 16_384)
    const before = await names()
    const { error, isDefined } = await safe(add(vast, 'vast.png'))
    expect(isDefined && error.data.code).toBe('too-many-dots')
    expect(error?.message).toMatch(/^vast\.png has 16,384 by 16,384 dots; a picture of at most 64 million dots/)
    expect(await names()).toEqual(before)

    const from = join(app.folder, 'brought')
    mkdirSync(join(from, 'attachments'), { recursive: true })
    writeFileSync(join(from, 'attachments/vast.png'), vast)
    const [scale, ticket] = await app.context.fleet.use(
      async ({ raw }) =>
        raw
          .prepare('select s.name, t.number from ticket t join scale s on s.id = t.scale_id where t.id = ?')
          .raw()
          .get(otherId) as [string, string],
    )
    writeFileSync(join(from, 'attachments.csv'), `scale,ticket,file\n${scale},${ticket},attachments/vast.png\n`)
    const steps = await client.folder.bringIn({ folder: from })
    let step = await steps.next()
    while (!step.done) step = await steps.next()
    expect(step.value).toMatchObject({
      outcome: 'stored',
      notes: [
        expect.stringMatching(/line 2: attachments\/vast\.png is kept and not drawn: it has 16,384 by 16,384 dots/),
      ],
    })
    expect(await names(otherId)).toContain('vast.png')
  })

  it('what is not of the ticket is neither read nor taken off, whatever lies in the folder', async () => {
    const [{ sha256 } = { sha256: '' }] = await client.attachment.list({ ticketId })
    for (const [input, code] of [
      [{ ticketId: otherId, sha256 }, 'no-such-attachment'],
      [{ ticketId, sha256: 'a'.repeat(64) }, 'no-such-attachment'],
      [{ ticketId, sha256: `../${'a'.repeat(61)}` }, 'not-accepted'],
      [{ ticketId, sha256: sha256.toUpperCase() }, 'not-accepted'],
    ] as const) {
      for (const call of [
        client.attachment.read(input),
        client.attachment.takeOff({ ...input, reason: 'x', by: 'Ada' }),
      ]) {
        const { error, isDefined } = await safe(call)
        expect([input, isDefined && error.data.code]).toEqual([input, code])
      }
    }
    const { error, isDefined } = await safe(add(jpegPhoto, 'x.jpg', 'image/jpeg', 1_000_000))
    expect(isDefined && error.data.code).toBe('no-such-ticket')
  })

  it('taken off with a reason, undone from the log, and told there', async () => {
    const [{ sha256, name } = { sha256: '', name: '' }] = await client.attachment.list({ ticketId })
    expect(await client.attachment.takeOff({ ticketId, sha256, reason: 'of another truck', by: 'Ben' })).toEqual({
      name,
    })
    expect(await names()).not.toContain(name)
    const last = await client.log.last()
    expect(last).toMatchObject({
      problem: null,
      by: 'Ben',
      entries: [
        {
          subject: 'ticket',
          action: 'attachment taken off',
          reason: 'of another truck',
          fields: [
            { name: 'attachment', old: name, new: null },
            { name: 'sha256', old: sha256, new: null },
          ],
        },
      ],
    })
    await client.log.undo({ revision: last?.revision ?? 0, by: 'Ben' })
    expect(await names()).toContain(name)
    expect((await client.log.list({ subject: 'ticket', text: 'photo' })).total).toBeGreaterThan(0)
  })

  it('one that is damaged or gone is told, by the window and by check', async () => {
    const found = await client.attachment.list({ ticketId })
    const [first, second] = found as [(typeof found)[number], (typeof found)[number]]
    writeFileSync(attachmentPath(folder(), first.sha256), 'not what it was')
    rmSync(attachmentPath(folder(), second.sha256))
    for (const [{ sha256, name }, code] of [
      [first, 'attachment-damaged'],
      [second, 'attachment-missing'],
    ] as const) {
      const { error, isDefined } = await safe(client.attachment.read({ ticketId, sha256 }))
      expect([isDefined && error.data.code, error?.message]).toEqual([code, expect.stringContaining(name)])
      expect(error?.message).not.toContain(app.folder)
    }
    const { exit, error } = await runHere('check', '--db', join(app.folder, 'fleet.tareline'))
    expect([exit, error.split('\n').filter((line) => /^[0-9a-f]{64}$/.test(line))]).toEqual([
      2,
      [first.sha256, second.sha256].sort(),
    ])
    expect(error).toContain('2 attachments that it names are missing or damaged')
  })
})
