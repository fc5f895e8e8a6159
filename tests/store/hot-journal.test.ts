import Database from 'better-sqlite3'
import { copyFileSync, existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { openStore } from '#core/store/open.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'

/**
 * What a power cut leaves of a database that works with a rollback journal, as a restored file does until it is opened:
 * the file half written, and beside it the journal that takes that back.
 */
function cutOff(from: string, to: string, change: string): void {
  const raw = new Database(from)
  raw.pragma('journal_mode = DELETE')
  raw.pragma('cache_size = 2')
  raw.exec(`begin; ${change}`)
  copyFileSync(from, to)
  copyFileSync(`${from}-journal`, `${to}-journal`)
  raw.exec('rollback')
  raw.close()
}

it('a file that was cut off with its journal beside it opens as it was before', () =>
  withFolder(async (folder) => {
    const whole = await makeFleetFile(folder, { units: 300 })
    const file = join(folder, 'cut.tareline')
    cutOff(whole, file, "update reading set note = 'half of this'; update unit set plate = 'half of this'")
    expect(readFileSync(file, 'latin1')).toContain('half of this')
    const store = await openStore(file)
    expect(
      store.raw
        .prepare(
          'select (select count(*) from reading where note is not null) + (select count(*) from unit where plate is not null)',
        )
        .pluck()
        .get(),
    ).toBe(0)
    await store.close()
    expect(existsSync(`${file}-journal`)).toBe(false)
  }))

it('the journal of another program’s database is left alone', () =>
  withFolder(async (folder) => {
    const song = join(folder, 'song.db')
    const raw = new Database(song)
    raw.exec('create table song (title text)')
    raw.exec(
      'insert into song select hex(randomblob(400)) from (with recursive n(i) as (select 1 union all select i + 1 from n where i < 500) select i from n)',
    )
    raw.close()
    const file = join(folder, 'cut.db')
    cutOff(song, file, "update song set title = 'half of this' || title")
    const before = [readFileSync(file), readFileSync(`${file}-journal`)]
    await expect(openStore(file)).rejects.toMatchObject({ code: 'not-a-database' })
    expect([readFileSync(file), readFileSync(`${file}-journal`)]).toEqual(before)
  }))
