import { randomUUID } from 'node:crypto'
import { beforeAll, describe, expect, it } from 'vitest'
import { safe } from '@orpc/client'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { hourOfVisit, typedReading, typedTicket, weighNow } from '#tests/fleet/typed.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { jpegPhoto } from '#tests/store/attachment-samples.ts'

const dayMs = 86_400_000

/** What a phone says of its way, whose clock is ahead by some ms. */
const sentNow = (ahead = 0, byClock = true) => ({
  id: randomUUID() as string,
  clock: toStoredInstant(timeNow() + ahead),
  byClock,
})

describe('a save that is sent more than once', () => {
  let app: RunningApp
  let client: Client
  beforeAll(async () => {
    const window = await openWindow(await runHeavyApp())
    ;({ app, client } = window)
    return window.end
  })

  const rows = () =>
    app.context.fleet.use(async ({ raw }) =>
      ['reading', 'ticket', 'ticket_attachment', 'change_log'].map(
        (table) => raw.prepare(`select count(*) from ${table}`).pluck().get() as number,
      ),
    )
  const takenAt = (reading: string) =>
    app.context.fleet.use(
      async ({ raw }) => raw.prepare('select taken_at from reading where name = ?').pluck().get(reading) as string,
    )
  const reading = (at = hourOfVisit(timeNow(), 1)) => weighNow(at, { 'T-101 drive main': 58 })
  const visit = (ticket: string) => ({
    units: ['T-101', 'V-201'],
    scale: 'Salt Bend Yard',
    localZone: 'America/Denver',
    tickets: [
      typedTicket(
        { ticket, weighedAt: hourOfVisit(timeNow(), 2), grossLb: 70_000 },
        { 'T-101 drive': 30_000 },
        typedReading({ 'T-101 drive main': 55 }),
      ),
    ],
    calibrate: [],
    by: 'Ada',
  })

  it('is saved once, and told the same each time', async () => {
    const before = await rows()
    const once = { ...reading(), sent: sentNow() }
    const first = await client.weigh.save(once)
    // It is sent again at another moment.
    expect(await client.weigh.save({ ...once, sent: { ...once.sent, clock: sentNow(1000).clock } })).toEqual(first)
    const after = await rows()
    expect(after.map((n, i) => n - (before[i] ?? 0))).toEqual([1, 0, 0, 1])

    const scale = { ...visit('P-1'), sent: sentNow() }
    const saved = await client.weighIn.save(scale)
    expect(saved.tickets).toEqual([expect.any(Number)])
    // Without the mark, the number is taken.
    expect(await client.weighIn.save(scale)).toEqual(saved)
    expect((await safe(client.weighIn.save(visit('P-1')))).error?.message).toContain('already has a ticket P-1')
  })

  it('is saved once though all of it is sent again before the first is answered', async () => {
    const before = await rows()
    const once = { ...visit('P-2'), sent: sentNow() }
    const answers = await Promise.all(Array.from({ length: 8 }, () => client.weighIn.save(once)))
    expect(new Set(answers.map((answer) => JSON.stringify(answer))).size).toBe(1)
    expect((await rows()).map((n, i) => n - (before[i] ?? 0))).toEqual([1, 1, 0, 2])
  })

  it('is not taken for another of the same mark', async () => {
    const once = { ...reading(), sent: sentNow() }
    await client.weigh.save(once)
    const before = await rows()
    const { error } = await safe(client.weigh.save({ ...once, note: 'another one' }))
    expect(error?.message).toBe(
      'A save with this mark is in the record already, with other values. Nothing was saved; type it again.',
    )
    expect(await rows()).toEqual(before)
  })

  it('is one of several of one mark, whichever comes first, whatever they hold and however the mark is written', async () => {
    const id = randomUUID() as string
    const way = { ...sentNow(), id }
    const before = await rows()
    const told = await Promise.all([
      ...Array.from({ length: 6 }, (_, i) => safe(client.weigh.save({ ...reading(), note: `note ${i}`, sent: way }))),
      safe(client.weighIn.save({ ...visit('P-6'), sent: way })),
      safe(client.weighIn.save({ ...visit('P-7'), sent: { ...way, id: id.toUpperCase() } })),
    ])
    expect(told.filter(({ error }) => error === null)).toHaveLength(1)
    for (const { error } of told) if (error) expect(error.message).toContain('A save with this mark is in the record')
    const saved = (await rows()).map((n, i) => n - (before[i] ?? 0))
    expect(saved[0]).toBe(1)
    const once = { ...reading(), sent: sentNow() }
    const first = await client.weigh.save(once)
    const loud = { ...once, sent: { ...once.sent, id: once.sent.id.toUpperCase() } }
    expect(await client.weigh.save(loud)).toEqual(first)
    const photo = { ticketId: 1, file: new File([jpegPhoto], 'a.jpg'), by: 'Ada', sentId: once.sent.id }
    expect((await safe(client.attachment.add(photo))).error?.message).toContain('A save with this mark')
  })

  it.each([
    ['empty', ''],
    ['of a million characters', 'a'.repeat(1_000_000)],
    ['with more behind it', `${randomUUID()}\u0000`],
    ['of another form', "'; drop table sent_save; --"],
  ])('has no mark that is %s', async (_, id) => {
    const before = await rows()
    expect((await safe(client.weigh.save({ ...reading(), sent: { ...sentNow(), id } }))).error).toBeTruthy()
    expect(await rows()).toEqual(before)
  })

  it('leaves nothing, and its mark free, where it is refused', async () => {
    const once = { ...visit('P-3'), scale: 'No such scale', sent: sentNow() }
    expect((await safe(client.weighIn.save(once))).error?.message).toContain('There is no scale No such scale')
    expect((await client.weighIn.save({ ...once, scale: 'Salt Bend Yard' })).tickets).toHaveLength(1)
  })

  it('brings a photo to its ticket once, also after that was taken off', async () => {
    const { tickets } = await client.weighIn.save({ ...visit('P-4'), sent: sentNow() })
    const photo = {
      ticketId: tickets[0] ?? 0,
      file: new File([jpegPhoto], 'ticket.jpg', { type: 'image/jpeg' }),
      by: 'Ada',
      sentId: randomUUID() as string,
    }
    const first = await client.attachment.add(photo)
    expect(first.added).toBe(true)
    await client.attachment.takeOff({ ...photo, sha256: first.sha256, reason: 'of another ticket' })
    expect(await client.attachment.add(photo)).toEqual(first)
    expect(await client.attachment.list({ ticketId: photo.ticketId })).toEqual([])
  })

  it.each([
    ['a day ahead', dayMs],
    ['a day behind', -dayMs],
  ])('has the time of the house where it comes from a clock %s', async (_, off) => {
    const typed = timeNow() - 3_600_000
    const { reading: name, clockOffMs } = await client.weigh.save({
      ...reading(toStoredInstant(typed + off)),
      sent: sentNow(off),
    })
    expect(Math.abs(clockOffMs - off)).toBeLessThan(60_000)
    expect(Math.abs(Date.parse(await takenAt(name)) - typed)).toBeLessThan(60_000)
  })

  it('keeps a time that a person typed, and one of a clock that is right', async () => {
    const typed = hourOfVisit(timeNow(), 5)
    const byHand = await client.weigh.save({ ...reading(typed), sent: sentNow(dayMs, false) })
    expect([byHand.clockOffMs, await takenAt(byHand.reading)]).toEqual([0, typed])
    const right = await client.weigh.save({ ...reading(typed), sent: sentNow(20_000) })
    expect([right.clockOffMs, await takenAt(right.reading)]).toEqual([0, typed])
    const ahead = await safe(
      client.weigh.save({ ...reading(toStoredInstant(timeNow() + dayMs)), sent: sentNow(dayMs, false) }),
    )
    expect(ahead.error?.message).toContain('lies ahead')
  })
})
