import { describe, expect, it } from 'vitest'
import { readToday } from '#core/api/today-view.ts'
import { listReadings, listTickets } from '#core/store/evidence-lists.ts'
import { listUses, readEvidence } from '#core/store/evidence.ts'
import { listGroupRecords } from '#core/store/fleet-lists.ts'
import { readRecord } from '#core/store/histories.ts'
import type { Store } from '#core/store/open.ts'
import { listRoster } from '#core/store/roster.ts'
import { heardUntil, readSilences } from '#core/store/silences.ts'
import { listAttachments } from '#core/store/ticket-attachments.ts'
import {
  findUnit,
  listCalibrations,
  listCircuits,
  listEvents,
  listMountedSensors,
  listNewestReadings,
  listPointNames,
  listUnitFindings,
} from '#core/store/unit-sheet.ts'
import { scannedTables, statementsOf } from '#tests/store/query-plan.ts'
import { withStore } from '#tests/store/temporary-store.ts'

/** Tables that grow with the years, not with the fleet: no question about one unit may read one of them whole. */
const big = [
  'reading',
  'reading_pressure',
  'ticket',
  'ticket_weight',
  'calibration',
  'calibration_point',
  'event',
  'finding',
  'mount',
  'battery_change',
  'change_log',
  'attachment',
  'ticket_attachment',
]

/** A fleet large enough for the planner's statistics to mean something; written in bulk, values beside the point. */
function fill({ raw }: Store): void {
  const count = (sql: string) =>
    raw.exec(`with recursive n(i) as (select 1 union all select i + 1 from n where i < ${sql}`)
  count("200) insert into unit (id, number, kind) select i, 'U-' || i, 'tractor' from n")
  count(
    "400) insert into axle_group (id, unit_id, name, role, axles, measured_by) select i, (i + 1) / 2, 'G' || (i % 2), 'drive', 2, 'circuit' from n",
  )
  count("400) insert into circuit (id, group_id, name) select i, i, 'main' from n")
  count("400) insert into sensor (id, serial, reference) select i, 'S-' || i, 'gauge' from n")
  count("400) insert into mount (sensor_id, circuit_id, mounted_at) select i, i, '2024-01-01T00:00:00.000Z' from n")
  count(
    "800) insert into battery_change (sensor_id, changed_at) select 1 + i % 400, '2024-01-0' || (1 + i / 400) || 'T00:00:00.000Z' from n",
  )
  raw.exec("insert into scale (id, name) values (1, 'Pit scale')")
  count(
    "2000) insert into ticket (id, scale_id, number, weighed_at) select i, 1, 'N' || i, '2024-02-01T00:00:00.000Z' from n",
  )
  count(
    '4000) insert into ticket_weight (ticket_id, unit_id, group_id, weight_lb) select (i + 1) / 2, 1 + ((i + 1) / 2) % 200, 1 + 2 * (((i + 1) / 2) % 200) + i % 2, 20000 from n',
  )
  count(
    "20000) insert into reading (id, name, taken_at, ticket_id) select i, 'R' || i, '2024-02-01T00:00:00.000Z', case when i <= 2000 then i end from n",
  )
  count('40000) insert into reading_pressure (reading_id, circuit_id, psi) select (i + 1) / 2, 1 + i % 400, 50 from n')
  count(
    "800) insert into calibration (id, group_id, calibrated_at) select i, 1 + i % 400, '2024-0' || (1 + i / 400) || '-01T00:00:00.000Z' from n",
  )
  count(
    '2400) insert into calibration_point (calibration_id, ticket_id, reading_id) select 1 + i % 800, 1 + i % 2000, 1 + i % 2000 from n',
  )
  count(
    "1000) insert into event (unit_id, happened_at, kind) select 1 + i % 200, '2024-0' || (1 + i / 200) || '-01T00:00:00.000Z', 'other' from n",
  )
  count(
    "400) insert into finding (unit_id, group_id, code, severity, numbers, variant, facts) select (i + 1) / 2, i, 'short-span', 'warn', '{}', 'top', '{}' from n",
  )
  count("400) insert into group_standing (group_id, unit_id, trust) select i, (i + 1) / 2, 'sound' from n")
}

const questions: Record<string, (store: Store) => unknown> = {
  'the attachments of a ticket': ({ db }) => listAttachments(db, 7),
  'the unit itself': ({ db }) => findUnit(db, 'U-7'),
  'its groups': ({ db }) => listGroupRecords(db, 7),
  'its circuits': ({ db }) => listCircuits(db, 7),
  'its sensors': ({ db }) => listMountedSensors(db, 7),
  'its calibrations': ({ db }) => listCalibrations(db, 7),
  'the names of its points': ({ db }) => listPointNames(db, 7),
  'its events': ({ db }) => listEvents(db, 7),
  'its newest readings': ({ db }) => listNewestReadings(db, 7, 50),
  'its findings': ({ db }) => listUnitFindings(db, 7),
  'a ticket and what rests on it': async ({ db }) => [
    await readEvidence(db, 'ticket', 7).catch(() => null),
    await listUses(db, 'ticket', 7),
  ],
  'a reading and what rests on it': async ({ db }) => [
    await readEvidence(db, 'reading', 7).catch(() => null),
    await listUses(db, 'reading', 7),
  ],
  'its tickets': ({ db }) => listTickets(db, { unitId: 7, limit: 100 }),
  'its readings': ({ db }) => listReadings(db, { unitId: 7, limit: 100 }),
  'which of its sensors are silent': (store) => readSilences(store, Date.UTC(2030, 0, 1), Date.UTC(2030, 0, 1), [7]),
  'its history': (store) => readRecord(store, { untilMs: Date.UTC(2030, 0, 1), unitIds: [7] }),
  'the histories of a combination': (store) => readRecord(store, { untilMs: Date.UTC(2030, 0, 1), unitIds: [7, 8, 9] }),
}

describe.each([
  ['without statistics', false],
  ['with statistics of a filled fleet', true],
] as const)('query plans %s', (_, filled) => {
  it.each(Object.entries(questions))('%s: reads no big table whole', (_name, ask) =>
    withStore(async (store) => {
      if (filled) {
        fill(store)
        store.raw.exec('analyze')
      }
      const statements = await statementsOf(store, () => ask(store))
      expect(statements.length).toBeGreaterThan(0)
      for (const sql of statements)
        expect({ sql, scanned: scannedTables(store, sql).filter((table) => big.includes(table)) }).toEqual({
          sql,
          scanned: [],
        })
    }),
  )

  it('which sensors of the fleet are silent: reads readings of those alone, in three questions', () =>
    withStore(async (store) => {
      if (filled) {
        fill(store)
        store.raw.exec('analyze')
      }
      const asOf = Date.UTC(2030, 0, 1)
      const statements = await statementsOf(store, () => [heardUntil(store, asOf), readSilences(store, asOf, asOf)])
      expect(statements).toHaveLength(filled ? 3 : 2)
      // One row a mount is the question's own content.
      for (const sql of statements)
        expect({ sql, scanned: scannedTables(store, sql).filter((table) => /^reading/.test(table)) }).toEqual({
          sql,
          scanned: [],
        })
    }))

  it('the page of a day: one question a part, and no evidence read', () =>
    withStore(async (store) => {
      if (filled) {
        fill(store)
        store.raw.exec('analyze')
      }
      const statements = await statementsOf(store, () => readToday(store, {}, Date.UTC(2030, 0, 1)))
      expect(statements.length).toBeLessThan(16)
      for (const sql of statements) {
        const scanned = scannedTables(store, sql).filter((table) => !['finding', 'mount'].includes(table))
        expect({ sql, scanned: scanned.filter((table) => big.includes(table)) }).toEqual({ sql, scanned: [] })
      }
    }))

  it('the Roster: reads none of the tables that grow with the years', () =>
    withStore(async (store) => {
      if (filled) {
        fill(store)
        store.raw.exec('analyze')
      }
      const statements = await statementsOf(store, () => listRoster(store))
      expect(statements).toHaveLength(4)
      // One row a unit, group, finding or mount is the Roster's own content; cells are looked up by sensor.
      for (const sql of statements) {
        const scanned = scannedTables(store, sql)
        for (const table of [
          'reading',
          'reading_pressure',
          'ticket',
          'ticket_weight',
          'calibration',
          'calibration_point',
          'event',
          'battery_change',
          'change_log',
        ])
          expect({ sql, scanned }).not.toMatchObject({ scanned: expect.arrayContaining([table]) })
      }
    }))
})

it('the check itself tells a scan from a search', () =>
  withStore((store) => {
    expect(scannedTables(store, 'select * from "reading" as "r" where "r"."note" = ?')).toEqual(['reading'])
    expect(scannedTables(store, 'select * from "reading" as "r" where "r"."id" = ?')).toEqual([])
  }))
