import { safe } from '@orpc/client'
import Database from 'better-sqlite3'
import {
  chmodSync,
  chownSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  readdirSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest'
import { importIntoFile } from '#core/jobs/import-into-file.ts'
import { timeNow } from '#core/store/clock.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { latestStep } from '#core/store/open.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { ensureBundles } from '#electron/launch/bundles.ts'
import type { Client } from '#tests/api/windows.ts'
import { bytesOf, soundness } from '#tests/faults/fleet-files.ts'
import { bringIn, look, writeFirstFolder } from '#tests/faults/kill-scenarios.ts'
import { type MainProcess, startMain } from '#tests/faults/main-process.ts'
import { writeOldFile } from '#tests/faults/old-file.ts'
import { smallDisk } from '#tests/faults/small-disk.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { largeFleet, writeFleetFolder } from '#tests/screens/fleet-folder.ts'
import { weighNow } from '#tests/fleet/typed.ts'

const root = resolve(import.meta.dirname, '../..')
const dayMs = 86_400_000
const nobody = 65_534
vi.setConfig({ testTimeout: 120_000 })

const met: Record<string, number> = {}
let failed = 0
/** Counts a fault that was met with a sentence and did no harm. */
const count = (fault: string) => {
  met[fault] = (met[fault] ?? 0) + 1
}

let home: string
let file: string
let running: MainProcess | undefined

beforeAll(() => ensureBundles(root, () => undefined), 120_000)
beforeEach(async () => {
  home = mkdtempSync(join(tmpdir(), 'tareline-disk-'))
  file = join(home, 'fleet.tareline')
  writeFirstFolder(join(home, 'first'))
  await importIntoFile(file, join(home, 'first'))
})
afterEach(async ({ task }) => {
  if (task.result?.state === 'fail') failed += 1
  await running?.kill()
  running = undefined
  rmSync(home, { recursive: true, force: true })
})
afterAll(() =>
  keepTally('disk', {
    title: 'Faults of disk, folder, lock and clock met with a sentence and no harm',
    counts: met,
    failed,
  }),
)

async function start(of: string, options?: Parameters<typeof startMain>[2]): Promise<Client> {
  running = startMain(of, home, options)
  return running.ready
}

const reading = (psi = 30) => weighNow(new Date(timeNow() - 60_000).toISOString(), { 'T-1 drive main': psi })

/** The step is refused with a code and a sentence, and not as a fault of the program. */
async function refused(step: Promise<unknown>, code: string, sentence: RegExp): Promise<void> {
  const [error, , isDefined] = await safe(step)
  expect({
    isDefined,
    code: (error as { data?: { code?: string } } | null)?.data?.code,
    message: error?.message,
  }).toEqual({ isDefined: true, code, message: expect.stringMatching(sentence) })
}

const namesOf = (of: string) =>
  look(of, (raw) => raw.prepare("select name from reading where source = 'weigh now'").pluck().all())

describe('a full disk', () => {
  it('refuses import, save, copy, restore and update with a sentence; nothing is lost, and all goes on once there is room', async (context) => {
    const disk = smallDisk(join(home, 'disk'), 6)
    if (typeof disk === 'string') return context.skip(disk)
    using _ = disk
    const own = join(disk.folder, 'fleet.tareline')
    await importIntoFile(own, join(home, 'first'))
    const client = await start(own)
    await client.places.allow({ folder: home })
    const saved: string[] = [(await client.weigh.save(reading())).reading]
    const { name } = await client.copies.keep()

    await refused(
      bringIn(client, writeFleetFolder(join(home, 'large'), largeFleet(4000))),
      'disk-full',
      /is full|no room/,
    )
    count('disk full: import')
    expect(look(own, (raw) => raw.prepare('select count(*) from unit').pluck().get())).toBe(1)

    disk.leave(40_000)
    const full = async () => {
      for (let index = 0; index < 500; index += 1)
        saved.push((await client.weigh.save(reading(20 + (index % 60)))).reading)
    }
    await refused(
      full(),
      'disk-full',
      /disk that holds the fleet file is full.*Nothing of this step was saved\. Free some space/,
    )
    count('disk full: save')
    await refused(client.copies.keep(), 'disk-full', /no room for the copy/)
    count('disk full: copy')
    await refused(client.copies.restore({ name }), 'disk-full', /no room|is full/)
    count('disk full: restore')
    expect((await client.file.state()).units).toBe(1)

    disk.free()
    saved.push((await client.weigh.save(reading())).reading)
    running?.child.kill('SIGTERM')
    await running?.ended
    // A reading that was stored while judging it found no room was not acknowledged; it may be there.
    expect(namesOf(own)).toEqual(expect.arrayContaining(saved))
    expect(await soundness(own)).toContain('is sound')
    expect(readdirSync(copiesFolder(own)).filter((each) => each.startsWith('.'))).toEqual([])

    const old = join(disk.folder, 'old.tareline')
    await writeOldFile(own, old)
    disk.leave(20_000)
    const updating = await start(old)
    await refused(updating.file.state(), 'disk-full', /no room|is full/)
    expect(await updating.file.look({ path: old })).toMatchObject({ units: 1, lookedAt: expect.any(String) })
    disk.free()
    expect(look(old, (raw) => raw.pragma('user_version', { simple: true }))).toBe(1)
    const { units } = await updating.file.open({ path: old })
    expect([units, look(old, (raw) => raw.pragma('user_version', { simple: true }))]).toEqual([1, latestStep])
    count('disk full: update of an old file')
    await running?.kill()
  }, 600_000)
})

describe('a folder that may not be written', () => {
  /** Another user than root, who may write everywhere. */
  const uid = process.getuid?.() === 0 ? nobody : undefined
  const giveAway = (...paths: string[]) => {
    if (uid !== undefined) for (const path of paths) chownSync(path, uid, uid)
  }

  it.skipIf(process.platform === 'win32')(
    'lets the file be looked at, refuses whatever would be saved with one sentence, and changes nothing',
    async () => {
      mkdirSync(join(home, 'temporary'))
      mkdirSync(join(home, 'data'))
      giveAway(join(home, 'temporary'), join(home, 'data'))
      chmodSync(home, 0o755)
      chmodSync(file, 0o444)
      const folder = join(home, 'locked')
      mkdirSync(folder)
      const own = join(folder, 'fleet.tareline')
      writeFileSync(own, readFileSync(file))
      chmodSync(own, 0o444)
      chmodSync(folder, 0o555)
      const before = bytesOf(folder)
      running = startMain(own, home, uid === undefined ? {} : { uid })
      const client = await running.ready
      await refused(client.file.state(), 'read-only', /cannot be changed.*It can be opened to look at it/)
      expect((await client.copies.list()).trouble?.code).toBe('read-only')
      const { lookedAt, units, file: shown } = await client.file.look({ path: own })
      expect([typeof lookedAt, units, shown]).toEqual(['string', 1, own])
      expect((await client.roster.list()).rows).toHaveLength(1)
      await refused(client.weigh.save(reading()), 'look-only', /open to look at only: nothing was saved/)
      await refused(client.copies.keep(), 'look-only', /look at only/)
      await refused(bringIn(client, join(home, 'first')), 'look-only', /look at only/)
      expect(bytesOf(folder)).toEqual(before)
      await running.kill()
      chmodSync(folder, 0o755)
      count('read-only folder: opening')
    },
  )

  it.skipIf(process.platform === 'win32')(
    'that may no longer be written while the file is open: a copy is refused with a sentence, what was saved stays',
    async () => {
      mkdirSync(join(home, 'temporary'))
      mkdirSync(join(home, 'data'))
      const folder = join(home, 'own')
      mkdirSync(folder)
      const own = join(folder, 'fleet.tareline')
      writeFileSync(own, readFileSync(file))
      chmodSync(home, 0o755)
      giveAway(join(home, 'temporary'), join(home, 'data'), folder, own)
      const client = await start(own, uid === undefined ? {} : { uid })
      const saved = await client.weigh.save(reading())
      chmodSync(folder, 0o555)
      await refused(client.copies.keep(), 'read-only', /cannot be written to/)
      chmodSync(folder, 0o755)
      await running?.kill()
      expect(namesOf(own)).toEqual([saved.reading])
      count('read-only folder: copy')
    },
  )
})

describe('another program', () => {
  it('that holds the file: a save is refused with a sentence after a while, and goes through once it is let go', async () => {
    const client = await start(file)
    const saved = await client.weigh.save(reading())
    const other = new Database(file)
    other.exec('begin immediate')
    await refused(
      client.weigh.save(reading()),
      'locked',
      /Another program is using the fleet file.*Nothing of this step was saved/,
    )
    await refused(bringIn(client, join(home, 'first')), 'locked', /Another program is using|is in use/)
    other.exec('rollback')
    other.close()
    const after = await client.weigh.save(reading())
    await running?.kill()
    expect(namesOf(file)).toEqual([saved.reading, after.reading])
    count('locked by another program: save, import')
  })

  it('that holds the whole file: opening is refused with a sentence', async () => {
    const other = new Database(file)
    other.pragma('locking_mode = EXCLUSIVE')
    other.pragma('journal_mode = DELETE')
    other.exec('begin exclusive')
    running = startMain(file, home)
    await expect(running.ready).rejects.toThrow(/is in use by another program\. Close that program/)
    await running.ended
    other.exec('rollback')
    other.close()
    expect(await soundness(file)).toContain('is sound')
    count('locked by another program: opening')
  })

  it('that removes the file while it is open: the next save is refused, and what was saved is in a rescued copy that can be restored', async () => {
    const client = await start(file)
    const saved = await client.weigh.save(reading())
    rmSync(file)
    await refused(
      client.weigh.save(reading()),
      'lost',
      /removed, renamed or replaced.*All that was saved is in the newest copy/,
    )
    const { trouble, copies } = await client.copies.list()
    expect([trouble?.code, copies[0]?.reason]).toEqual(['lost', 'rescued'])
    await client.copies.restore({ name: copies[0]?.name ?? '' })
    const after = await client.weigh.save(reading())
    await running?.kill()
    expect(namesOf(file)).toEqual([saved.reading, after.reading])
    count('file removed while it is open')
  })
})

describe('a clock', () => {
  it.each([
    ['set back by ten years', -3650],
    ['ahead by ten years', 3650],
  ])('%s: the day’s copy is kept, and no earlier copy goes', async (_, days) => {
    const store = new Database(file)
    store.close()
    mkdirSync(copiesFolder(file))
    const earlier = Array.from(
      { length: 14 },
      (_each, index) =>
        `${String(index + 1).padStart(6, '0')}-day-${new Date(Date.UTC(2026, 0, index + 1, 18)).toISOString().replaceAll(/[:.]/g, '')}.tareline`,
    )
    for (const name of earlier) writeFileSync(join(copiesFolder(file), name), readFileSync(file))
    const clock = timeNow() + days * dayMs
    const client = await start(file, { env: { TARELINE_CLOCK: toStoredInstant(clock) } })
    await client.weigh.save({ ...reading(), takenAt: '2010-01-05T12:00:00.000Z' })
    await vi.waitUntil(() => listCopyNames(file)[0]?.sequence === 15, { timeout: 30_000, interval: 50 })
    // The oldest has been followed by 14 further days, as with a right clock; the newest is of the clock's day.
    await vi.waitUntil(() => listCopyNames(file).length === 14, { timeout: 10_000, interval: 50 })
    expect(listCopyNames(file).map(({ sequence }) => sequence)).toEqual([
      15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2,
    ])
    const newest = listCopyNames(file)[0]
    expect(Math.abs((newest?.at ?? 0) - clock)).toBeLessThan(dayMs)
    expect(await soundness(join(copiesFolder(file), newest?.name ?? ''))).toContain('is sound')
    expect(statSync(join(copiesFolder(file), newest?.name ?? '')).size).toBeGreaterThan(0)
    await running?.kill()
    count('clock set back, clock ahead')
  })
})
