import { beforeAll, expect, it } from 'vitest'
import { timeNow } from '#core/store/clock.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { jpegPhoto } from '#tests/store/attachment-samples.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { hourOfVisit, typedReading, typedTicket } from '#tests/fleet/typed.ts'

let app: RunningApp
let client: Client
beforeAll(async () => {
  const window = await openWindow(await runHeavyApp())
  ;({ app, client } = window)
  return window.end
})

const ticket = (number: string, psi: number, hour: number) =>
  typedTicket(
    { ticket: number, weighedAt: hourOfVisit(timeNow(), hour) },
    { 'T-101 drive': 2000 + 400 * psi },
    typedReading({ 'T-101 drive main': psi }, { lift: 'none' }),
  )
const visit = { units: ['T-101'], scale: 'Salt Bend Yard', localZone: 'America/Denver', by: 'Ada' }
const undo = async () => client.log.undo({ revision: (await client.log.last())?.revision ?? 0, by: 'Ada' })
const counts = () =>
  app.context.fleet.use(async ({ raw }) =>
    ['ticket', 'reading', 'reading_pressure', 'ticket_weight'].map((table) =>
      raw.prepare(`select count(*) from ${table}`).pluck().get(),
    ),
  )
const overDrive = async () =>
  (await client.heavy.list({ unit: 'T-101', kinds: ['group'] })).rows.map(({ ticket: of }) => of)

it('takes a check weighing back whole, and the stored weights with it', async () => {
  const before = [await counts(), await overDrive()]
  await client.weighIn.save({ ...visit, tickets: [ticket('90001', 95, 0)], calibrate: [] })
  await expect.poll(overDrive, { timeout: 20_000 }).toContain('90001')
  await undo()
  expect(await counts()).toEqual(before[0])
  await expect.poll(overDrive, { timeout: 20_000 }).toEqual(before[1])
  // The next ticket may be given the same row: it is weighed all the same.
  await client.weighIn.save({ ...visit, tickets: [ticket('90002', 96, 1)], calibrate: [] })
  await expect.poll(overDrive, { timeout: 20_000 }).toContain('90002')
  await undo()
})

it('does not take a ticket back under a scan of it: that comes off first', async () => {
  await client.weighIn.save({ ...visit, tickets: [ticket('90003', 60, 2)], calibrate: [] })
  const entry = (await client.log.last())?.revision ?? 0
  const ticketId = await app.context.fleet.use(
    async ({ raw }) => raw.prepare("select id from ticket where number = '90003'").pluck().get() as number,
  )
  await client.attachment.add({ ticketId, file: new File([jpegPhoto], 'scan.jpg'), by: 'Ada' })
  await expect(client.log.undo({ revision: entry, by: 'Ada' })).rejects.toMatchObject({ data: { code: 'cannot-undo' } })
  expect(await client.attachment.list({ ticketId })).toHaveLength(1)
  await undo()
  await client.log.undo({ revision: entry, by: 'Ada' })
  expect(
    await app.context.fleet.use(async ({ raw }) =>
      raw.prepare("select count(*) from ticket where number = '90003'").pluck().get(),
    ),
  ).toBe(0)
})

it('voids the calibration of a visit that is undone, and keeps the tickets that it rests on', async () => {
  await client.weighIn.save({
    ...visit,
    tickets: [20, 45, 70].map((psi, i) => ticket(`9100${i}`, psi, i)),
    calibrate: [{ unit: 'T-101', group: 'drive' }],
  })
  const before = await counts()
  await undo()
  expect(await counts()).toEqual(before)
  const drive = (await client.unit.sheet({ unit: 'T-101' })).groups.find(({ name }) => name === 'drive')
  expect(drive?.calibrations[0]).toMatchObject({ voidReason: 'Its entry was undone', current: false })
  expect((await client.log.list({ limit: 1 })).rows[0]).toMatchObject({
    subject: 'calibration',
    action: 'voided',
    undoes: expect.any(Number),
  })
})
