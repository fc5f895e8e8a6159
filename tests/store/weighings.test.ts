import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readBooks } from '#core/store/books.ts'
import { catchUp, catchUpTouched } from '#core/store/catch-up.ts'
import { readRecord } from '#core/store/histories.ts'
import { changeHouseRule } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { readWeighFacts } from '#core/store/weigh-facts.ts'
import { weighWholeFleet } from '#core/store/weighings.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { insertTrips, trips } from '#tests/store/loaded-fleet.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { fleets, insertFleet } from '#tests/store/random-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { addRow } from '#tests/fleet/rows.ts'

/** The stored weights without the ids that the order of writing gives them. */
async function storedWeights({ db }: Store) {
  const heavy = await db.selectFrom('heavy').selectAll().execute()
  return {
    heavy: heavy.map(({ id: _, ...row }) => JSON.stringify(row)).sort(),
    units: await db.selectFrom('weighed_unit').selectAll().orderBy('weighing').orderBy('unit_id').execute(),
  }
}

const now = Date.UTC(2025, 11, 1)

/** A fleet that has been judged and weighed. */
const weighed = (store: Store) => catchUp(store, now)

/** Everything weighed anew, as of the day that the weights are of. */
const weighAnew = async (store: Store) => weighWholeFleet(store, (await readBooks(store.db)).weighedFor)

const areCurrent = async ({ db }: Store) => (await readBooks(db)).weightsCurrent

const changes: Record<string, (store: Store, unitId: number) => Promise<unknown>> = {
  'an event': async (store, unitId) =>
    addRow(store, 'event', { unit_id: unitId, happened_at: '2024-06-01T06:00:00.000Z', kind: 'height set' }),
  'a limit': ({ db }, unitId) =>
    db.updateTable('axle_group').set({ limit_lb: 9000 }).where('unit_id', '=', unitId).execute(),
  'a voided calibration': ({ db }, unitId) =>
    db
      .updateTable('calibration')
      .set({ voided_at: '2025-01-01T00:00:00.000Z', void_reason: 'mistyped' })
      .where('group_id', 'in', (eb) => eb.selectFrom('axle_group').select('id').where('unit_id', '=', unitId))
      .execute(),
  // Of trailers: a tractor's steer weights also tell what the whole fleet's scatter by, which moves everything.
  'a ticket weight': ({ db }, unitId) =>
    db
      .updateTable('ticket_weight')
      .set({ weight_lb: 39_990 })
      .where('unit_id', '=', Math.max(3, unitId))
      .where('ticket_id', '<', 4)
      .execute(),
}

describe('stored weights', () => {
  it('hold onboard and ticket weights of every kind', async () => {
    const seen = new Set<string>()
    for (const list of fc.sample(trips, { numRuns: 40, seed: 7 })) {
      await withStore(async (store) => {
        await insertTrips(store, list)
        await weighed(store)
        for (const { source, limit_kind, verdict } of await store.db
          .selectFrom('heavy')
          .select(['source', 'limit_kind', 'verdict'])
          .execute())
          seen.add(`${source} ${limit_kind} ${verdict}`)
      })
    }
    const all = ['ticket', 'onboard'].flatMap((source) =>
      ['group', 'gross', 'bridge'].flatMap((kind) =>
        ['over', 'too close to call'].map((verdict) => `${source} ${kind} ${verdict}`),
      ),
    )
    // Pressures in whole psi make no weight within a ticket's own 68 lb of a group's limit.
    expect(all.filter((each) => !seen.has(each) && each !== 'ticket group too close to call')).toEqual([])
  })

  it.each(Object.entries(changes))(
    'are the same after %s of one unit as if all had been weighed anew',
    async (_, change) => {
      await fc.assert(
        fc.asyncProperty(trips, fc.integer({ min: 1, max: 4 }), (list, unitId) =>
          withStore(async (store) => {
            await insertTrips(store, list)
            await weighed(store)
            await change(store, unitId)
            await noteChange(store, [...new Set([unitId, Math.max(3, unitId)])])
            expect(await areCurrent(store)).toBe(false)
            await catchUpTouched(store, now)
            expect(await areCurrent(store)).toBe(true)
            const changed = await storedWeights(store)
            await weighAnew(store)
            expect(changed).toEqual(await storedWeights(store))
          }),
        ),
        { numRuns: 20, endOnFailure: true },
      )
    },
  )

  it('take in what has come since, also a reading of an older ticket', async () => {
    await fc.assert(
      fc.asyncProperty(
        trips,
        fc.array(
          fc.record({
            ticket: fc.option(fc.nat(9), { nil: null }),
            circuit: fc.integer({ min: 1, max: 4 }),
            psi: fc.integer({ min: 20, max: 90 }),
          }),
          { minLength: 1, maxLength: 4 },
        ),
        (list, later) =>
          withStore(async (store) => {
            await insertTrips(store, list)
            await weighed(store)
            const tickets = await store.db.selectFrom('ticket').select('id').execute()
            for (const [i, { ticket, circuit, psi }] of later.entries()) {
              const ticketId = ticket === null ? null : (tickets[ticket]?.id ?? null)
              const reading = { name: `later ${i}`, taken_at: '2025-12-01T06:00:00.000Z', ticket_id: ticketId }
              addRow(store, 'reading_pressure', {
                reading_id: addRow(store, 'reading', reading),
                circuit_id: circuit,
                psi,
              })
            }
            await noteChange(store, [1, 2, 3, 4])
            await catchUpTouched(store, now)
            const updated = await storedWeights(store)
            await weighAnew(store)
            expect(updated).toEqual(await storedWeights(store))
          }),
      ),
      { numRuns: 20 },
    )
  })

  it('do not change the record of any fleet, however odd', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, (plan) =>
        withStore(async (store) => {
          await insertFleet(store, plan)
          await weighed(store)
          const once = await storedWeights(store)
          await weighAnew(store)
          expect(await storedWeights(store)).toEqual(once)
          expect((await store.db.selectFrom('ledger').selectAll().executeTakeFirstOrThrow()).revision).toBe(0)
        }),
      ),
      { numRuns: 30 },
    )
  })

  it('are all made anew when a House Rule behind them changes, and left alone by one that is not', () =>
    withStore(async (store) => {
      const at = Date.UTC(2025, 9, 1)
      await insertFleet(store, {
        units: [
          { kind: 'truck', groups: [{ role: 'drive', axles: 2, firstAxleFt: 18, measuredBy: 'ticket', circuits: [] }] },
        ],
        scales: [{ divisionLb: 20, tolerance: 0.2 }],
        tickets: [{ scale: 0, at, grossLb: null, groups: [0], missing: false }],
        readings: [],
        calibrations: [],
        events: [],
      })
      await weighed(store)
      expect((await storedWeights(store)).heavy).toEqual([])
      const setRule = async (name: 'cellMinutes' | 'tandemLimitLb', value: number) => {
        const was = defaultHouseRules[name]
        await store.db
          .transaction()
          .execute((db) => changeHouseRule(db, { name, was, value }, 'R. Roe', '2025-12-01T00:00:00.000Z'))
      }
      await setRule('cellMinutes', 30)
      expect(await areCurrent(store)).toBe(true)
      expect(await store.db.selectFrom('weighed_unit').selectAll().execute()).toHaveLength(1)
      await setRule('tandemLimitLb', 9000)
      expect(await areCurrent(store)).toBe(false)
      await catchUp(store, now)
      expect(
        await store.db
          .selectFrom('heavy')
          .select(['limit_kind', 'weight_lb', 'limit_lb', 'verdict', 'source'])
          .execute(),
      ).toEqual([
        { limit_kind: 'group', weight_lb: 9010, limit_lb: 9000, verdict: 'too close to call', source: 'ticket' },
      ])
    }))

  it('go with what was taken away', async () => {
    await withStore(async (store) => {
      await insertFleet(store, {
        units: [
          { kind: 'truck', groups: [{ role: 'drive', axles: 2, firstAxleFt: 18, measuredBy: 'ticket', circuits: [] }] },
        ],
        scales: [{ divisionLb: 20, tolerance: 0.2 }],
        tickets: [{ scale: 0, at: now, grossLb: null, groups: [0], missing: false }],
        readings: [],
        calibrations: [],
        events: [],
      })
      await weighed(store)
      expect((await storedWeights(store)).units).toHaveLength(1)
      await store.db.deleteFrom('ticket_weight').execute()
      await store.db.deleteFrom('ticket').execute()
      await noteChange(store, [1])
      await catchUpTouched(store, now)
      expect(await storedWeights(store)).toEqual({ heavy: [], units: [] })
    })
  })
})

describe('the facts of weighing', () => {
  it('hold calibrations and weighings as the assessment reads them, and no other reading', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, (plan) =>
        withStore(async (store) => {
          const unitIds = await insertFleet(store, plan)
          await catchUp(store, Date.UTC(2026, 0, 1))
          const { record } = await readWeighFacts(store, { unitIds, tare: true })
          const { groups, tickets } = readRecord(store, { untilMs: Date.UTC(2200, 0, 1) })
          const withTicket = await store.db
            .selectFrom('reading')
            .select('id')
            .where('ticket_id', 'is not', null)
            .union(store.db.selectFrom('calibration_point').select('reading_id as id'))
            .execute()
          const wanted = new Set(withTicket.map(({ id }) => id))
          expect(record.groups).toEqual(
            groups.map((group) => ({
              ...group,
              observations: group.observations.filter(({ readingId }) => wanted.has(readingId)),
            })),
          )
          expect([...record.tickets.values()]).toEqual([...tickets.values()])
        }),
      ),
      { numRuns: 40 },
    )
  })

  it('of a few units are those of the whole fleet', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, fc.nat(20), (plan, pick) =>
        withStore(async (store) => {
          const units = await insertFleet(store, plan)
          const unitId = units[pick % units.length] as number
          const whole = await readWeighFacts(store, { unitIds: units, tare: true })
          const own = await readWeighFacts(store, { unitIds: [unitId], tare: true })
          expect(own.record.groups).toEqual(whole.record.groups.filter((history) => history.unitId === unitId))
          expect(own.steer).toEqual(whole.steer.filter((facts) => facts.unitId === unitId))
          expect(own.units.filter((unit) => unit.unitId === unitId)).toEqual(
            whole.units.filter((unit) => unit.unitId === unitId),
          )
          expect(whole.tickets).toEqual(expect.arrayContaining([...own.tickets]))
          expect(own.tickets).toEqual(
            expect.arrayContaining(whole.tickets.filter(({ unitIds }) => unitIds.includes(unitId))),
          )
          expect({ ...own, units: 0, record: 0, steer: 0, tickets: 0 }).toEqual({
            ...whole,
            units: 0,
            record: 0,
            steer: 0,
            tickets: 0,
          })
        }),
      ),
      { numRuns: 40 },
    )
  })
})
