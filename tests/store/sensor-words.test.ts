import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { listSensors } from '#core/store/fleet-lists.ts'
import { mend } from '#core/store/look-over.ts'
import { latestStep } from '#core/store/open.ts'
import type { Store } from '#core/store/open.ts'
import { planAsForLargeFleet, planWithoutCounts } from '#tests/store/large-fleet-counts.ts'
import { plansOf, statementsOf } from '#tests/store/query-plan.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const sensors = 40

/** Units of two groups, groups of one or two circuits, sensors of which some sit nowhere and some have moved. */
function fill({ raw }: Store, count = sensors): void {
  const rows = (from: number, insert: string) =>
    raw.exec(`with recursive n(i) as (select 1 union all select i + 1 from n where i < ${from}) ${insert}`)
  rows(count, "insert into unit (id, number, kind) select i, iif(i % 2, 'T-', 'v ') || i, 'tractor' from n")
  rows(
    count,
    "insert into axle_group (id, unit_id, name, role, axles) select i, (i + 1) / 2, iif(i % 2, 'Drive', 'steer'), 'drive', 2 from n",
  )
  rows(count, "insert into circuit (id, group_id, name) select i, i, iif(i % 3, 'main', 'Left') from n")
  rows(count, "insert into sensor (id, serial, reference) select i, 'S' || (1000 + i), 'gauge' from n")
  rows(
    count,
    `insert into mount (sensor_id, circuit_id, mounted_at, removed_at) select i, i, '2025-01-01T00:00:00.000Z',
      iif(i % 5, null, '2025-02-01T00:00:00.000Z') from n where i % 7`,
  )
  rows(
    count,
    "insert into mount (sensor_id, circuit_id, mounted_at) select i, i - 1, '2025-03-01T00:00:00.000Z' from n where i % 10 = 0",
  )
}

type Row = Awaited<ReturnType<typeof listSensors>>[number]
const small = (text: string) => text.replaceAll(/[A-Z]/g, (capital) => capital.toLowerCase())

/** Those that hold every word in their serial or in where they sit, found by looking at each. */
const plainly = (all: readonly Row[], text: string, after: string | undefined, limit: number) =>
  all
    .filter(({ serial, unit, group, circuit }) => {
      const facts = small([serial, unit, group, circuit].filter((fact) => fact !== null).join(' '))
      return text.split(/\s+/).every((word) => facts.includes(small(word)))
    })
    .filter(({ serial }) => after === undefined || serial > after)
    .slice(0, limit)

const everyOne = ({ db }: Store) => listSensors(db, { text: '', limit: 10_000 })
const texts = ['S10', 's1007', 'T-1', 'v 2', 'DRIVE main', 'steer left', 'É', '%', 'nowhere', 't-3 s10', 'main']

/** Anything that a program may do to what the words are of. */
const changes = [
  "update sensor set serial = 'Écho-7' where id = 7",
  "insert into sensor (serial, reference) values ('New', 'gauge')",
  "delete from sensor where serial = 'New'",
  "update unit set number = 'T-1 steer' where id = 4",
  "update axle_group set name = 'tag' where id in (3, 6)",
  "update axle_group set unit_id = 9, name = 'lift' where id = 11",
  "update circuit set name = 'right' where id in (1, 2, 12)",
  "update mount set removed_at = '2026-01-01T00:00:00.000Z' where id % 4 = 0",
  'update mount set removed_at = null where id % 8 = 0',
  "insert into mount (sensor_id, circuit_id, mounted_at) values (14, 14, '2025-06-01T00:00:00.000Z')",
  'update mount set sensor_id = 21 where id = 3',
  'delete from mount where id % 9 = 0',
]

describe('sensors found by words', () => {
  it('are those whose serial or seat holds them, whatever was changed before', () =>
    fc.assert(
      fc.asyncProperty(fc.shuffledSubarray(changes, { minLength: 1 }), (some) =>
        withStore(async (store) => {
          fill(store)
          for (const sql of some) {
            store.raw.exec(sql)
            const all = await everyOne(store)
            for (const text of texts)
              for (const [after, limit] of [
                [undefined, 100],
                ['S1004', 3],
              ] as const)
                expect({ sql, text, rows: await listSensors(store.db, { text, after, limit }) }).toEqual({
                  sql,
                  text,
                  rows: plainly(all, text, after, limit),
                })
          }
          const words = store.raw.prepare('select count(*) from sensor_words').pluck().get()
          expect(words).toBe((await everyOne(store)).length)
        }),
      ),
      { numRuns: 12 },
    ))

  it('are found among many as among few', () =>
    withStore(async (store) => {
      fill(store, 2600)
      const all = await everyOne(store)
      for (const text of ['s', 's1', 'drive', 's25 main'])
        for (const after of [undefined, 'S2000'])
          expect(await listSensors(store.db, { text, after, limit: 50 })).toEqual(plainly(all, text, after, 50))
    }))

  it('are found again where their words were not as they had been made', () =>
    withStore(async (store) => {
      fill(store)
      const before = await listSensors(store.db, { text: 'drive', limit: 100 })
      store.raw.exec("delete from sensor_words where sensor_id % 2; update sensor_words set words = 'drive'")
      expect(await listSensors(store.db, { text: 'drive', limit: 100 })).not.toEqual(before)
      await mend(store.raw, store.file, latestStep, { damage: [], indexes: [], made: true })
      expect(await listSensors(store.db, { text: 'drive', limit: 100 })).toEqual(before)
    }))

  it.each([
    ['before the file was ever looked over', planWithoutCounts],
    ['with the counts of a large fleet', planAsForLargeFleet],
  ])('walk their words alone, %s', (_, plan) =>
    withStore(async (store) => {
      fill(store)
      plan(store)
      const statements = await statementsOf(store, () => listSensors(store.db, { text: 'drive main', limit: 100 }))
      const walked = statements.flatMap((sql) => plansOf(store, sql)).filter((step) => step.startsWith('SCAN'))
      expect(walked).toEqual(['SCAN sensor_words'])
    }),
  )
})
