import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { isSensed } from '#core/evidence/history.ts'
import { readRecord } from '#core/store/histories.ts'
import { fleets, insertFleet } from '#tests/store/random-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const untilMs = Date.UTC(2030, 0, 1)
const runs = { numRuns: 25 }

describe('readRecord', () => {
  it('tells the same of a unit whether it reads the fleet or only that unit', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, (plan) =>
        withStore(async (store) => {
          const units = await insertFleet(store, plan)
          const whole = readRecord(store, { untilMs })
          for (const unitIds of [...units.map((id) => [id]), units, units.slice(0, 2)]) {
            const some = readRecord(store, { untilMs, unitIds })
            expect(some.groups).toEqual(whole.groups.filter(({ unitId }) => unitIds.includes(unitId)))
            expect(some.scales).toEqual(whole.scales)
            const theirs = [...whole.tickets.values()].filter((ticket) =>
              ticket.unitIds.some((id) => unitIds.includes(id)),
            )
            const told = new Set(theirs.map(({ ticketId }) => ticketId))
            expect([...some.tickets.values()].filter(({ ticketId }) => told.has(ticketId))).toEqual(theirs)
            // What a reading of theirs belongs to is known as well, whoever is weighed on it.
            for (const ticket of some.tickets.values()) expect(whole.tickets.get(ticket.ticketId)).toEqual(ticket)
          }
        }),
      ),
      runs,
    )
  })

  it('knows nothing later than the day that is asked about', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, fc.integer({ min: 0, max: 700 }), (plan, days) =>
        withStore(async (store) => {
          await insertFleet(store, plan)
          const day = Date.UTC(2024, 0, 1, 12) + days * 86_400_000
          const then = readRecord(store, { untilMs: day })
          const now = readRecord(store, { untilMs })
          for (const { weighedAt } of then.tickets.values()) expect(weighedAt).toBeLessThanOrEqual(day)
          expect([...then.tickets.values()].length).toBe(
            [...now.tickets.values()].filter(({ weighedAt }) => weighedAt <= day).length,
          )
          for (const [i, group] of then.groups.entries()) {
            const later = now.groups[i]
            if (!later) throw new Error('a group is missing')
            expect(group.observations.map(({ readingId }) => readingId)).toEqual(
              later.observations.filter(({ takenAt }) => takenAt <= day).map(({ readingId }) => readingId),
            )
            expect(group.events).toEqual(later.events.filter(({ happenedAt }) => happenedAt <= day))
            expect(group.calibrations.map(({ calibrationId }) => calibrationId)).toEqual(
              later.calibrations
                .filter(({ calibratedAt }) => calibratedAt <= day)
                .map(({ calibrationId }) => calibrationId),
            )
            expect(group.circuits.map(({ mounts }) => mounts)).toEqual(
              later.circuits.map(({ mounts }) => mounts.filter(({ mountedAt }) => mountedAt <= day)),
            )
          }
        }),
      ),
      runs,
    )
  })

  it('keeps to the rows: every pressure of a sensed group once, in order of time, voided calibrations left out', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, (plan) =>
        withStore(async (store) => {
          await insertFleet(store, plan)
          const { groups } = readRecord(store, { untilMs })
          const sensed = new Set(groups.map(({ groupId }) => groupId))
          const pressures = await store.db
            .selectFrom('reading_pressure as p')
            .innerJoin('circuit as c', 'c.id', 'p.circuit_id')
            .select(['c.group_id', 'p.reading_id', 'p.circuit_id', 'p.psi'])
            .execute()
          let counted = 0
          for (const group of groups) {
            expect(isSensed(group)).toBe(true)
            const times = group.observations.map(({ takenAt }) => takenAt)
            expect(times).toEqual([...times].sort((a, b) => a - b))
            expect(new Set(group.observations.map(({ readingId }) => readingId)).size).toBe(group.observations.length)
            for (const observation of group.observations) {
              for (const [i, { circuitId }] of group.circuits.entries()) {
                const row = pressures.find(
                  ({ reading_id, circuit_id }) => reading_id === observation.readingId && circuit_id === circuitId,
                )
                expect(observation.psi[i]).toBe(row?.psi ?? null)
                if (row) counted += 1
              }
            }
          }
          expect(counted).toBe(pressures.filter(({ group_id }) => sensed.has(group_id)).length)
          const valid = await store.db
            .selectFrom('calibration')
            .select('id')
            .where('voided_at', 'is', null)
            .where('group_id', 'in', [...sensed])
            .execute()
          expect(
            groups.flatMap(({ calibrations }) => calibrations.map(({ calibrationId }) => calibrationId)).sort(),
          ).toEqual(valid.map(({ id }) => id).sort())
        }),
      ),
      runs,
    )
  })

  it('calls a ticket complete only when it carries every group of its units and their steer axle is on record', async () => {
    await withStore(async (store) => {
      const circuits = [{ airSprings: 4, mounts: [] }]
      const steer = { role: 'steer' as const, axles: 1, firstAxleFt: 0, measuredBy: 'estimate' as const, circuits: [] }
      const drive = { role: 'drive' as const, axles: 2, firstAxleFt: 18, measuredBy: 'circuit' as const, circuits }
      const trailer = { role: 'trailer' as const, axles: 2, firstAxleFt: 36, measuredBy: 'circuit' as const, circuits }
      const ticket = (groups: number[]) => ({
        scale: 0,
        at: Date.UTC(2025, 0, 1),
        grossLb: 80_000,
        groups,
        missing: false,
      })
      await insertFleet(store, {
        // Groups 0 and 1 are a tractor's, 2 a trailer's, 3 a tractor's whose steer axle nobody entered.
        units: [
          { kind: 'tractor', groups: [steer, drive] },
          { kind: 'trailer', groups: [trailer] },
          { kind: 'tractor', groups: [drive] },
        ],
        scales: [{ divisionLb: 20, tolerance: null }],
        tickets: [ticket([0, 1, 2]), ticket([1, 2]), ticket([2]), ticket([2, 3]), ticket([0, 1])],
        readings: [],
        calibrations: [],
        events: [],
      })
      const { tickets } = readRecord(store, { untilMs })
      expect(Object.fromEntries([...tickets.values()].map(({ number, complete }) => [number, complete]))).toEqual({
        N0: true,
        N1: false,
        N2: true,
        N3: false,
        N4: true,
      })
    })
  })
})
