import { describe, expect, it } from 'vitest'
import type { FindingCode } from '#core/findings/finding.ts'
import { dismissalMark, findingKey } from '#core/findings/set-aside.ts'
import { areJudgementsOf, readBooks } from '#core/store/books.ts'
import { catchUp, catchUpTouched } from '#core/store/catch-up.ts'
import {
  type Dismissal,
  dismissFinding,
  findStoredFinding,
  listDismissals,
  readDismissalMarks,
} from '#core/store/dismissals.ts'
import type { Store } from '#core/store/open.ts'
import { saidOf } from '#core/words/sentences/findings.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { insertFleet } from '#tests/store/random-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { addRow } from '#tests/fleet/rows.ts'

const asOf = Date.UTC(2025, 11, 1)
const calibrated = Date.UTC(2025, 2, 1)
const day = 86_400_000

/** A tractor's drive group on a short line, whose pressures and weights make `short-span` and `two-point-line`. */
async function shortLine(store: Store): Promise<number> {
  const drive = {
    role: 'drive' as const,
    axles: 2,
    firstAxleFt: 18,
    measuredBy: 'circuit' as const,
    circuits: [{ airSprings: 4, mounts: [Date.UTC(2024, 0, 1)] }],
  }
  const ticket = (at: number) => ({ scale: 0, at, grossLb: null, groups: [0], missing: false })
  const [unit] = await insertFleet(store, {
    units: [{ kind: 'tractor', groups: [drive] }],
    scales: [{ divisionLb: 20, tolerance: 0.2 }],
    tickets: [ticket(calibrated), ticket(calibrated + 60_000)],
    readings: [50, 60].map((psi, i) => ({
      at: calibrated + i * 60_000,
      ticket: i,
      lift: null,
      circuits: [{ circuit: 0, psi }],
    })),
    calibrations: [
      {
        group: 0,
        at: calibrated + day,
        voided: false,
        points: [
          [0, 0],
          [1, 1],
        ],
      },
    ],
    events: [],
  })
  await store.db.updateTable('ticket_weight').set({ weight_lb: 29_000 }).where('ticket_id', '=', 1).execute()
  await store.db.updateTable('ticket_weight').set({ weight_lb: 34_000 }).where('ticket_id', '=', 2).execute()
  await catchUp(store, asOf)
  return unit as number
}

const codesOf = async ({ db }: Store) =>
  (await db.selectFrom('finding').select('code').orderBy('id').execute()).map(({ code }) => code)

async function setAside(store: Store, unit: number, code: FindingCode): Promise<Dismissal> {
  const row = await store.db.selectFrom('finding').selectAll().where('code', '=', code).executeTakeFirstOrThrow()
  const dismissal = {
    findingKey: findingKey({
      code,
      unitId: row.unit_id,
      groupId: row.group_id,
      circuitId: row.circuit_id,
      scaleId: row.scale_id,
      ticketId: row.ticket_id,
    }),
    evidence: row.evidence,
    reason: 'the pit is closed until June',
    by: 'R. Roe',
    at: '2025-12-01T08:00:00.000Z',
  }
  await store.db.transaction().execute((db) => dismissFinding(db, unit, saidOf(row), dismissal))
  return dismissal
}

describe('a finding set aside in the file', () => {
  it('is left out of the next judgement of its unit and of the fleet, and no other', () =>
    withStore(async (store) => {
      const unit = await shortLine(store)
      const before = await codesOf(store)
      expect(before).toEqual(expect.arrayContaining(['short-span', 'two-point-line']))
      await setAside(store, unit, 'short-span')
      const without = before.filter((code) => code !== 'short-span')
      await catchUpTouched(store, asOf)
      expect(await codesOf(store)).toEqual(without)
      await catchUp(store, asOf + 30 * day)
      expect(await codesOf(store)).toEqual(without)
    }))

  it('stays away when the group is weighed again: its line is what it rests on', () =>
    withStore(async (store) => {
      const unit = await shortLine(store)
      await setAside(store, unit, 'short-span')
      const at = new Date(asOf - day).toISOString()
      const ticketId = addRow(store, 'ticket', { scale_id: 1, number: 'N9', weighed_at: at })
      addRow(store, 'ticket_weight', { ticket_id: ticketId, unit_id: unit, group_id: 1, weight_lb: 31_500 })
      const reading = { name: 'R9', taken_at: at, ticket_id: ticketId, elevation_ft: 800 }
      addRow(store, 'reading_pressure', { reading_id: addRow(store, 'reading', reading), circuit_id: 1, psi: 55 })
      await noteChange(store, [unit])
      await catchUpTouched(store, asOf)
      expect(await codesOf(store)).not.toContain('short-span')
    }))

  it('comes back when what it rests on is corrected', () =>
    withStore(async (store) => {
      const unit = await shortLine(store)
      await setAside(store, unit, 'short-span')
      await store.db
        .updateTable('ticket_weight')
        .set(({ eb }) => ({ weight_lb: eb('weight_lb', '+', 20) }))
        .where('ticket_id', '=', 1)
        .execute()
      await noteChange(store, [unit])
      await catchUpTouched(store, asOf)
      expect(await codesOf(store)).toContain('short-span')
    }))

  it('is told in the change log of its unit, with who, when, why and what it said; the record counts it as a change', () =>
    withStore(async (store) => {
      const unit = await shortLine(store)
      const { findingKey: key } = await setAside(store, unit, 'short-span')
      expect(areJudgementsOf(await readBooks(store.db), asOf)).toBe(false)
      const [told] = await listDismissals(store.db, unit)
      expect(told).toMatchObject({
        changed_at: '2025-12-01T08:00:00.000Z',
        changed_by: 'R. Roe',
        subject_key: key,
        reason: 'the pit is closed until June',
      })
      expect(JSON.parse(told?.old_value ?? '{}')).toEqual({
        said: { code: 'short-span', variant: 'span', facts: { spanLb: 5000, askedPercent: 35, limitLb: 34_000 } },
        message: expect.stringMatching(/^The calibration weights lie only 5,000 lb apart/) as string,
      })
      expect(await listDismissals(store.db, unit + 1)).toEqual([])
    }))

  it('is listed newest first', () =>
    withStore(async (store) => {
      const unit = await shortLine(store)
      await setAside(store, unit, 'short-span')
      const { db } = store
      await db.transaction().execute((write) =>
        dismissFinding(
          write,
          unit,
          { code: 'two-point-line', variant: 'line', facts: { calibratedAt: calibrated } },
          {
            findingKey: 'two-point-line|1|1|||',
            evidence: 'x',
            reason: 'later',
            by: 'R. Roe',
            at: '2025-12-02T08:00:00.000Z',
          },
        ),
      )
      expect((await listDismissals(db, unit)).map(({ reason }) => reason)).toEqual([
        'later',
        'the pit is closed until June',
      ])
    }))

  it('keeps its mark with the evidence it was set aside on', () =>
    withStore(async (store) => {
      expect(await readDismissalMarks(store.db)).toEqual(new Set())
      const unit = await shortLine(store)
      const { findingKey: key, evidence } = await setAside(store, unit, 'short-span')
      expect(evidence).not.toBe('')
      expect(await readDismissalMarks(store.db)).toEqual(new Set([dismissalMark(key, evidence)]))
    }))

  it('leaves nothing behind when it cannot be written down whole', () =>
    withStore(async (store) => {
      const unit = await shortLine(store)
      store.raw.exec('alter table change_log rename to change_log_gone')
      await expect(setAside(store, unit, 'short-span')).rejects.toThrow(/change_log/)
      store.raw.exec('alter table change_log_gone rename to change_log')
      expect(await readDismissalMarks(store.db)).toEqual(new Set())
    }))
})

describe('findStoredFinding', () => {
  it('finds a finding by its row, until a judgement replaces it', () =>
    withStore(async (store) => {
      await shortLine(store)
      const { id } = await store.db
        .selectFrom('finding')
        .select('id')
        .where('code', '=', 'short-span')
        .executeTakeFirstOrThrow()
      expect(await findStoredFinding(store.db, id)).toMatchObject({ code: 'short-span', severity: 'warn' })
      expect(await findStoredFinding(store.db, 999)).toBeUndefined()
    }))
})
