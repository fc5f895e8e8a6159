import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { fieldsOf } from '#core/api/log-view.ts'
import { countChanges, eachChange, listChanges, listPeople, recordChanges } from '#core/store/change-log.ts'
import { addRecord, editRecord, findRecord } from '#core/store/edit-record.ts'
import { leaveOnDesk, readDesk } from '#core/store/file-state.ts'
import { changeHouseRule, readHouseRules } from '#core/store/house-rules.ts'
import { type Store, openStore } from '#core/store/open.ts'
import type { Change, StoredValues } from '#core/words/change.ts'
import { ConflictError } from '#core/words/problem.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const hand = { by: 'M. Tarn', at: '2026-03-01T12:00:00.000Z' }
const other = { by: 'R. Roe', at: '2026-03-01T12:05:00.000Z' }
const yard = (key: string) => ({ subject: 'yard', key, unitId: null }) as const

const save = (
  store: Store,
  by: typeof hand,
  work: (db: Parameters<typeof recordChanges>[0]) => Promise<readonly Change[]>,
) => store.db.transaction().execute(async (db) => recordChanges(db, by, await work(db)))

/** A yard as a person added it. */
async function withYard(store: Store, elevation: number): Promise<number> {
  let added = 0
  await save(store, hand, async (db) => {
    const { id, change } = await addRecord(db, yard('Millrace'), { name: 'Millrace', elevation_ft: elevation })
    added = id
    return [change]
  })
  return added
}

const revisionOf = async ({ db }: Store) =>
  (await db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()).revision

describe('changes that are taken down', () => {
  it('share the revision that they made, and none makes none', () =>
    withStore(async (store) => {
      await save(store, hand, async () =>
        [1, 2].map((n) => ({ unitId: null, subject: 'yard', key: `Y${n}`, action: 'added', new: { n } })),
      )
      await save(store, hand, async () => [])
      const rows = await listChanges(store.db, {}, { limit: 10 })
      expect(rows.map(({ subject_key, revision, new_value }) => [subject_key, revision, new_value])).toEqual([
        ['Y2', 1, '{"n":2}'],
        ['Y1', 1, '{"n":1}'],
      ])
      expect(await revisionOf(store)).toBe(1)
    }))

  it('by the thousand come in one revision', () =>
    withStore(async (store) => {
      const many = Array.from(
        { length: 3500 },
        (_, n): Change => ({ unitId: null, subject: 'battery', key: `S-${n}`, action: 'swapped' }),
      )
      await save(store, hand, async () => many)
      expect([await countChanges(store.db, {}), await revisionOf(store)]).toEqual([3500, 1])
      let seen = 0
      for await (const stretch of eachChange(store.db, {})) seen += stretch.length
      expect(seen).toBe(3500)
    }))

  it('can be found by every word in who, what, old, new and why, with signs that a pattern would read', () =>
    withStore(async (store) => {
      await save(store, hand, async () => [
        {
          unitId: null,
          subject: 'yard',
          key: '100 %_sure',
          action: 'changed',
          old: { name: 'A' },
          new: { name: "O'Bria\\n" },
          reason: 'Typed ÄB wrong',
        },
        { unitId: null, subject: 'scale', key: 'Salt Bend', action: 'added' },
      ])
      const found = async (text: string) =>
        (await listChanges(store.db, { text }, { limit: 10 })).map(({ subject_key }) => subject_key)
      for (const text of ['m. tarn YARD', '%_s', "o'bria", 'Äb wrong', 'typed 100'])
        expect(await found(text)).toEqual(['100 %_sure'])
      expect(await found('tarn')).toHaveLength(2)
      expect(await found('tarn nobody')).toEqual([])
      expect(await countChanges(store.db, { text: 'salt', subject: 'yard' })).toBe(0)
    }))

  it('are paged by key without gap or double, whatever the page', () =>
    withStore(async (store) => {
      await save(store, hand, async () =>
        Array.from(
          { length: 23 },
          (_, n): Change => ({ unitId: null, subject: 'scale', key: String(n), action: 'added' }),
        ),
      )
      await fc.assert(
        fc.asyncProperty(fc.integer({ min: 1, max: 30 }), async (limit) => {
          const keys: string[] = []
          for (let after: number | undefined; ; ) {
            const page = await listChanges(store.db, {}, { after, limit })
            keys.push(...page.map(({ subject_key }) => subject_key))
            if (page.length < limit) break
            after = page.at(-1)?.id
          }
          expect(keys).toEqual(Array.from({ length: 23 }, (_, n) => String(22 - n)))
        }),
        { numRuns: 8 },
      )
    }))

  it('name their people once, the latest first', () =>
    withStore(async (store) => {
      for (const by of ['A', 'B', 'A', 'import', 'C'])
        await save(store, { ...hand, by }, async () => [{ unitId: null, subject: 'yard', key: by, action: 'added' }])
      expect(await listPeople(store.db, 5)).toEqual(['C', 'A', 'B'])
      expect(await listPeople(store.db, 1)).toEqual(['C'])
    }))
})

describe('an edit', () => {
  it('changes and takes down only what the person changed', () =>
    withStore(async (store) => {
      const id = await withYard(store, 600)
      const was: StoredValues = { name: 'Millrace', elevation_ft: 600 }
      await save(store, hand, (db) =>
        editRecord(db, { ...yard('Millrace'), id, was, now: { ...was, elevation_ft: 640 } }),
      )
      const [change] = await listChanges(store.db, {}, { limit: 1 })
      expect(change).toMatchObject({
        action: 'changed',
        record_id: id,
        old_value: '{"elevation_ft":600}',
        new_value: '{"elevation_ft":640}',
        revision: 2,
      })
      expect(
        await save(store, hand, (db) =>
          editRecord(db, {
            ...yard('Millrace'),
            id,
            was: { ...was, elevation_ft: 640 },
            now: { ...was, elevation_ft: 640 },
          }),
        ),
      ).toBe(2)
    }))

  it('is refused with both values where another window changed the same field, and nothing of it is stored', () =>
    withStore(async (store) => {
      const id = await withYard(store, 600)
      const was = { name: 'Millrace', elevation_ft: 600 }
      await save(store, other, (db) =>
        editRecord(db, { ...yard('Millrace'), id, was, now: { ...was, elevation_ft: 700 } }),
      )
      const late = save(store, hand, (db) =>
        editRecord(db, { ...yard('Millrace'), id, was, now: { name: 'Mill', elevation_ft: 800 } }),
      )
      await expect(late).rejects.toMatchObject({
        code: 'conflict',
        conflicts: [{ field: 'elevation_ft', was: 600, stored: 700, typed: 800 }],
        message: expect.stringContaining('by R. Roe') as string,
      })
      await expect(late).rejects.toBeInstanceOf(ConflictError)
      expect(await findRecord(store.db, 'yard', id)).toMatchObject({ name: 'Millrace', elevation_ft: 700 })
      expect(await revisionOf(store)).toBe(2)
    }))

  it('goes side by side with one of other fields, and with the same one made twice', () =>
    withStore(async (store) => {
      const id = await withYard(store, 600)
      const was = { name: 'Millrace', elevation_ft: 600 }
      await save(store, other, (db) =>
        editRecord(db, { ...yard('Millrace'), id, was, now: { ...was, elevation_ft: 700 } }),
      )
      await save(store, hand, (db) =>
        editRecord(db, { ...yard('Millrace'), id, was, now: { name: 'Mill', elevation_ft: 700 } }),
      )
      expect(await findRecord(store.db, 'yard', id)).toMatchObject({ name: 'Mill', elevation_ft: 700 })
      expect((await listChanges(store.db, {}, { limit: 1 }))[0]?.new_value).toBe('{"name":"Mill"}')
    }))

  it('of what is no longer there says so', () =>
    withStore(async (store) => {
      await expect(
        save(store, hand, (db) => editRecord(db, { ...yard('Gone'), id: 99, was: {}, now: { name: 'X' } })),
      ).rejects.toMatchObject({ code: 'gone' })
    }))

  it('of a house rule is refused where another value stands by now', () =>
    withStore(async (store) => {
      const change = (was: number, value: number) =>
        store.db
          .transaction()
          .execute((db) => changeHouseRule(db, { name: 'maximumAgeDays', was, value }, 'M. Tarn', hand.at))
      await change(365, 200)
      await expect(change(365, 100)).rejects.toMatchObject({
        code: 'conflict',
        conflicts: [{ was: 365, stored: 200, typed: 100 }],
      })
      await change(365, 200)
      expect((await readHouseRules(store.db)).maximumAgeDays).toBe(200)
    }))
})

it('values of a change stand side by side, whatever they are made of', () => {
  expect(fieldsOf('365', '200')).toEqual([{ name: '', old: 365, new: 200 }])
  expect(fieldsOf('{"a":1,"b":2}', '{"a":1,"b":null}')).toEqual([{ name: 'b', old: 2, new: null }])
  expect(fieldsOf(null, '{"parts":[{"x":1}],"n":"N"}')).toEqual([
    { name: 'parts', old: null, new: '[{"x":1}]' },
    { name: 'n', old: null, new: 'N' },
  ])
  expect(fieldsOf(null, null)).toEqual([])
})

it('what lies on the desk is replaced, taken away, and no change of the record', () =>
  withStore(async (store) => {
    await leaveOnDesk(store, 'unit T-1', 'one', hand.at)
    await leaveOnDesk(store, 'unit T-1', 'two', hand.at)
    expect(await readDesk(store.db, 'unit T-1')).toBe('two')
    await leaveOnDesk(store, 'unit T-1', null, hand.at)
    expect([await readDesk(store.db, 'unit T-1'), await revisionOf(store)]).toEqual([null, 0])
  }))

it('a save waits its turn when a thread has written between its reading and its writing', () =>
  withStore(async (store) => {
    const other = await openStore(store.file)
    try {
      const id = await withYard(store, 600)
      const late = store.db.transaction().execute(async (db) => {
        await findRecord(db, 'yard', id)
        // The other connection finds the right to write taken, instead of taking the ground from under this save.
        other.raw.pragma('busy_timeout = 0')
        expect(() => other.raw.exec("insert into desk (name, text, left_at) values ('a', 'b', 'c')")).toThrow('locked')
        return recordChanges(
          db,
          hand,
          await editRecord(db, { ...yard('Millrace'), id, was: { elevation_ft: 600 }, now: { elevation_ft: 650 } }),
        )
      })
      expect(await late).toBe(2)
    } finally {
      await other.close()
    }
  }))
