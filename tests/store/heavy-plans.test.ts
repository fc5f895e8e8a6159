import { describe, expect, it } from 'vitest'
import { catchUp } from '#core/store/catch-up.ts'
import { listLastLed } from '#core/store/fleet-lists.ts'
import { readFleetPlaces } from '#core/store/fleet-places.ts'
import { tallyByUnit } from '#core/store/heavy-summary.ts'
import { type HeavyFilter, countHeavy, eachHeavy, listCombinations, listHeavy } from '#core/store/heavy.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { listTareTickets, listUnitsToWeigh, readWeighFacts } from '#core/store/weigh-facts.ts'
import { readReadings, readTickets } from '#core/store/weighing-slices.ts'
import { weighBehind, weighWholeFleet } from '#core/store/weighings.ts'
import { dayOf } from '#core/words/day.ts'
import { insertTrips } from '#tests/store/loaded-fleet.ts'
import { planAsForLargeFleet, planWithoutCounts } from '#tests/store/large-fleet-counts.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { scannedTables, statementsOf } from '#tests/store/query-plan.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { some } from '#tests/some.ts'

const log: HeavyFilter = { verdicts: ['over'], superseded: false }
const page = { sort: 'weighed_at', descending: true, offset: 100, limit: 50 } as const
/** Tables that grow with the years; of the Heavy Log's own table a walk along its index of times is the page itself. */
const big = [
  'reading',
  'reading_pressure',
  'ticket',
  'ticket_weight',
  'calibration',
  'calibration_point',
  'weighed_unit',
  'event',
  'mount',
]

const day = Date.UTC(2025, 11, 1)
const today = dayOf(day, 'UTC')

const questions: Record<string, (store: Store) => unknown> = {
  'a page of the log': ({ db }) => listHeavy(db, log, page),
  'a page of one unit': ({ db }) => listHeavy(db, { ...log, unitId: 1 }, page),
  'a page of one yard': ({ db }) => listHeavy(db, { ...log, yardId: 1 }, page),
  'how many there are': ({ db }) => countHeavy(db, log),
  'the log as it is exported': async ({ db }) => {
    for await (const _ of eachHeavy(db, log));
  },
  'the combinations of a page': ({ db }) => listCombinations(db, [2, 3, 4]),
  'the tally of one unit': ({ db }) =>
    tallyByUnit(db, { kinds: ['group', 'gross', 'bridge'], zone: 'UTC', today, unitId: 1 }),
  'the usual combinations': ({ db }) => listLastLed(db, [1, 2, 3], today),
  'the facts of one combination': (store) => readWeighFacts(store, { unitIds: [1, 3], tare: false }),
  'its empty tickets': async (store) =>
    listTareTickets(store, listUnitsToWeigh(store, [1, 3]), await readHouseRules(store.db), { unitIds: [1, 3] }),
  'a reading by its name': (store) => readReadings(store, readFleetPlaces(store), (eb) => eb('r.name', '=', 'R1')),
  'a ticket by its id': (store) =>
    readTickets(store, readFleetPlaces(store), { which: (eb) => eb('t.id', 'in', [1, 2]), untilMs: day }),
  'what a touched unit stood in': async (store) => {
    await noteChange(store, [1])
    await weighBehind(store, day)
  },
}

describe('the questions of weighing', () => {
  it.each(Object.entries(questions))('%s: reads no table whole that grows with the years', (_, ask) =>
    withStore(async (store) => {
      await insertTrips(
        store,
        Array.from({ length: 8 }, (_trip, i) => ({
          tractor: i % 2,
          trailer: 0,
          drivePsi: 20 + 5 * i,
          tandemPsi: 20 + 5 * i,
          day: i,
          ticket: true,
          isDriveRead: true,
        })),
      )
      // The fleet's figures are known, as they are once the fleet has been weighed.
      await catchUp(store, day)
      for (const sql of some(await statementsOf(store, () => ask(store)))) {
        expect({ sql, scanned: scannedTables(store, sql).filter((table) => big.includes(table)) }).toEqual({
          sql,
          scanned: [],
        })
      }
    }),
  )

  it('what was weighed and is gone is found by ids, not by reading all tickets for each weighing', () =>
    withStore(async (store) => {
      await catchUp(store, day)
      const gone = (await statementsOf(store, () => weighWholeFleet(store, day))).filter((sql) =>
        sql.includes('not exists'),
      )
      expect(gone).toHaveLength(1)
      expect(gone.flatMap((sql) => scannedTables(store, sql))).toEqual(['weighed_unit'])
    }))

  it('a page of one unit is found by its own weighings, without walking the log for it', () =>
    withStore(async (store) => {
      for (const plan of [planWithoutCounts, planAsForLargeFleet]) {
        plan(store)
        const details = await listHeavyPlan(store, { ...log, unitId: 1 })
        expect(
          details.filter((detail) => detail.includes('heavy_by_time') || detail.includes('heavy_counted')),
        ).toEqual([])
        for (const index of ['heavy_by_unit', 'weighed_unit_by_unit', 'heavy_by_weighing'])
          expect(details.some((detail) => detail.includes(index))).toBe(true)
      }
    }))

  it('the weighing that each unit last led is found by the unit, not among all that lead', () =>
    withStore(async (store) => {
      for (const plan of [planWithoutCounts, planAsForLargeFleet]) {
        plan(store)
        const details = await planOf(store, () => listLastLed(store.db, [1, 2, 3], today))
        expect(details.filter((detail) => detail.includes(' w '))).not.toEqual([])
        for (const detail of details.filter((each) => each.includes(' w ')))
          expect(detail).toContain('weighed_unit_by_unit (unit_id=?')
      }
    }))

  it('the newest page walks along the index of times and sorts no more than ties', () =>
    withStore(async (store) => {
      for (const verdicts of [['over'], ['over', 'too close to call']] as const) {
        const query = await listHeavyPlan(store, { ...log, verdicts })
        expect(query.some((detail) => detail.includes('heavy_by_time'))).toBe(true)
        // Besides what follows the index in a tie, only the rows of the page itself are put in order once more.
        expect(
          query.filter(
            (detail) =>
              detail.startsWith('USE TEMP B-TREE') && !detail.includes('LAST TERM') && !detail.includes('RIGHT PART'),
          ),
        ).toEqual(['USE TEMP B-TREE FOR ORDER BY'])
      }
    }))
})

/** The plan of a page as SQLite tells it. */
const listHeavyPlan = (store: Store, filter: HeavyFilter) => planOf(store, () => listHeavy(store.db, filter, page))

/** The plan of the last question of a work. */
async function planOf(store: Store, work: () => Promise<unknown>): Promise<string[]> {
  const sql = (await statementsOf(store, work)).at(-1) ?? ''
  return (
    store.raw.prepare(`explain query plan ${sql}`).all(...new Array<null>(sql.split('?').length - 1).fill(null)) as {
      detail: string
    }[]
  ).map(({ detail }) => detail)
}
