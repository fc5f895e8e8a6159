import { describe, expect, it } from 'vitest'
import { batteryFindings } from '#core/cells/fleet-cells.ts'
import type { CellHistory } from '#core/cells/lives.ts'
import type { FindingCode } from '#core/findings/finding.ts'
import { findingKey } from '#core/findings/set-aside.ts'
import { judgeStore } from '#core/store/assessment.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { readEvidence, readStoredEvidence } from '#core/store/bench.ts'
import { catchUp, catchUpTouched } from '#core/store/catch-up.ts'
import { readFleetCells, readSensorRecords } from '#core/store/cells.ts'
import { dismissFinding } from '#core/store/dismissals.ts'
import type { Store } from '#core/store/open.ts'
import { addPlannedVisits, listPlannedVisits, removePlannedVisit } from '#core/store/visits.ts'
import { addDays, dayOf, storedDay } from '#core/words/day.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { saidOf } from '#core/words/sentences/findings.ts'
import { insertSimulatedFleet } from '#tests/store/battery-store.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { simulateFleet } from '#tests/unit/battery-fleet.ts'
import { some } from '#tests/some.ts'

const dayMs = 86_400_000
const rules = defaultHouseRules
const fleet = simulateFleet({
  seed: 5,
  sensors: 60,
  shape: 3,
  scheduledShare: 0.4,
  scheduledAt: [0.5, 0.9],
  days: 1461,
  conditions: [
    { cell: 'CR2450', reportEveryS: 300, lifeDays: 700, share: 1 },
    { cell: 'CR2477', reportEveryS: 60, lifeDays: 600, share: 1 },
  ],
})
const { asOf } = fleet

/** One sensor on a unit of its own. */
const one = (part: Partial<CellHistory>): CellHistory => ({
  serial: 'S0',
  cell: 'CR2450',
  reportEveryS: 300,
  mounts: [{ mountedAt: asOf - 1000 * dayMs, removedAt: null }],
  changes: [],
  ...part,
})
const storedFindings = (store: Store) =>
  store.db.selectFrom('finding').selectAll().where('code', 'like', 'battery%').orderBy('id').execute()

describe('the cells of a stored fleet', () => {
  it('are those of the record, read as they were written', () =>
    withStore((store) => {
      insertSimulatedFleet(store, fleet)
      const cells = readFleetCells(store, rules, asOf)
      expect(
        [...cells.lives].sort((p, q) => p.serial.localeCompare(q.serial) || p.installedAt - q.installedAt),
      ).toEqual([...fleet.lives].sort((p, q) => p.serial.localeCompare(q.serial) || p.installedAt - q.installedAt))
      expect(cells.mounted).toHaveLength(60)
      expect(cells.mounted[0]?.seat).toMatchObject({ unit: 'U-10000', group: 'G0', circuit: 'main', retired: false })
    }))

  it('know nothing later than their day', () =>
    withStore((store) => {
      insertSimulatedFleet(store, fleet)
      const until = asOf - 500 * dayMs
      const records = readSensorRecords(store, until, until)
      expect(records.flatMap(({ mounts }) => mounts).length).toBeGreaterThan(0)
      expect(records.flatMap(({ changes }) => changes).length).toBeGreaterThan(0)
      for (const { mounts, changes } of records) {
        for (const { mountedAt } of mounts) expect(mountedAt).toBeLessThanOrEqual(until)
        for (const { changedAt } of changes) expect(changedAt).toBeLessThanOrEqual(until)
      }
      expect(
        readFleetCells(store, rules, until)
          .lives.filter(({ endedBy }) => endedBy !== 'in service')
          .every(({ endedAt }) => endedAt <= until),
      ).toBe(true)
    }))

  it('say which cell has no recorded change, which sensor sits nowhere, and what contradicts itself', () =>
    withStore((store) => {
      const mountedAt = asOf - 1000 * dayMs
      insertSimulatedFleet(store, {
        histories: [
          one({ serial: 'bare' }),
          one({ serial: 'gone', mounts: [{ mountedAt, removedAt: asOf - dayMs }] }),
          one({
            serial: 'twice',
            changes: [
              { changedAt: mountedAt, reason: 'new', cell: null },
              { changedAt: mountedAt + 10 * dayMs, reason: 'new', cell: null },
            ],
          }),
        ],
      })
      const { mounted, issues } = readFleetCells(store, rules, asOf)
      expect(mounted.map(({ outlook }) => [outlook.serial, outlook.installAssumed, outlook.installedAt])).toEqual([
        ['bare', true, mountedAt],
        ['twice', false, mountedAt + 10 * dayMs],
      ])
      expect(issues).toMatchObject([{ code: 'two-cells-at-once', serial: 'twice' }])
    }))

  it('are judged before the unit’s next planned visit, not before one of today or of the past', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, { histories: [one({})] })
      const visits = (days: number[]) =>
        store.db.transaction().execute((db) =>
          addPlannedVisits(
            db,
            days.map((day) => ({ unitId: 1, yardId: null, on: addDays(dayOf(asOf, 'UTC'), day) })),
            'P. Quist',
            toStoredInstant(asOf),
          ),
        )
      await visits([-3, 0])
      expect(readFleetCells(store, rules, asOf).mounted[0]?.outlook).toMatchObject({ visitAssumed: true })
      await visits([9, 4])
      const soon = readFleetCells(store, rules, asOf).mounted[0]?.outlook
      expect(soon).toMatchObject({ visitAssumed: false, nextVisitAt: Math.floor(asOf / dayMs + 4) * dayMs })
      expect(
        (await listPlannedVisits(store.db, dayOf(asOf, 'UTC'))).map(({ visit_on, unit }) => [unit, visit_on]),
      ).toHaveLength(3)
    }))
})

describe('findings about cells', () => {
  it('stand among the stored ones and in the judgement, and touch no trust', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, fleet)
      await catchUp(store, asOf)
      const expected = batteryFindings(readFleetCells(store, rules, judgedAt(asOf, 'UTC')).mounted, rules)
      expect(expected.length).toBeGreaterThan(5)
      const inOrder = (rows: readonly unknown[]) => rows.map((row) => JSON.stringify(row)).sort()
      expect(
        inOrder(
          (await storedFindings(store)).map(({ code, unit_id, circuit_id, variant, facts }) => [
            code,
            unit_id,
            circuit_id,
            variant,
            JSON.parse(facts),
          ]),
        ),
      ).toEqual(
        inOrder(
          expected.map(({ code, unitId, circuitId, variant, facts }) => [code, unitId, circuitId, variant, facts]),
        ),
      )
      const judged = await judgeStore(store, judgedAt(asOf, 'UTC'))
      expect(judged.others.filter(({ code }) => code.startsWith('battery'))).toEqual(expected)
      // No group has a line: what the cells say changes nothing about that.
      for (const { trust, findings } of some(judged.groups)) {
        expect(trust).toBe('uncalibrated')
        expect(findings.every(({ code }) => !code.startsWith('battery'))).toBe(true)
      }
    }))

  it('of one unit go when its cell was swapped, the others stay', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, fleet)
      await catchUp(store, asOf)
      const before = await storedFindings(store)
      const unitId = before[0]?.unit_id as number
      const { raw } = store
      raw
        .prepare(
          "insert into battery_change (sensor_id, changed_at, reason) select m.sensor_id, ?, 'scheduled' from mount m join circuit c on c.id = m.circuit_id join axle_group g on g.id = c.group_id where g.unit_id = ?",
        )
        .run(toStoredInstant(asOf - 1000), unitId)
      await noteChange(store, [unitId])
      await catchUpTouched(store, asOf)
      const after = await storedFindings(store)
      expect(after.filter(({ unit_id }) => unit_id === unitId)).toEqual([])
      expect(after).toEqual(before.filter(({ unit_id }) => unit_id !== unitId))
    }))

  it('can be set aside, until the cell is another', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, {
        histories: [one({ mounts: [{ mountedAt: asOf - 3000 * dayMs, removedAt: null }] })],
      })
      await catchUp(store, asOf)
      const [found] = await storedFindings(store)
      if (!found) throw new Error('a cell of eight years is due')
      const key = findingKey({
        code: found.code as FindingCode,
        unitId: found.unit_id,
        groupId: found.group_id,
        circuitId: found.circuit_id,
        scaleId: null,
        ticketId: null,
      })
      await store.db.transaction().execute((db) =>
        dismissFinding(db, found.unit_id, saidOf(found), {
          findingKey: key,
          evidence: found.evidence,
          reason: 'unit is parked',
          by: 'P. Quist',
          at: toStoredInstant(asOf),
        }),
      )
      await catchUp(store, asOf)
      expect(await storedFindings(store)).toEqual([])
    }))

  it('are not given for a unit that is retired', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, {
        histories: [one({ mounts: [{ mountedAt: asOf - 3000 * dayMs, removedAt: null }] })],
      })
      store.raw.exec("update unit set service_state = 'retired'")
      expect(batteryFindings(readFleetCells(store, rules, asOf).mounted, rules)).toEqual([])
      expect(readFleetCells(store, rules, asOf).mounted).toHaveLength(1)
      expect(readStoredEvidence(store).places.size).toBe(0)
    }))
})

describe('the evidence for the bench', () => {
  it('is the same judged anew as read from a current assessment', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, fleet)
      const judged = await readEvidence(store, rules, asOf)
      await catchUp(store, asOf)
      const stored = await readEvidence(store, rules, asOf)
      expect(stored.dues).toEqual(judged.dues)
      expect(stored.dues).toHaveLength(60)
      expect(stored.findings.filter(({ code }) => !code.startsWith('battery'))).toEqual(judged.findings)
    }))
})

describe('planned visits', () => {
  it('are taken down when they are added, changed and removed; one that is there already is not', () =>
    withStore(async (store) => {
      insertSimulatedFleet(store, { histories: [one({})] })
      const at = toStoredInstant(asOf)
      const on = storedDay('2026-05-04')
      const add = (yardId: number | null) =>
        store.db.transaction().execute((db) => addPlannedVisits(db, [{ unitId: 1, yardId, on }], 'P. Quist', at))
      expect([await add(null), await add(null), await add(2)]).toEqual([1, 0, 1])
      const [visit] = await listPlannedVisits(store.db, dayOf(asOf, 'UTC'))
      expect(visit).toMatchObject({ unit: 'U-10000', yard: 'East yard', visit_on: on })
      expect(
        await store.db.transaction().execute((db) => removePlannedVisit(db, visit?.id as number, 'M. Adair', at)),
      ).toBe(1)
      expect(
        await store.db.transaction().execute((db) => removePlannedVisit(db, visit?.id as number, 'M. Adair', at)),
      ).toBeUndefined()
      const log = await store.db
        .selectFrom('change_log')
        .select(['changed_by', 'subject', 'subject_key', 'action', 'unit_id'])
        .orderBy('id')
        .execute()
      expect(log.map(({ action, changed_by }) => [action, changed_by])).toEqual([
        ['added', 'P. Quist'],
        ['changed', 'P. Quist'],
        ['removed', 'M. Adair'],
      ])
      expect(log[0]).toMatchObject({ subject: 'planned visit', subject_key: on, unit_id: 1 })
      // One for the fleet as it was stored, one for each change.
      expect((await store.db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()).revision).toBe(4)
    }))
})
