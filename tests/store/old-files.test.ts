import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { gunzipSync } from 'node:zlib'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { readBooks } from '#core/store/books.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { listChanges } from '#core/store/change-log.ts'
import { checkFile } from '#core/store/check-file.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { type Store, latestStep, openStore } from '#core/store/open.ts'

/**
 * A fleet file as the first release left it: the demo fleet, judged and weighed, with a House Rule changed, a
 * calibration voided and a ticket corrected. Never made anew: it stands for the files that people have.
 */
const kept = resolve(import.meta.dirname, 'old-files/first-release.tareline.gz')
const now = Date.UTC(2026, 10, 29, 12)

describe('a fleet file of the first release', () => {
  const home = mkdtempSync(join(tmpdir(), 'tareline-old-'))
  const file = join(home, 'fleet.tareline')
  let store: Store

  beforeAll(async () => {
    writeFileSync(file, gunzipSync(readFileSync(kept)))
    store = await openStore(file)
  })
  afterAll(async () => {
    await store.close()
    rmSync(home, { recursive: true, force: true })
  })

  const count = (table: string) => store.raw.prepare(`select count(*) from ${table}`).pluck().get() as number

  it('opens, is brought to the newest step, and was copied before', () => {
    expect(store.raw.pragma('user_version', { simple: true })).toBe(latestStep)
    expect(listCopyNames(file).map(({ reason }) => reason)).toEqual(['before-update'])
  })

  it('has every record that it had', () => {
    expect(
      Object.fromEntries(
        ['unit', 'axle_group', 'circuit', 'sensor', 'ticket', 'reading', 'calibration', 'event'].map((table) => [
          table,
          count(table),
        ]),
      ),
    ).toEqual({
      unit: 89,
      axle_group: 137,
      circuit: 111,
      sensor: 112,
      ticket: 2573,
      reading: 10_798,
      calibration: 276,
      event: 13,
    })
  })

  it('lists its changes under every unit that they are about', async () => {
    const changes = await listChanges(store.db, {}, { limit: 10 })
    expect(changes.map(({ subject, action }) => `${subject} ${action}`)).toEqual([
      'ticket corrected',
      'calibration voided',
      'house rule changed',
      'fleet folder imported',
    ])
    const units = store.raw
      .prepare('select unit_id from ticket_weight where ticket_id = 100 group by unit_id')
      .pluck()
      .all() as number[]
    expect(units.length).toBeGreaterThan(1)
    for (const unitId of units)
      expect((await listChanges(store.db, { unitId }, { limit: 10 })).map(({ subject }) => subject)).toContain('ticket')
  })

  it('is not current until it is judged and weighed, and then is', async () => {
    expect(await readBooks(store.db)).toMatchObject({ judgedFor: null, weightsCurrent: false })
    await catchUp(store, now)
    expect(await readBooks(store.db)).toMatchObject({ linesCurrent: true, weightsCurrent: true })
    expect(count('group_standing')).toBe(89)
    expect(count('weighed_unit')).toBeGreaterThan(10_000)
  })

  it('is whole', async () => {
    expect(await checkFile(file)).toMatchObject({ message: expect.stringContaining('is sound') as string })
  })
})
