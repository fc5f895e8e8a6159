import { safe } from '@orpc/client'
import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { beforeEach, expect, it } from 'vitest'
import { attachmentsFolder, hashOf } from '#core/store/attachments.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { withLook, stepOf } from '#core/store/look.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, bringInSmallFleet } from '#tests/api/windows.ts'
import { makeFleetFile, overwriteBytes } from '#tests/faults/fleet-files.ts'
import { writeOldFile } from '#tests/faults/old-file.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { jpegPhoto } from '#tests/store/attachment-samples.ts'

let app: RunningApp
let client: Client
beforeEach(async () => {
  const window = await openWindow(await runApp())
  ;({ app, client } = window)
  return window.end
})

const looks = () => readdirSync(tmpdir()).filter((name) => name.startsWith(`tareline-look-${process.pid}-`))

async function codeOf(step: Promise<unknown>): Promise<unknown> {
  const [error] = await safe(step)
  return (error as { data?: { code?: string } } | null)?.data?.code
}

it('a file that is looked at shows all it holds, also its attachments, and takes nothing', async () => {
  await bringInSmallFleet(app, client)
  const file = app.context.fleet.file()
  const { rows } = await client.evidence.tickets({})
  const ticketId = rows[0]?.id ?? 0
  await client.attachment.add({ ticketId, file: new File([jpegPhoto], 'ticket.jpg'), by: 'M. Okafor' })
  const roster = await client.roster.list()
  await client.file.open({ path: join(app.folder, 'other.tareline') })
  // It is closed once its last question has been answered.
  await expect.poll(() => existsSync(`${file}-wal`)).toBe(false)
  const mark = () => [hashOf(readFileSync(file)), existsSync(`${file}-wal`), readdirSync(attachmentsFolder(file))]
  const before = mark()

  const state = await client.file.look({ path: file })
  expect(state).toMatchObject({ file, units: roster.rows.length, lookedAt: expect.any(String) })
  expect(looks()).toHaveLength(1)
  expect((await client.roster.list()).rows).toEqual(roster.rows)
  const [attachment] = await client.attachment.list({ ticketId })
  const read = await client.attachment.read({ ticketId, sha256: attachment?.sha256 ?? '' })
  expect(new Uint8Array(await read.arrayBuffer())).toEqual(new Uint8Array(jpegPhoto))
  await client.folder.writeOut({ folder: join(app.folder, 'written') })
  expect(readdirSync(join(app.folder, 'written'))).toContain('tickets.csv')
  expect((await client.safekeeping.checkNow()).outcome).toBe('whole')

  const [known] = await client.houseRules.list()
  const rule = { name: known?.name ?? 'measures', was: known?.value ?? 0, value: known?.value ?? 0 }
  const refused = [
    client.attachment.add({ ticketId, file: new File([new Uint8Array(jpegPhoto), 'x'], 'b.jpg'), by: 'M. Okafor' }),
    client.attachment.takeOff({ ticketId, sha256: attachment?.sha256 ?? '', reason: 'wrong ticket', by: 'M. Okafor' }),
    client.houseRules.change({ ...rule, value: rule.value + 1, by: 'M. Okafor' }),
    client.desk.leave({ name: 'draft', text: 'typed' }),
    client.folder.bringIn({ folder: join(app.folder, 'small') }).then((steps) => steps.next()),
    client.copies.keep(),
    client.copies.restore({ path: file }),
    client.safekeeping.rehearseNow(),
    client.safekeeping.chooseSecond({ folder: app.folder }),
  ]
  expect(await Promise.all(refused.map(codeOf))).toEqual(refused.map(() => 'look-only'))
  expect(mark()).toEqual(before)
  expect(listCopyNames(file).filter(({ reason }) => reason === 'by-hand')).toEqual([])
  await client.file.open({ path: join(app.folder, 'other.tareline') })
  await expect.poll(looks).toEqual([])
  expect(app.reported).toEqual([])
})

it('of an old step, or with saves that only its log holds, it is shown as an update would leave it, and stays as it is', async () => {
  const now = await makeFleetFile(app.folder, { name: 'now.tareline' })
  const old = join(app.folder, 'old.tareline')
  await writeOldFile(now, old)
  const before = readFileSync(old)
  const state = await client.file.look({ path: old })
  expect([state.units, (await client.roster.list()).rows.length]).toEqual([8, 8])
  expect(readFileSync(old).equals(before)).toBe(true)
  expect(withLook(old, stepOf)).toBe(1)

  // Open elsewhere, with its newest save in the log alone.
  await client.file.open({ path: now })
  await client.desk.leave({ name: 'left', text: 'in the log' })
  const log = readFileSync(`${now}-wal`)
  const copied = join(app.folder, 'copied.tareline')
  writeFileSync(copied, readFileSync(now))
  writeFileSync(`${copied}-wal`, log)
  await client.file.look({ path: copied })
  expect((await client.desk.read({ name: 'left' })).text).toBe('in the log')
  expect(readFileSync(`${copied}-wal`).equals(log)).toBe(true)
})

it('that is damaged, empty or none of ours is refused under its own name, and the present one stays', async () => {
  const file = await makeFleetFile(app.folder, { name: 'broken.tareline' })
  overwriteBytes(file)
  const [damage] = await safe(client.file.look({ path: file }))
  expect(damage?.message).toContain(`${file} is damaged`)
  writeFileSync(file, 'Dear shop, this is a letter and not a database.')
  expect(await codeOf(client.file.look({ path: file }))).toBe('not-a-database')
  expect(await codeOf(client.file.look({ path: join(app.folder, 'none.tareline') }))).toBe('missing')
  expect([(await client.file.state()).lookedAt, looks()]).toEqual([null, []])
})

it('a large file is shown at once, and stays open to look at only when its pages have been checked', async () => {
  const file = await makeFleetFile(app.folder, { name: 'large.tareline', units: 5000 })
  const before = hashOf(readFileSync(file))
  expect((await client.file.look({ path: file })).units).toBe(5000)
  expect(await codeOf(client.desk.leave({ name: 'draft', text: 'typed' }))).toBe('look-only')
  // Threads wait for the check.
  expect((await client.safekeeping.checkNow()).outcome).toBe('whole')
  await expect.poll(() => app.context.fleet.use(async ({ raw }) => raw.readonly)).toBe(false)
  expect(await codeOf(client.desk.leave({ name: 'draft', text: 'typed' }))).toBe('look-only')
  expect([(await client.file.state()).units, looks().length, hashOf(readFileSync(file)) === before]).toEqual([
    5000,
    1,
    true,
  ])
})
