import {
  existsSync,
  mkdtempSync,
  readFileSync,
  readdirSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest'
import { type OpenFleet, openFleet } from '#core/api/open-fleet.ts'
import { restoreInThread } from '#core/jobs/in-thread.ts'
import { keepCopy, listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { readFileState } from '#core/store/file-state.ts'
import { openStore } from '#core/store/open.ts'
import { makeFleetFile, overwriteBytes, soundness } from '#tests/faults/fleet-files.ts'

let folder: string
let fleet: OpenFleet | undefined
const reported: unknown[] = []
const report = (error: unknown) => {
  reported.push(error)
}

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-damaged-'))
})
afterEach(async () => {
  await fleet?.close()
  fleet = undefined
  rmSync(folder, { recursive: true, force: true })
})

const units = (of: OpenFleet) => of.use(async ({ db }) => (await readFileState(db)).units)
const change = (of: OpenFleet, plate: string) =>
  of.use(async ({ raw }) => raw.prepare('update unit set plate = ?').run(plate).changes)
const platesOf = async (file: string) => {
  const store = await openStore(file, { mustExist: true })
  const plates = store.raw.prepare('select distinct plate from unit').pluck().all()
  await store.close()
  return plates
}

/** A fleet file with one copy of it. */
async function withCopy(): Promise<string> {
  const file = await makeFleetFile(folder)
  const store = await openStore(file)
  await keepCopy(store.raw, file, 'day')
  await store.close()
  return file
}

describe('a fleet file that is damaged or lost', () => {
  it.each([
    ['overwritten in the middle', (file: string) => overwriteBytes(file), 'damaged'],
    ['overwritten at its head', (file: string) => overwriteBytes(file, { from: 0, to: 0.01 }), 'not-a-database'],
    ['cut off', (file: string) => writeFileSync(file, readFileSync(file).subarray(0, 20_000)), 'damaged'],
    ['emptied', (file: string) => writeFileSync(file, ''), 'lost'],
    ['removed', (file: string) => rmSync(file), 'lost'],
  ])(
    '%s: every question is refused with a sentence, a copy brings it back, and what was there is kept',
    async (_, spoil, code) => {
      const file = await withCopy()
      spoil(file)
      const spoilt = existsSync(file) ? readFileSync(file) : undefined
      fleet = await openFleet(file, { report })
      expect(fleet.trouble()).toMatchObject({ code })
      await expect(units(fleet)).rejects.toMatchObject({ code, message: expect.stringContaining(file) })
      expect(existsSync(file) ? readFileSync(file) : undefined).toEqual(spoilt)
      const [copy] = listCopyNames(file)
      const { keptAs } = await fleet.replace((name, isDamaged) =>
        restoreInThread(name, { name: copy?.name ?? '' }, { isDamaged }),
      )
      expect([fleet.trouble(), await units(fleet)]).toEqual([undefined, 8])
      expect(keptAs === null ? undefined : readFileSync(keptAs)).toEqual(spoilt)
      expect(await change(fleet, 'after')).toBe(8)
      expect(reported).toEqual([])
    },
  )

  it('stays in trouble when the copy is damaged too, and another one ends it', async () => {
    const file = await withCopy()
    const store = await openStore(file)
    await keepCopy(store.raw, file, 'by-hand')
    await store.close()
    const [newest, older] = listCopyNames(file).map(({ name }) => name)
    overwriteBytes(join(copiesFolder(file), newest as string), { from: 0.2, to: 0.9 })
    overwriteBytes(file)
    const spoilt = readFileSync(file)
    fleet = await openFleet(file)
    const restore = (name = '') => fleet?.replace((of, isDamaged) => restoreInThread(of, { name }, { isDamaged }))
    await expect(restore(newest)).rejects.toMatchObject({ code: 'copy-damaged' })
    expect(fleet.trouble()?.code).toBe('damaged')
    expect(readFileSync(file).equals(spoilt)).toBe(true)
    await restore(older)
    expect(await units(fleet)).toBe(8)
  })

  it('without a copy and not ours is refused as before', async () => {
    writeFileSync(join(folder, 'letter.tareline'), 'Dear shop, this is a letter and not a database.')
    await expect(openFleet(join(folder, 'letter.tareline'))).rejects.toMatchObject({ code: 'not-a-database' })
  })
})

describe('a file that another program takes away while it is open', () => {
  it.each([
    ['removed', (file: string) => rmSync(file)],
    ['renamed', (file: string) => renameSync(file, `${file}.moved`)],
    [
      'replaced',
      (file: string) => {
        rmSync(file)
        writeFileSync(file, 'another file')
      },
    ],
  ])('%s: no save is acknowledged that is not kept, and the rescued copy has them all', async (_, takeAway) => {
    const file = await makeFleetFile(folder)
    fleet = await openFleet(file, { report })
    await change(fleet, 'saved before')
    takeAway(file)
    await expect(change(fleet, 'not saved')).rejects.toMatchObject({
      code: 'lost',
      message: expect.stringContaining('newest copy'),
    })
    const [rescued] = listCopyNames(file)
    expect(rescued?.reason).toBe('rescued')
    expect(await platesOf(join(copiesFolder(file), rescued?.name ?? ''))).toEqual(['saved before'])
    const { keptAs } = await fleet.replace((name, isDamaged) =>
      restoreInThread(name, { name: rescued?.name ?? '' }, { isDamaged }),
    )
    expect([await units(fleet), keptAs === null || existsSync(keptAs)]).toEqual([8, true])
    await fleet.close()
    expect(await soundness(file)).toContain('is sound')
    expect(reported).toEqual([])
  })
})

describe('a large file', () => {
  /** One for all tests here, copied for each: about 20 MB. */
  let large: string
  let home: string
  beforeAll(async () => {
    home = mkdtempSync(join(tmpdir(), 'tareline-large-'))
    large = await makeFleetFile(home, { units: 5000 })
    expect(statSync(large).size).toBeGreaterThan(8 * 1024 ** 2)
  })
  afterAll(() => rmSync(home, { recursive: true, force: true }))
  const own = () => {
    const file = join(folder, 'fleet.tareline')
    writeFileSync(file, readFileSync(large))
    return file
  }

  it('answers questions while its pages are checked, and a change waits until they are', async () => {
    const file = own()
    const opened: (string | null)[] = []
    fleet = await openFleet(file, { report, onOpen: (name) => opened.push(name) })
    expect([await units(fleet), opened]).toEqual([5000, []])
    expect(await fleet.use(async ({ raw }) => raw.pragma('query_only', { simple: true }))).toBe(1)
    const before = readFileSync(file)
    const changes = change(fleet, 'waited')
    expect([readFileSync(file).equals(before), statSync(`${file}-wal`, { throwIfNoEntry: false })?.size ?? 0]).toEqual([
      true,
      0,
    ])
    expect(await changes).toBe(5000)
    expect(opened).toEqual([file])
    await fleet.close()
    expect(await platesOf(file)).toEqual(['waited'])
    expect(reported).toEqual([])
  })

  it('that is damaged far in never changes, with a log beside it and a change waiting', async () => {
    const file = own()
    const owner = await openStore(file)
    owner.raw.pragma('wal_autocheckpoint = 0')
    owner.raw.exec("update unit set plate = 'in the log' where id < 10")
    // The log as it lies on the disk while its program works: what is left of it after a power cut.
    const log = readFileSync(`${file}-wal`)
    await owner.close()
    writeFileSync(file, readFileSync(large))
    writeFileSync(`${file}-wal`, log)
    overwriteBytes(file, { from: 0.8, to: 0.81 })
    const before = readFileSync(file)
    fleet = await openFleet(file, { report })
    const waiting = change(fleet, 'must not be written')
    await expect(waiting).rejects.toMatchObject({ code: 'damaged' })
    await vi.waitUntil(() => fleet?.trouble() !== undefined)
    expect(fleet.trouble()).toMatchObject({
      code: 'damaged',
      message: expect.stringContaining('is damaged and was left as it is'),
    })
    await fleet.close()
    expect(readFileSync(file).equals(before)).toBe(true)
    expect(readFileSync(`${file}-wal`).equals(log)).toBe(true)
    expect(readdirSync(folder).filter((name) => !name.startsWith('fleet.tareline'))).toEqual([])
  })
})
