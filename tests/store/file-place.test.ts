import { hostname, tmpdir } from 'node:os'
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { openFleet } from '#core/api/open-fleet.ts'
import { holdLease, leaseFile } from '#core/store/file-lease.ts'
import {
  type FolderSigns,
  isNetworkPath,
  mountOf,
  readMountInfo,
  readMountList,
  refuseWithoutLog,
  sharedMount,
  syncSign,
} from '#core/store/file-place.ts'
import { openStore } from '#core/store/open.ts'

let folder: string
let file: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-test-'))
  file = join(folder, 'fleet.tareline')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

describe('a folder that other machines share', () => {
  it('is told by its mount on Linux, whatever program serves it', () => {
    const mounts = readMountInfo(
      [
        '21 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw',
        '30 21 0:40 / /srv/yard\\040files rw shared:9 - nfs4 files.example:/yard rw',
        '31 21 0:41 / /data/ada/there rw - fuse.sshfs ada@host.example:/ rw',
        '32 21 0:42 / /data/ada/box rw - fuse.box server.example:box rw',
        '33 21 8:9 / /media/stick rw - fuseblk /dev/sdb1 rw',
        '34 21 0:43 / /data/ada/safe rw - fuse.unionfs /data/ada/.safe rw',
        '35 21 0:44 / /srv/yard\\040files/local rw - tmpfs tmpfs rw',
        '36 21 0:45 / /mnt/host rw - virtiofs share rw',
        'no mount',
        '',
      ].join('\n'),
    )
    const shared = (path: string) => {
      const mount = mountOf(path, mounts)
      return mount && sharedMount(mount)
    }
    expect(shared('/srv/yard files/fleet')).toBe('nfs4')
    expect(shared('/srv/yard files')).toBe('nfs4')
    expect(shared('/srv/yard files/local/x')).toBeUndefined()
    expect(shared('/srv/yard filesystem')).toBeUndefined()
    expect(shared('/data/ada/there/x')).toBe('sshfs')
    expect(shared('/data/ada/box')).toBe('box')
    expect(shared('/mnt/host/fleet')).toBe('virtiofs')
    for (const own of ['/media/stick', '/data/ada/safe', '/data/ada', '/']) expect(shared(own)).toBeUndefined()
  })

  it('is told by its mount on macOS', () => {
    const mounts = readMountList(
      [
        '/dev/disk3s1s1 on / (apfs, sealed, local, read-only, journaled)',
        '//ada@files.example/yard on /Volumes/Yard (Files) (smbfs, nodev, nosuid, mounted by ada)',
      ].join('\n'),
    )
    expect(mountOf('/Volumes/Yard (Files)/fleet', mounts)).toMatchObject({ type: 'smbfs' })
    expect(mounts.map(sharedMount)).toEqual([undefined, 'smbfs'])
  })

  it('is told by its path on Windows, where a mapped drive has been followed', () => {
    for (const path of ['\\\\files\\yard\\x', '//files/yard', '\\\\?\\UNC\\files\\yard', '\\\\10.0.0.2\\c$'])
      expect([path, isNetworkPath(path)]).toEqual([path, true])
    for (const path of ['C:\\yard\\x', 'Z:\\', '\\\\?\\C:\\yard', '\\\\.\\C:\\', 'C:/yard'])
      expect([path, isNetworkPath(path)]).toEqual([path, false])
  })

  it('is told by SQLite, which cannot keep its log there', () => {
    expect(() => refuseWithoutLog(file, 'wal')).not.toThrow()
    expect(() => refuseWithoutLog(file, 'delete')).toThrow('journal mode delete')
  })
})

describe('a folder that another program keeps in step', () => {
  const signs = (more: Partial<FolderSigns>): FolderSigns => ({
    folder: '/data/ada/yard',
    names: ['fleet.tareline', 'fleet.tareline-wal', 'fleet.tareline copies', '.hidden'],
    hiddenAbove: ['.config', '.rsync-filter'],
    file: { bytes: 500_000, blocks: 976 },
    ...more,
  })

  it('is told by what such programs leave, whatever they are called, and by nothing else', () => {
    expect(syncSign(file, signs({}))).toBeUndefined()
    expect(syncSign(file, signs({ file: undefined }))).toBeUndefined()
    expect(syncSign(file, signs({ file: { bytes: 40, blocks: 0 } }))).toBeUndefined()
    expect(syncSign(file, signs({ file: { bytes: 500_000, blocks: 0 } }))).toContain('only its name')
    for (const name of ['.sync', '.sync.log', '._sync_1a2b.db', '.boxsync.log'])
      expect([name, syncSign(file, signs({ names: [name] }))]).toEqual([name, expect.stringContaining(name)])
    expect(syncSign(file, signs({ hiddenAbove: ['.sync'] }))).toContain('.sync')
    for (const twin of ['fleet (conflicted copy 2026-01-02).tareline', 'fleet.sync-conflict-20260102.tareline'])
      expect(syncSign(file, signs({ names: ['fleet.tareline', twin] }))).toContain('two machines saved')
    expect(syncSign(file, signs({ names: ['other conflict.tareline'] }))).toBeUndefined()
    expect(syncSign(file, signs({ folder: '/Users/ada/Library/CloudStorage/Box/yard' }))).toContain('this system')
  })

  it('keeps a fleet file from being opened, by whichever way, and the sentence says why', async () => {
    mkdirSync(join(folder, '.sync'))
    await expect(openStore(file)).rejects.toMatchObject({
      code: 'unfit-place',
      message: expect.stringContaining('.sync'),
    })
    await expect(openFleet(file)).rejects.toMatchObject({ code: 'unfit-place' })
    expect(existsSync(file)).toBe(false)
  })
})

const lease = (host: string, pid: number, at: number) =>
  writeFileSync(leaseFile(file), JSON.stringify({ host, pid, at }))
const held = () => JSON.parse(readFileSync(leaseFile(file), 'utf8')) as { host: string; pid: number; at: number }
/** No process has it: numbers end before. */
const noPid = 2 ** 30

describe('the lease of an open file', () => {
  it('tells which machine has it open, and goes with the last who has', async () => {
    const first = await openFleet(file)
    expect(held()).toMatchObject({ host: hostname(), pid: process.pid })
    // A second window of this machine may well be open.
    const second = await openFleet(file)
    await first.close()
    expect(held()).toMatchObject({ pid: process.pid })
    await second.close()
    expect(existsSync(leaseFile(file))).toBe(false)
  })

  it('keeps every other machine out while it is said, and tells what to do once it no longer is', async () => {
    await (await openStore(file)).close()
    lease('another-machine', 4711, Date.now())
    for (const open of [openStore, openFleet])
      await expect(open(file)).rejects.toMatchObject({
        code: 'held-elsewhere',
        message: expect.stringContaining('open on another-machine (process 4711)'),
      })
    lease('another-machine', 4711, Date.now() - 3_600_000)
    await expect(openFleet(file)).rejects.toMatchObject({
      message: expect.stringContaining(`delete ${leaseFile(file)}`),
    })
    rmSync(leaseFile(file))
    await (await openFleet(file)).close()
  })

  it('of a process of this machine that was killed is taken over, one that runs is left to it', async () => {
    lease(hostname(), noPid, Date.now())
    const fleet = await openFleet(file)
    expect(held().pid).toBe(process.pid)
    await fleet.close()
    lease(hostname(), process.ppid, Date.now())
    const beside = holdLease(file)
    expect(held().pid).toBe(process.ppid)
    beside.release()
    expect(held().pid).toBe(process.ppid)
  })

  it('is given up when another machine takes the file, and nothing more is written into it', async () => {
    const fleet = await openFleet(file)
    await fleet.use(({ db }) => db.insertInto('yard').values({ name: 'Before', elevation_ft: 1 }).execute())
    lease('another-machine', 4711, Date.now())
    await expect.poll(() => fleet.trouble()?.code).toBe('held-elsewhere')
    await expect(fleet.use(({ db }) => db.selectFrom('yard').selectAll().execute())).rejects.toThrow('another-machine')
    await fleet.close()
    expect(held().host).toBe('another-machine')
  })

  it('that cannot be read keeps nobody out', async () => {
    writeFileSync(leaseFile(file), '{"host":')
    await (await openFleet(file)).close()
  })
})
