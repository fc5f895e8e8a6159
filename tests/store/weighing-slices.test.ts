import { describe, expect, it } from 'vitest'
import { inCouplingOrder, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { readRecord } from '#core/store/histories.ts'
import { readReadings, readTickets } from '#core/store/weighing-slices.ts'
import { withStore } from '#tests/store/temporary-store.ts'

/** A truck with a lift axle and a trailer, their yards at 5,000 and 700 ft, one scale at 2,640 ft. */
function insertPair({ raw }: Store): void {
  raw.exec(`
    insert into yard (id, name, elevation_ft) values (1, 'High', 5000), (2, 'Low', 700);
    insert into unit (id, number, kind, yard_id) values (1, 'V-1', 'trailer', 2), (2, 'V-2', 'trailer', null), (3, 'K-1', 'truck', 1);
    insert into axle_group (id, unit_id, name, role, axles) values (1, 1, 'tandem', 'trailer', 2), (2, 2, 'tandem', 'trailer', 2), (3, 3, 'drive', 'drive', 2), (4, 3, 'pusher', 'lift', 1);
    insert into circuit (id, group_id, name) values (1, 1, 'left'), (2, 1, 'right'), (3, 3, 'main'), (4, 2, 'main');
    insert into scale (id, name, elevation_ft) values (1, 'Pit', 2640), (2, 'Stone', null);
    insert into ticket (id, scale_id, number, weighed_at) values (1, 1, 'A', '2026-01-01T00:00:00.000Z'), (2, 1, 'B', '2026-01-02T00:00:00.000Z'), (3, 2, 'C', '2026-01-03T00:00:00.000Z');
    insert into ticket_weight (ticket_id, unit_id, group_id, weight_lb) values (1, 2, 2, 30000), (1, 3, 3, 20000), (1, 3, 4, 0), (2, 3, 3, 25000), (2, 3, 4, 9000), (3, 3, 3, 21000);
    insert into reading (id, name, taken_at, ticket_id, elevation_ft, lift) values
      (1, 'noted', '2026-01-01T00:05:00.000Z', 1, 900, null), (2, 'at the scale', '2026-01-01T00:06:00.000Z', 1, null, null),
      (3, 'at the yard', '2026-01-04T00:00:00.000Z', null, null, null), (4, 'alone', '2026-01-05T00:00:00.000Z', null, null, null), (5, 'of C', '2026-01-03T00:05:00.000Z', 3, null, 'raised');
    insert into reading_pressure (reading_id, circuit_id, psi) values (1, 3, 50), (2, 3, 51), (3, 1, 40), (3, 3, 52), (4, 4, 30), (5, 3, 53), (5, 2, 41);
  `)
}

describe('readings as combinations', () => {
  it("stand where it was noted, else where the ticket's scale stands, else at the yard of the unit at the head", () =>
    withStore((store) => {
      insertPair(store)
      const readings = readReadings(store, readFleetPlaces(store), (eb) => eb('r.id', '>', 0))
      expect(readings.map(({ name, elevationFt }) => [name, elevationFt])).toEqual([
        ['noted', 900],
        ['at the scale', 2640],
        ['at the yard', 5000],
        ['alone', null],
        ['of C', 5000],
      ])
    }))

  it('are of the units of the ticket and of the pressures, what drives first, then trailers as the ticket names them or as they are stored', () =>
    withStore((store) => {
      insertPair(store)
      const places = readFleetPlaces(store)
      const readings = readReadings(store, places, (eb) => eb.between('r.id', 1, 5))
      expect(readings.map(({ unitIds }) => unitIds)).toEqual([[3, 2], [3, 2], [3, 1], [2], [3, 1]])
      expect(inCouplingOrder([2, 1, 3], places)).toEqual([3, 2, 1])
    }))

  it('stand at the same place for who judges them and for who weighs them, read with the fleet or with one unit', () =>
    withStore((store) => {
      insertPair(store)
      const weighed = readReadings(store, readFleetPlaces(store), (eb) => eb('r.id', '>', 0))
      const placeOf = new Map(weighed.map(({ readingId, elevationFt }) => [readingId, elevationFt]))
      for (const unitIds of [undefined, [1], [2], [3]]) {
        const { groups } = readRecord(store, { untilMs: Date.UTC(2027, 0, 1), ...(unitIds && { unitIds }) })
        const judged = groups.flatMap(({ observations }) => observations)
        expect(judged.length).toBeGreaterThan(0)
        for (const { readingId, elevationFt } of judged) expect(elevationFt).toBe(placeOf.get(readingId))
      }
    }))

  it('count a unit that stood there without a pressure, and stand at its yard where it is at the head', () =>
    withStore((store) => {
      insertPair(store)
      store.raw.exec('insert into reading_unit (reading_id, unit_id) values (4, 3)')
      const [alone] = readReadings(store, readFleetPlaces(store), (eb) => eb('r.id', '=', 4))
      expect([alone?.unitIds, alone?.elevationFt]).toEqual([[3, 2], 5000])
    }))

  it("hold each group's pressures in the order of its circuits, with a gap where one was not read", () =>
    withStore((store) => {
      insertPair(store)
      const [yard, , c] = readReadings(store, readFleetPlaces(store), (eb) => eb('r.id', '>', 2))
      expect([...(yard?.pressures ?? [])]).toEqual([
        [1, [40, null]],
        [3, [52]],
      ])
      expect([...(c?.pressures ?? [])]).toEqual([
        [1, [null, 41]],
        [3, [53]],
      ])
      expect([c?.ticket?.scaleId, [...(c?.ticket?.weightsLb ?? [])]]).toEqual([2, [[3, 21_000]]])
    }))
})

describe('tickets with their readings', () => {
  it('take the lift state that a reading notes, else what the weight on the lift axle tells', () =>
    withStore((store) => {
      insertPair(store)
      const tickets = readTickets(store, readFleetPlaces(store), { which: (eb) => eb('t.id', '>', 0) })
      expect(tickets.map(({ lift, unitIds, readings }) => [lift, unitIds, readings.map(({ name }) => name)])).toEqual([
        ['raised', [3, 2], ['noted', 'at the scale']],
        ['lowered', [3], []],
        ['raised', [3, 1], ['of C']],
      ])
    }))
})
