import { describe, expect, it } from 'vitest'
import type { Trust } from '#core/findings/finding.ts'
import type { Store } from '#core/store/open.ts'
import { listRoster } from '#core/store/roster.ts'
import { insertFleet } from '#tests/store/random-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { addRow } from '#tests/fleet/rows.ts'

const group = (mounts: number[] = []) => ({
  role: 'drive' as const,
  axles: 2,
  firstAxleFt: 18,
  measuredBy: 'circuit' as const,
  circuits: [{ airSprings: 4, mounts }],
})
const empty = { scales: [{ divisionLb: 20, tolerance: null }], tickets: [], readings: [], calibrations: [], events: [] }

const standing = (
  store: Store,
  groupId: number,
  unitId: number,
  trust: Trust,
  calibratedAt: string | null,
  dueOn: string | null,
  uLimitLb: number | null,
) =>
  addRow(store, 'group_standing', {
    group_id: groupId,
    unit_id: unitId,
    trust,
    calibrated_at: calibratedAt,
    due_on: dueOn,
    u_limit_lb: uLimitLb,
  })

const finding = (store: Store, unitId: number | null, code: string, severity: 'stop' | 'warn' | 'note') =>
  addRow(store, 'finding', { unit_id: unitId, code, severity })

describe('listRoster', () => {
  it('lists every unit by number, also one without a sensed group', () =>
    withStore(async (store) => {
      await insertFleet(store, {
        ...empty,
        units: [
          { kind: 'tractor', groups: [group()] },
          { kind: 'trailer', groups: [group()] },
        ],
      })
      expect(
        listRoster(store).map(({ unit, kind, trust, groups, worstFinding, findingCodes, dueOn, cellSince }) => ({
          unit,
          kind,
          trust,
          groups,
          worstFinding,
          findingCodes,
          dueOn,
          cellSince,
        })),
      ).toEqual([
        {
          unit: 'U-8',
          kind: 'trailer',
          trust: null,
          groups: 0,
          worstFinding: null,
          findingCodes: [],
          dueOn: null,
          cellSince: null,
        },
        {
          unit: 'U-9',
          kind: 'tractor',
          trust: null,
          groups: 0,
          worstFinding: null,
          findingCodes: [],
          dueOn: null,
          cellSince: null,
        },
      ])
    }))

  it('takes of its groups the worst trust, the earliest dates and the largest uncertainty', () =>
    withStore(async (store) => {
      const [first, second] = (await insertFleet(store, {
        ...empty,
        units: [
          { kind: 'tractor', groups: [group(), group(), group()] },
          { kind: 'trailer', groups: [group()] },
        ],
      })) as [number, number]
      await standing(store, 1, first, 'sound', '2025-05-01T00:00:00.000Z', '2026-05-01', 180)
      await standing(store, 2, first, 'overdue', '2024-05-01T00:00:00.000Z', '2025-05-01', 240)
      await standing(store, 3, first, 'due soon', '2024-12-01T00:00:00.000Z', '2025-12-01', 200)
      await standing(store, 4, second, 'uncalibrated', null, null, null)
      const [trailer, tractor] = listRoster(store)
      expect(tractor).toMatchObject({
        unit: 'U-9',
        trust: 'overdue',
        groups: 3,
        calibratedAt: '2024-05-01T00:00:00.000Z',
        dueOn: '2025-05-01',
        uLimitLb: 240,
      })
      expect(trailer).toMatchObject({
        unit: 'U-8',
        trust: 'uncalibrated',
        groups: 1,
        calibratedAt: null,
        dueOn: null,
        uLimitLb: null,
      })
    }))

  it('does not let a group without a line hide the dates of the others', () =>
    withStore(async (store) => {
      const [unit] = (await insertFleet(store, {
        ...empty,
        units: [{ kind: 'tractor', groups: [group(), group()] }],
      })) as [number]
      await standing(store, 1, unit, 'uncalibrated', null, null, null)
      await standing(store, 2, unit, 'sound', '2025-05-01T00:00:00.000Z', '2026-05-01', 180)
      expect(listRoster(store)[0]).toMatchObject({
        trust: 'uncalibrated',
        groups: 2,
        calibratedAt: '2025-05-01T00:00:00.000Z',
        dueOn: '2026-05-01',
        uLimitLb: 180,
      })
    }))

  it('names each kind of finding once, worst first, and leaves out what is about no unit', () =>
    withStore(async (store) => {
      const [unit] = (await insertFleet(store, { ...empty, units: [{ kind: 'tractor', groups: [group()] }] })) as [
        number,
      ]
      await finding(store, unit, 'two-point-line', 'note')
      await finding(store, unit, 'short-span', 'warn')
      await finding(store, unit, 'short-span', 'warn')
      await finding(store, unit, 'event-since-calibration', 'stop')
      await finding(store, null, 'ticket-sum-mismatch', 'warn')
      expect(listRoster(store)[0]).toMatchObject({
        worstFinding: 'event-since-calibration',
        findingCodes: ['event-since-calibration', 'short-span', 'two-point-line'],
      })
    }))

  it('tells the oldest cell among the sensors that are mounted now, by each sensor its newest change', () =>
    withStore(async (store) => {
      const mounted = Date.UTC(2024, 0, 1)
      await insertFleet(store, {
        ...empty,
        units: [{ kind: 'tractor', groups: [group([mounted]), group([mounted]), group([mounted])] }],
      })
      const change = (sensorId: number, day: string) =>
        store.db
          .insertInto('battery_change')
          .values({ sensor_id: sensorId, changed_at: `${day}T00:00:00.000Z`, reason: 'new', cell: null })
          .execute()
      await change(1, '2024-01-01')
      await change(1, '2025-03-01')
      await change(2, '2024-09-01')
      await change(3, '2023-01-01')
      await store.db
        .updateTable('mount')
        .set({ removed_at: '2025-01-01T00:00:00.000Z' })
        .where('sensor_id', '=', 3)
        .execute()
      expect(listRoster(store)[0]?.cellSince).toBe('2024-09-01T00:00:00.000Z')
    }))

  it('says where a unit belongs and whether it is retired', () =>
    withStore(async (store) => {
      await insertFleet(store, { ...empty, units: [{ kind: 'truck', groups: [group()] }] })
      await store.db.insertInto('yard').values({ name: 'North yard', elevation_ft: 800 }).execute()
      await store.db
        .updateTable('unit')
        .set({ yard_id: 1, service_state: 'retired', make: 'Halden', model: 'K2', model_year: 2021 })
        .execute()
      expect(listRoster(store)[0]).toMatchObject({
        yard: 'North yard',
        retired: true,
        make: 'Halden',
        model: 'K2',
        modelYear: 2021,
      })
    }))
})
