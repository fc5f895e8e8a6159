import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it, vi } from 'vitest'
import { openStore } from '#core/store/open.ts'
import { tareline } from '#tests/command/run-tareline.ts'
import { smallFleet, withCell, withFleetFolder, withFolder, writeFiles } from '#tests/exchange/small-fleet.ts'
import { wholeRecord } from '#tests/exchange/whole-record.ts'

// Each run is a process of its own, which takes its time on a busy machine.
vi.setConfig({ testTimeout: 120_000 })

const inHome = (work: (paths: { home: string; fleet: string; db: string }) => Promise<void>) =>
  withFleetFolder(smallFleet(), (fleet) =>
    withFolder((home) => work({ home, fleet, db: join(home, 'fleet.tareline') })),
  )

describe('tareline import and export', () => {
  it('make a file from a folder and a folder from a file, in text and as JSON', () =>
    inHome(async ({ home, fleet, db }) => {
      const first = await tareline('import', fleet, '--db', db)
      expect(first).toMatchObject({ exit: 0, error: '' })
      expect(first.out).toMatch(/^tickets\.csv\s+16 rows: 16 added, 0 completed, 0 the same$/m)
      expect(first.out).toMatch(/Stored\.$/m)

      const second = await tareline('import', fleet, '--db', db, '--json')
      expect(second.exit).toBe(0)
      expect(second.json()).toMatchObject({
        outcome: 'stored',
        files: expect.arrayContaining([{ file: 'readings.csv', read: 16, added: 0, completed: 0, same: 16 }]),
      })

      const out = await tareline('export', join(home, 'out'), '--db', db, '--json')
      expect(out.exit).toBe(0)
      expect(out.json()).toMatchObject({ files: expect.arrayContaining([{ file: 'readings.csv', rows: 16 }]) })
      expect(readdirSync(join(home, 'out'))).toHaveLength(12)
      expect((await tareline('export', home, '--db', db)).error).toMatch(/is not a file of a fleet folder/)
      expect((await tareline('export', join(home, 'out'), '--db', join(home, 'none'))).exit).toBe(2)
    }))

  it('refuse a negative weight with its file and line and store nothing', () =>
    inHome(async ({ home, fleet, db }) => {
      writeFiles(fleet, withCell(smallFleet(), 'tickets.csv', 5, 'weight_lb', '-10860'))
      const fresh = await tareline('import', fleet, '--db', db)
      expect(fresh).toMatchObject({ exit: 2, out: '' })
      expect(fresh.error).toMatch(
        /^tickets\.csv line 5, weight_lb: "-10860" is not accepted; a plain number from 0 to 400,000 lb is\.$/m,
      )
      expect(fresh.error).toMatch(/^Nothing was stored\. 1 problem\.$/m)
      expect(existsSync(db)).toBe(false)

      writeFiles(fleet, smallFleet())
      await tareline('import', fleet, '--db', db)
      const record = async () => {
        const store = await openStore(db)
        try {
          return wholeRecord(store)
        } finally {
          await store.close()
        }
      }
      const before = await record()
      writeFiles(join(home, 'bad'), withCell(smallFleet(), 'tickets.csv', 17, 'gross_lb', '-1'))
      const refused = await tareline('import', join(home, 'bad'), '--db', db, '--json')
      expect(refused.exit).toBe(2)
      expect(refused.json()).toMatchObject({
        outcome: 'refused',
        more: false,
        problems: [{ file: 'tickets.csv', line: 17, column: 'gross_lb', value: '-1' }],
      })
      expect(await record()).toEqual(before)
    }))
})

describe('tareline backup', () => {
  it('copies a file that is open, and replaces none', () =>
    inHome(async ({ home, fleet, db }) => {
      await tareline('import', fleet, '--db', db)
      const store = await openStore(db)
      try {
        store.raw.exec("update unit set plate = 'in the log only' where number = 'T-101'")
        const copy = await tareline('backup', '--db', db, '--to', join(home, 'copy.tareline'), '--json')
        expect(copy.exit).toBe(0)
        expect(copy.json()).toMatchObject({ file: join(home, 'copy.tareline') })
        const copied = await openStore(join(home, 'copy.tareline'))
        expect(wholeRecord(copied)).toEqual(wholeRecord(store))
        await copied.close()
      } finally {
        await store.close()
      }
      const again = await tareline('backup', '--db', db, '--to', join(home, 'copy.tareline'))
      expect(again).toMatchObject({ exit: 2, out: '' })
      expect(again.error).toContain('exists already')
      expect((await tareline('backup', '--db', db, '--to', join(home, 'no', 'copy'))).exit).toBe(2)
      expect((await tareline('backup', '--db', join(home, 'no'), '--to', join(home, 'x'))).exit).toBe(2)
      expect(readdirSync(home).sort()).toEqual(['copy.tareline', 'fleet.tareline'])
    }))
})

describe('tareline check', () => {
  it('says that a sound file is sound, and changes nothing', () =>
    inHome(async ({ home, fleet, db }) => {
      await tareline('import', fleet, '--db', db)
      const before = readFileSync(db)
      const sound = await tareline('check', '--db', db, '--json')
      expect(sound).toMatchObject({ exit: 0, error: '' })
      expect(sound.json()).toMatchObject({ sound: true, complaints: [], broken_references: 0 })
      expect((await tareline('check', '--db', db)).out).toMatch(/is sound, at step (\d+) of \1\.$/m)
      expect(readFileSync(db).equals(before)).toBe(true)
      expect(readdirSync(home)).toEqual(['fleet.tareline'])
    }))

  it('says what is wrong with others', () =>
    inHome(async ({ home, fleet, db }) => {
      await tareline('import', fleet, '--db', db)
      const store = await openStore(db)
      store.raw.pragma('foreign_keys = OFF')
      store.raw.exec('update axle_group set unit_id = 99 where id = 1')
      await store.close()
      expect(await tareline('check', '--db', db)).toMatchObject({
        exit: 2,
        out: '',
        error: expect.stringContaining('1 broken reference'),
      })

      const bytes = readFileSync(db)
      bytes.fill(0xa5, 4096 * 6, 4096 * 9)
      writeFileSync(join(home, 'damaged'), bytes)
      const damaged = await tareline('check', '--db', join(home, 'damaged'), '--json')
      expect(damaged.exit).toBe(2)
      expect(damaged.error).toContain('damaged')
      expect(() => damaged.json()).not.toThrow()

      writeFileSync(join(home, 'text'), 'unit,kind\n'.repeat(200))
      expect(await tareline('check', '--db', join(home, 'text'))).toMatchObject({
        exit: 2,
        error: expect.stringContaining('not a Tareline database'),
      })
      expect(await tareline('check', '--db', join(home, 'none'))).toMatchObject({
        exit: 2,
        error: expect.stringContaining('does not exist'),
      })
    }))
})
