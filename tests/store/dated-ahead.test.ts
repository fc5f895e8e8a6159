import { describe, expect, it } from 'vitest'
import { isCurrent, readBooks } from '#core/store/books.ts'
import { catchUp, catchUpTouched } from '#core/store/catch-up.ts'
import { tallyByMonth, tallyByUnit } from '#core/store/heavy-summary.ts'
import type { Store } from '#core/store/open.ts'
import { weighEach } from '#core/store/weigh-each.ts'
import { limitKinds } from '#core/weight/heavy.ts'
import { dayOf } from '#core/words/day.ts'
import { dayMs, toStoredInstant } from '#core/words/instant.ts'
import { addRow } from '#tests/fleet/rows.ts'
import { insertTrips } from '#tests/store/loaded-fleet.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const now = Date.UTC(2025, 11, 1, 12)
const ahead = 3 * dayMs

/** Heavy loads on record, and a check dated ahead by three days that says something else of the drive group. */
async function insertWithCheckAhead(store: Store): Promise<void> {
  await insertTrips(
    store,
    Array.from({ length: 8 }, (_, i) => ({
      tractor: 0,
      trailer: 0,
      drivePsi: 40 + 5 * i,
      tandemPsi: 40 + 5 * i,
      day: i,
      ticket: i < 6,
      isDriveRead: true,
    })),
  )
  const at = toStoredInstant(now + ahead)
  const ticketId = addRow(store, 'ticket', { scale_id: 1, number: 'ahead', weighed_at: at })
  addRow(store, 'ticket_weight', { ticket_id: ticketId, unit_id: 1, group_id: 2, weight_lb: 35_000 })
  const readingId = addRow(store, 'reading', { name: 'ahead', taken_at: at, ticket_id: ticketId })
  addRow(store, 'reading_pressure', { reading_id: readingId, circuit_id: 1, psi: 70 })
  await noteChange(store, [1])
}

/** The best weights of loads that are not dated ahead themselves, without ids. */
const heavyBy = async ({ db }: Store, at: number) =>
  (await db.selectFrom('heavy').selectAll().where('weighed_at', '<=', toStoredInstant(at)).execute())
    .map(({ id: _, said_verdict: __, said_weight_lb: ___, said_u_lb: ____, ...row }) => JSON.stringify(row))
    .sort()

const spanOn = (at: number) => ({ kinds: limitKinds, zone: 'UTC', today: dayOf(at, 'UTC') })

async function weightsByName(store: Store): Promise<Map<string, number | undefined>> {
  const weights = new Map<string, number | undefined>()
  const read = weighEach(store, ({ reading, weights: { groups } }) => {
    const drive = groups.find(({ weighing }) => weighing.groupId === 2)?.weighing
    return [reading.name, drive?.weighed ? drive.weightLb : undefined] as const
  })
  for await (const some of read) for (const [name, weightLb] of some) weights.set(name, weightLb)
  return weights
}

describe('what is dated ahead', () => {
  it('counts for no weight, and does once its day has come', () =>
    withStore(async (store) => {
      await insertWithCheckAhead(store)
      await catchUp(store, now)
      const before = await heavyBy(store, now)
      expect(before.length).toBeGreaterThan(0)
      store.raw.exec('update ticket_weight set weight_lb = 20000 where ticket_id = (select max(id) from ticket)')
      await noteChange(store, [1])
      await catchUpTouched(store, now)
      expect(await heavyBy(store, now)).toEqual(before)

      expect(await isCurrent(store.db, now + ahead)).toBe(false)
      await catchUp(store, now + ahead)
      expect(await isCurrent(store.db, now + ahead)).toBe(true)
      expect(await heavyBy(store, now)).not.toEqual(before)

      // Where the clock was only set ahead and goes back, nothing of it is left.
      await catchUp(store, now)
      expect(await heavyBy(store, now)).toEqual(before)
    }))

  it('is listed in the Heavy Log, but in none of its figures before its day', () =>
    withStore(async (store) => {
      await insertWithCheckAhead(store)
      await catchUp(store, now)
      const listed = await store.db
        .selectFrom('heavy')
        .selectAll()
        .where('weighed_at', '>', toStoredInstant(now))
        .execute()
      expect(listed.length).toBeGreaterThan(0)
      const months = async (at: number) => (await tallyByMonth(store.db, spanOn(at))).map(({ month }) => month)
      expect(await months(now)).not.toContain('2025-12')
      expect(await months(now + ahead)).toContain('2025-12')
      const [first] = await tallyByUnit(store.db, { ...spanOn(now), unitId: 1 })
      const [later] = await tallyByUnit(store.db, { ...spanOn(now + ahead), unitId: 1 })
      expect((later?.weighings ?? 0) - (first?.weighings ?? 0)).toBe(1)
    }))

  it('weighs units anew as the day turns only where something lies between', () =>
    withStore(async (store) => {
      await insertWithCheckAhead(store)
      await catchUp(store, now)
      const { weighedFor } = await readBooks(store.db)
      await catchUpTouched(store, now + dayMs)
      const next = await readBooks(store.db)
      expect(next.weighedFor).toBe(weighedFor + dayMs)
      expect([next.unitsToWeigh, next.weightsCurrent]).toEqual([0, true])
    }))

  it('stops counting in a file whose weights an older version made by all on record', () =>
    withStore(async (store) => {
      await insertWithCheckAhead(store)
      await catchUp(store, now)
      const rightly = await heavyBy(store, now)
      await catchUp(store, now + ahead)
      store.raw.exec("update books set weighed_for = '2200-01-01T00:00:00.000Z'")
      expect(await isCurrent(store.db, now)).toBe(false)
      await catchUp(store, now)
      expect(await heavyBy(store, now)).toEqual(rightly)
    }))
})

describe('a reading dated ahead', () => {
  it('is weighed all the same where each reading is asked about', () =>
    withStore(async (store) => {
      await insertWithCheckAhead(store)
      // By the clock of the suite that check is in the past: it is dated after any clock here.
      store.raw.exec("update ticket set weighed_at = '2190-01-01T00:00:00.000Z' where number = 'ahead'")
      store.raw.exec("update reading set taken_at = '2190-01-01T00:00:00.000Z' where name = 'ahead'")
      const weights = await weightsByName(store)
      expect(weights.size).toBe(9)
      expect([...weights.values()]).not.toContain(undefined)
      store.raw.exec('update ticket_weight set weight_lb = 20000 where ticket_id = (select max(id) from ticket)')
      const otherwise = await weightsByName(store)
      expect(otherwise.get('ahead')).not.toBe(weights.get('ahead'))
      weights.delete('ahead')
      otherwise.delete('ahead')
      expect(otherwise).toEqual(weights)
    }))
})
