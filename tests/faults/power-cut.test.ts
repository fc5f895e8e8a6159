import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { openFleet } from '#core/api/open-fleet.ts'
import { checkFile } from '#core/store/check-file.ts'
import { openStore } from '#core/store/open.ts'
import { Random } from '#demo/simulation/random.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'

/**
 * What a power cut leaves of the write-ahead log: as many of its bytes as had reached the disk, whole or with rubbish
 * or zeros where the rest was to come. SQLite's file format (its section on the WAL) says that a frame counts only with
 * the checksums of all frames before it, and only up to the last commit.
 */
const cuts = isNightly ? 2000 : 120
const changes = 60
const random = new Random(`power cuts ${process.env['TARELINE_SEED'] ?? ''}`)
const count = { cuts: 0, 'with rubbish after the cut': 0, 'saves kept in part of the log': 0 }
let failed = 0
let home: string
let main: Buffer
let log: Buffer
/** Length of the log after each save. */
const lengths: number[] = []

beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tareline-power-'))
  const file = await makeFleetFile(home)
  const store = await openStore(file)
  store.raw.pragma('wal_autocheckpoint = 0')
  main = readFileSync(file)
  for (let index = 1; index <= changes; index += 1) {
    // One save touches several tables: half of it must never be seen.
    await store.db.transaction().execute(async (db) => {
      await db
        .insertInto('yard')
        .values({ name: `Yard ${index}`, elevation_ft: index })
        .execute()
      await db
        .updateTable('ledger')
        .set(({ eb }) => ({ revision: eb('revision', '+', 1) }))
        .execute()
      await db
        .insertInto('house_rule')
        .values({ name: 'saves', value: index })
        .onConflict((conflict) => conflict.column('name').doUpdateSet({ value: index }))
        .execute()
    })
    lengths.push(readFileSync(`${file}-wal`).byteLength)
  }
  log = readFileSync(`${file}-wal`)
  await store.close()
})

afterAll(() => {
  keepTally('power-cuts', { title: 'Power cut: the write-ahead log ends at a random byte', counts: count, failed })
  rmSync(home, { recursive: true, force: true })
})

/** What had not reached the disk reads as nothing, as zeros, or as what was there before. */
function rest(length: number): Buffer {
  const kind = random.next()
  if (kind < 0.4) return Buffer.alloc(0)
  count['with rubbish after the cut'] += 1
  return Buffer.from(
    Array.from({ length: Math.min(length, 9000) }, () => (kind < 0.7 ? 0 : Math.floor(random.next() * 256))),
  )
}

it(`after each of ${cuts} cuts the file opens with every save up to some moment, and no half one`, async () => {
  for (let index = 0; index < cuts; index += 1) {
    const at = index === 0 ? 0 : Math.floor(random.next() * (log.byteLength + 1))
    const file = join(home, 'cut.tareline')
    writeFileSync(file, main)
    writeFileSync(`${file}-wal`, Buffer.concat([log.subarray(0, at), rest(log.byteLength - at)]))
    const store = await openStore(file)
    const [yards, revisions, saves] = [
      "select count(*) from yard where name like 'Yard %'",
      'select revision - 1 from ledger',
      "select coalesce((select value from house_rule where name = 'saves'), 0)",
    ].map((sql) => store.raw.prepare(sql).pluck().get() as number)
    await store.close()
    const whole = lengths.filter((length) => length <= at).length
    const { sound } = await checkFile(file)
    const isWell = yards === whole && revisions === whole && saves === whole && sound
    if (!isWell) failed += 1
    expect({ at, yards, revisions, saves, sound }).toEqual({
      at,
      yards: whole,
      revisions: whole,
      saves: whole,
      sound: true,
    })
    count.cuts += 1
    if (whole > 0 && whole < changes) count['saves kept in part of the log'] += 1
    for (const end of ['', '-wal', '-shm']) rmSync(file + end, { force: true })
  }
}, 300_000)

it('a log without its file is not taken for a new fleet, and is kept', async () => {
  const file = join(home, 'gone.tareline')
  writeFileSync(`${file}-wal`, log)
  const fleet = await openFleet(file)
  expect(fleet.trouble()).toMatchObject({ code: 'lost' })
  await fleet.close()
  expect([existsSync(file), readFileSync(`${file}-wal`).equals(log)]).toEqual([false, true])
})
