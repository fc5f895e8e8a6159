import { copyFileSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { execFileSync } from 'node:child_process'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { type OpenFleet, openFleet } from '#core/api/open-fleet.ts'
import { checkFile } from '#core/store/check-file.ts'
import { keepCopy, listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { openStore } from '#core/store/open.ts'
import { sealWritten } from '#core/store/seals.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'

let folder: string
const open: OpenFleet[] = []
const reported: unknown[] = []

/** The same cases again and again in the long form. */
const eachRound = <Case>(cases: readonly Case[]): Case[] =>
  Array.from({ length: isNightly ? 25 : 1 }, () => cases).flat()

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-tampered-'))
  reported.length = 0
})
let passed = 0
let failed = 0
afterEach(({ task }) => {
  if (task.result?.state === 'fail') failed += 1
  else passed += 1
})
afterAll(() =>
  keepTally('siege-meddled', {
    title: 'Open files meddled with: folded, taken away, overwritten, damaged',
    counts: { 'met with nothing acknowledged lost': passed },
    failed,
  }),
)
afterEach(async () => {
  for (const fleet of open.splice(0)) await fleet.close()
  rmSync(folder, { recursive: true, force: true })
})

async function start(file: string, quietMs?: number): Promise<OpenFleet> {
  const fleet = await openFleet(file, {
    report: (error) => reported.push(error),
    ...(quietMs === undefined ? {} : { quietMs }),
  })
  open.push(fleet)
  return fleet
}

let saves = 0
/** A save, as far as these tests go: a row that counts as a change of the record. */
const save = (of: OpenFleet): Promise<string> =>
  of.use(async ({ raw }) => {
    saves += 1
    const name = `Yard ${saves}`
    raw.transaction(() => {
      raw.prepare('insert into yard (name) values (?)').run(name)
      raw.exec(`update ledger set revision = revision + 1;
        insert into change_log (changed_at, changed_by, subject, subject_key, action)
          values ('2026-01-05T00:00:00.${String(saves).padStart(3, '0')}Z', 'M. Tarn', 'yard', '${name}', 'added')`)
    })()
    return name
  })
/** A second window, which is a program of its own: opens the file, saves, and closes it. */
function saveElsewhere(file: string, name: string): void {
  const work = `const { openStore } = await import('#core/store/open.ts')
    const store = await openStore(process.argv[1])
    store.raw.prepare('insert into yard (name) values (?)').run('Yard ' + process.argv[2])
    await store.close()`
  execFileSync(process.execPath, ['--input-type=module', '-e', work, file, name], {
    cwd: resolve(import.meta.dirname, '../..'),
    stdio: 'pipe',
  })
}
const yardsOf = async (file: string): Promise<string[]> => {
  const store = await openStore(file, { mustExist: true })
  const yards = store.raw.prepare("select name from yard where name like 'Yard %' order by id").pluck().all()
  await store.close()
  return yards as string[]
}

describe('the log of an open file', () => {
  it('is folded once nobody writes, so that a plain copy of the file has every save, sealed', async () => {
    const file = await makeFleetFile(folder)
    const fleet = await start(file, 50)
    const names: string[] = []
    for (let each = 0; each < 40; each += 1) names.push(await save(fleet))
    await vi.waitUntil(() => statSync(`${file}-wal`).size === 0, { timeout: 20_000 })
    const plain = join(folder, 'plain.tareline')
    copyFileSync(file, plain)
    expect(await yardsOf(plain)).toEqual(names)
    expect(
      await fleet.use(async ({ raw }) => raw.prepare("select * from unsealed where table_name = 'yard'").all()),
    ).toEqual([])
    expect(await checkFile(plain)).toMatchObject({ sound: true })
    expect(await save(fleet)).toContain('Yard')
    expect(reported).toEqual([])
  })
})

describe('files that are taken away from under an open one', () => {
  it.each(eachRound([['-shm'], ['-wal'], ['-wal', '-shm']]))(
    'its log (%s), and a second window opens: no acknowledged save is lost, and it is said',
    async (...ends) => {
      const file = await makeFleetFile(folder)
      const first = await start(file)
      const names = [await save(first), await save(first)]
      for (const end of ends) rmSync(file + end)
      // Beside the index of a log that is gone no other window can be opened, and so none acknowledges a save.
      const isOpenElsewhere = ends.includes('-shm')
      if (isOpenElsewhere) saveElsewhere(file, 'Elsewhere 1')
      else expect(() => saveElsewhere(file, 'Elsewhere 1')).toThrow('does not answer')
      await expect(save(first)).rejects.toMatchObject({
        code: 'lost',
        message: expect.stringMatching(/removed by another program.*newest copy/),
      })
      const [rescued] = listCopyNames(file)
      expect(rescued?.reason).toBe('rescued')
      const kept = await yardsOf(join(copiesFolder(file), rescued?.name ?? ''))
      expect(kept).toEqual(expect.arrayContaining(names))
      await first.close()
      saveElsewhere(file, 'Elsewhere 2')
      expect(await yardsOf(file)).toEqual(
        expect.arrayContaining(isOpenElsewhere ? ['Yard Elsewhere 1', 'Yard Elsewhere 2'] : ['Yard Elsewhere 2']),
      )
      expect(await checkFile(file)).toMatchObject({ sound: true })
      expect(reported).toEqual([])
    },
  )

  it.each(
    eachRound([
      ['with newer saves in the log', 60_000],
      ['with all saves in the file', 50],
    ] as const),
  )('an older copy laid over it, %s: it is written to no more, and it is said', async (_, quietMs) => {
    const file = await makeFleetFile(folder)
    const older = readFileSync(file)
    const before = await start(file, 50)
    await before.use(async ({ raw }) => raw.exec("update unit set plate = 'of the first day'"))
    await vi.waitUntil(() => statSync(`${file}-wal`).size === 0, { timeout: 20_000 })
    await before.close()
    const fleet = await start(file, quietMs)
    for (let each = 0; each < 5; each += 1) await save(fleet)
    if (quietMs < 1000) await vi.waitUntil(() => statSync(`${file}-wal`).size === 0, { timeout: 20_000 })
    writeFileSync(file, older)
    await expect(save(fleet)).rejects.toMatchObject({
      code: 'damaged',
      message: expect.stringContaining('was overwritten by another program while it was open'),
    })
    await fleet.close()
    expect(readFileSync(file).equals(older)).toBe(true)
  })

  it('a save of another window or command is no tampering', async () => {
    const file = await makeFleetFile(folder)
    const [first, second] = [await start(file, 50), await start(file, 50)]
    const names: string[] = []
    for (let each = 0; each < 10; each += 1) {
      names.push(await save(first), await save(second))
      const other = await openStore(file)
      other.raw.exec("update unit set plate = 'elsewhere'")
      other.raw.pragma('wal_checkpoint(TRUNCATE)')
      await other.close()
    }
    expect([first.trouble(), second.trouble()]).toEqual([undefined, undefined])
    await first.close()
    await second.close()
    expect(await yardsOf(file)).toEqual(names)
    expect(reported).toEqual([])
  })
})

describe('damage that a copy finds', () => {
  it('ends the work on the file, and a check of the copies tells which one is whole', async () => {
    const file = await makeFleetFile(folder)
    const store = await openStore(file)
    sealWritten(store.raw)
    await keepCopy(store.raw, file, 'day')
    await keepCopy(store.raw, file, 'by-hand')
    await store.close()
    const [newest, whole] = listCopyNames(file).map(({ name }) => name)
    const spoil = (of: string) => {
      const bytes = readFileSync(of)
      bytes.write('T-9', bytes.indexOf('T-1'))
      writeFileSync(of, bytes)
    }
    spoil(join(copiesFolder(file), newest ?? ''))
    const fleet = await start(file)
    spoil(file)
    await expect(
      fleet.use(async ({ raw }) => {
        await keepCopy(raw, file, 'by-hand')
      }),
    ).rejects.toMatchObject({ code: 'damaged' })
    expect(fleet.trouble()?.message).toContain('rows of the table unit are not as they were saved')
    const isSound = async (name = '') => (await checkFile(join(copiesFolder(file), name))).sound
    expect([await isSound(newest), await isSound(whole)]).toEqual([false, true])
  })
})
