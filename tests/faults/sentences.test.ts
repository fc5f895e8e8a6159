import { safe } from '@orpc/client'
import { copyFileSync, existsSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it, vi } from 'vitest'
import { openStore } from '#core/store/open.ts'
import { bringInSmallFleet, clientOver } from '#tests/api/windows.ts'
import { type SmallDisk, smallDisk } from '#tests/faults/small-disk.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { photoOf } from '#tests/store/attachment-samples.ts'

vi.setConfig({ testTimeout: 120_000 })

/** What a person is told of a step that comes to nothing. */
async function told(step: Promise<unknown>): Promise<string> {
  const [error] = await safe(step)
  return error ? error.message : 'it went well'
}

/** Has a disk of some megabytes beside a running app; answers the reason where there can be none. */
async function withDisk(
  megabytes: number,
  work: (app: RunningApp, disk: SmallDisk) => Promise<void>,
): Promise<string | undefined> {
  const app = await runApp()
  const disk = smallDisk(join(app.folder, 'disk'), megabytes)
  try {
    if (typeof disk === 'string') return disk
    await work(app, disk)
    return undefined
  } finally {
    if (typeof disk !== 'string') {
      // The open file may lie on it.
      await app.context.fleet.close()
      disk[Symbol.dispose]()
    }
    await app[Symbol.asyncDispose]()
  }
}

it('of an export to a disk that is full, or read-only, the sentence is about that disk, and nothing is left there', async (context) => {
  const without = await withDisk(2, async (app, disk) => {
    const { client, close } = await clientOver('a message port', app)
    await bringInSmallFleet(app, client)
    const to = join(disk.folder, 'deep/out')
    for (const bytes of [0, 8192]) {
      disk.leave(bytes)
      expect(await told(client.folder.writeOut({ folder: to }))).toBe(
        `There is no room for ${to} on its disk. Free some space there or name a folder on another disk, then export again.`,
      )
      expect(readdirSync(disk.folder).filter((name) => name !== 'deep')).toEqual(['filler'])
    }
    disk.free()
    disk.writable(false)
    const readOnly = join(disk.folder, 'out')
    expect(await told(client.folder.writeOut({ folder: readOnly }))).toBe(
      `${readOnly} may not be written to. Name a folder that you may change, then export again.`,
    )
    expect(await told(client.safekeeping.chooseSecond({ folder: disk.folder }))).toBe(
      `Nothing can be written to ${disk.folder}: it is write-protected, or this account may not change it.`,
    )
    await expect(openStore(join(disk.folder, 'new.tareline'))).rejects.toThrow(
      /is not there, and it cannot be made: nothing can be written to its folder/,
    )
    disk.writable(true)
    expect(await told(client.folder.writeOut({ folder: readOnly }))).toBe('it went well')
    close()
  })
  if (without !== undefined) context.skip(without)
})

it('a picture that is too large is named with its size and with what is accepted', async () => {
  await using app = await runApp()
  const { client } = await clientOver('HTTP', app)
  await bringInSmallFleet(app, client)
  const { rows } = await client.evidence.tickets({})
  const add = (megabytes: number) =>
    client.attachment.add({
      ticketId: rows[0]?.id ?? 0,
      file: new File([photoOf(megabytes * 1024 ** 2)], 'ticket.jpg'),
      by: 'M. Okafor',
    })
  expect(await told(add(20.5))).toBe(
    'ticket.jpg has 20.5 MB; a JPEG or PNG picture or a PDF of 1 byte to 20 MB is accepted. ' +
      'Save it smaller, as cameras and scanners offer, then attach it again.',
  )
  expect(await client.attachment.list({ ticketId: rows[0]?.id ?? 0 })).toEqual([])
})

it('a disk so full that not even reading is possible: it is said, and the file can be looked at', async (context) => {
  const without = await withDisk(4, async (app, disk) => {
    const { client, close } = await clientOver('a message port', app)
    await bringInSmallFleet(app, client)
    const first = app.context.fleet.file()
    await client.file.open({ path: join(app.folder, 'blank.tareline') })
    await expect.poll(() => existsSync(`${first}-wal`)).toBe(false)
    const file = join(disk.folder, 'fleet.tareline')
    copyFileSync(first, file)
    disk.leave(0)
    expect(await told(client.file.open({ path: file }))).toBe(
      `The disk that holds ${file} is full. Free some space, then open the file again.`,
    )
    expect(await client.file.look({ path: file })).toMatchObject({ file, units: 2 })
    expect((await client.roster.list()).rows).toHaveLength(2)
    disk.free()
    await client.file.open({ path: file })
    disk.leave(0)
    // What is open can be read on.
    expect((await client.roster.list()).rows).toHaveLength(2)
    expect(await told(client.desk.leave({ name: 'draft', text: 'y'.repeat(200_000) }))).toBe(
      'The disk that holds the fleet file is full, so that this could not be done. Nothing of this step was saved. ' +
        'Free some space, then try again.',
    )
    disk.free()
    expect(await told(client.desk.leave({ name: 'draft', text: 'y'.repeat(200_000) }))).toBe('it went well')
    close()
  })
  if (without !== undefined) context.skip(without)
})
