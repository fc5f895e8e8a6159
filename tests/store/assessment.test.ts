import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { judgeStore } from '#core/store/assessment.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { areJudgementsOf, readBooks } from '#core/store/books.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { fleets, insertFleet } from '#tests/store/random-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const asOf = judgedAt(Date.UTC(2025, 11, 1), 'UTC')

describe('catching up', () => {
  it('stores what judgeStore answers, and nothing of the time before', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, (plan) =>
        withStore(async (store) => {
          await insertFleet(store, plan)
          await catchUp(store, asOf - 400 * 86_400_000)
          await catchUp(store, asOf)
          const { groups: judged, others } = await judgeStore(store, asOf)
          const asked = { groups: [...judged], others }

          const standings = await store.db.selectFrom('group_standing').selectAll().orderBy('group_id').execute()
          expect(standings).toEqual(
            [...asked.groups]
              .sort((a, b) => a.history.groupId - b.history.groupId)
              .map(({ history, trust, current, dueOn, uLimitLb, weighNext }) => ({
                group_id: history.groupId,
                unit_id: history.unitId,
                trust,
                calibration_id: current?.calibration.calibrationId ?? null,
                calibrated_at: current ? toStoredInstant(current.calibration.calibratedAt) : null,
                due_on: dueOn,
                a: current?.line.a ?? null,
                b: current?.line.b ?? null,
                u_a: current?.line.uA ?? null,
                u_b: current?.line.uB ?? null,
                cov_ab: current?.line.covAB ?? null,
                u_limit_lb: uLimitLb,
                judged_for: toStoredInstant(asOf),
                weigh_next: weighNext && JSON.stringify(weighNext),
                weigh_regains: weighNext?.weighings[0]?.regained ?? null,
              })),
          )

          const rows = await store.db.selectFrom('finding').selectAll().orderBy('id').execute()
          const findings = [...asked.groups.flatMap(({ findings }) => findings), ...asked.others]
          // They are stored unit by unit.
          const byUnit = <Row extends { readonly unit_id: number | null }>(found: readonly Row[]) =>
            found.toSorted((a, b) => (a.unit_id ?? Infinity) - (b.unit_id ?? Infinity))
          expect(byUnit(rows.map(({ id: _, numbers, ...row }) => ({ ...row, numbers: JSON.parse(numbers) })))).toEqual(
            byUnit(
              findings.map((finding) => ({
                unit_id: finding.unitId,
                group_id: finding.groupId,
                circuit_id: finding.circuitId,
                scale_id: finding.scaleId,
                ticket_id: finding.ticketId,
                code: finding.code,
                evidence: finding.evidence,
                severity: finding.severity,
                since: finding.since === null ? null : toStoredInstant(finding.since),
                numbers: JSON.parse(JSON.stringify(finding.numbers)),
                variant: finding.variant,
                facts: JSON.stringify(finding.facts),
              })),
            ),
          )
        }),
      ),
      { numRuns: 25 },
    )
  })

  it('does not change the record, and says when it was made', () =>
    withStore(async (store) => {
      const isCurrent = async () => areJudgementsOf(await readBooks(store.db), asOf)
      expect((await readBooks(store.db)).judgedFor).toBeNull()
      await catchUp(store, asOf - 3600_000)
      expect((await readBooks(store.db)).judgedFor).toBe(asOf)
      expect(await isCurrent()).toBe(true)
      await store.db.updateTable('ledger').set({ revision: 1, lines_revision: 1 }).execute()
      expect(await isCurrent()).toBe(false)
      await catchUp(store, asOf)
      expect(await isCurrent()).toBe(true)
      expect((await store.db.selectFrom('ledger').select('revision').executeTakeFirstOrThrow()).revision).toBe(1)
    }))

  it('takes the House Rules of the fleet; a rule of another version stays unread', () =>
    withStore(async (store) => {
      await store.db
        .insertInto('house_rule')
        .values([
          { name: 'maximumAgeDays', value: 30 },
          { name: 'ruleOfTheFuture', value: 1 },
        ])
        .execute()
      const drive = {
        role: 'drive' as const,
        axles: 2,
        firstAxleFt: 18,
        measuredBy: null,
        circuits: [{ airSprings: 4, mounts: [Date.UTC(2024, 0, 1)] }],
      }
      const at = Date.UTC(2025, 9, 1)
      await insertFleet(store, {
        units: [{ kind: 'tractor', groups: [drive] }],
        scales: [{ divisionLb: 20, tolerance: 0.2 }],
        tickets: [
          { scale: 0, at, grossLb: null, groups: [0], missing: false },
          { scale: 0, at, grossLb: null, groups: [0], missing: false },
        ],
        readings: [20, 60].map((psi, i) => ({ at, ticket: i, lift: null, circuits: [{ circuit: 0, psi }] })),
        calibrations: [
          {
            group: 0,
            at,
            voided: false,
            points: [
              [0, 0],
              [1, 1],
            ],
          },
        ],
        events: [],
      })
      // Both tickets carry the same weight: they are put right so that the points make a line such as springs allow.
      for (const [ticket, weight_lb] of [
        [1, 14_000],
        [2, 33_000],
      ] as const)
        await store.db.updateTable('ticket_weight').set({ weight_lb }).where('ticket_id', '=', ticket).execute()
      const [group] = (await judgeStore(store, asOf)).groups
      // Two points that no check has tested are worse than their age.
      expect(group).toMatchObject({ trust: 'doubtful', dueOn: '2025-10-31', ageDays: 61 })
    }))

  it('leaves the old outcome when the record cannot be read', () =>
    withStore(async (store) => {
      await catchUp(store, asOf)
      store.raw.exec('alter table event rename to event_gone')
      await expect(catchUp(store, asOf + 86_400_000)).rejects.toThrow(/no such table: event/)
      expect(areJudgementsOf(await readBooks(store.db), asOf)).toBe(true)
    }))
})
