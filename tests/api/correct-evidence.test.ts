import { safe } from '@orpc/client'
import { beforeAll, describe, expect, it } from 'vitest'
import { timeNow } from '#core/store/clock.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, ways } from '#tests/api/windows.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { hourOfVisit, typedReading, typedTicket, weighNow } from '#tests/fleet/typed.ts'

const at = (hour: number) => hourOfVisit(timeNow(), hour)
const psi = [20, 45, 70]
/** drive = 2,000 + 400 psi, but the third ticket was typed 3,600 lb too light. */
const typedLb = [10_000, 20_000, 26_400]
const tickets = psi.map((pressure, i) =>
  typedTicket(
    { ticket: `8000${i}`, weighedAt: at(i) },
    { 'T-101 drive': typedLb[i] as number },
    typedReading({ 'T-101 drive main': pressure }, { lift: 'none' }),
  ),
)
const column = 'T-101 drive_lb'

describe.each(ways)('a correction over %s', (way) => {
  let app: RunningApp
  let client: Client
  /** A reading that stands on no ticket and is weighed by the line. */
  let checked = ''
  beforeAll(async () => {
    const window = await openWindow(await runHeavyApp(), way)
    ;({ app, client } = window)
    await client.weighIn.save({
      units: ['T-101'],
      scale: 'Salt Bend Yard',
      localZone: null,
      tickets,
      calibrate: [{ unit: 'T-101', group: 'drive' }],
      by: 'Ada',
    })
    checked = (await client.weigh.save(weighNow(at(4), { 'T-101 drive main': 82 }, { lift: 'none' }))).reading
    await app.context.fleet.use((store) => catchUp(store, timeNow()))
    return window.end
  })

  const ticketRow = async (number: string) => {
    const row = (await client.evidence.tickets({ text: number })).rows[0]
    if (!row) throw new Error(`no ticket ${number}`)
    return row
  }
  const line = async () => {
    const drive = (await client.unit.sheet({ unit: 'T-101' })).groups.find(({ name }) => name === 'drive')
    return { drive, current: drive?.calibrations.find(({ current }) => current) }
  }
  /** What the line reads of the drive group, and what all evidence says, where either is heavy. */
  const driveLb = async () =>
    (
      await app.context.fleet.use(({ db }) =>
        db
          .selectFrom('heavy as h')
          .innerJoin('reading as r', 'r.id', 'h.reading_id')
          .select(['h.weight_lb', 'h.line_weight_lb'])
          .where('r.name', '=', checked)
          .where('h.limit_kind', '=', 'group')
          .execute(),
      )
    ).map((row) => ({ line: Math.round(row.line_weight_lb ?? 0), best: row.weight_lb }))
  const right = async () => ({
    kind: 'ticket' as const,
    id: (await ticketRow('80002')).id,
    was: { [column]: 26_400 },
    now: { [column]: 30_000 },
    reason: 'A digit was misread',
    by: 'Ben',
  })

  it('tells what would follow and stores nothing of it; then line, findings, weights and log follow', async () => {
    const before = await line()
    expect(before.current?.line?.b).not.toBeCloseTo(400, 1)
    const mistyped = await driveLb()
    expect(mistyped.every(({ line: lb }) => lb < 32_000)).toBe(true)
    const tried = await client.evidence.correct({ ...(await right()), reason: '', tryOut: true })
    expect(tried.lines).toHaveLength(1)
    expect(tried.lines[0]).toMatchObject({ unit: 'T-101', group: 'drive', limitLb: 34_000 })
    expect(tried.lines[0]?.after.b).toBeCloseTo(400, 8)
    expect((await line()).current?.line).toEqual(before.current?.line)
    expect((await ticketRow('80002')).weights).toEqual([{ place: 'T-101 drive', value: 26_400 }])
    expect(await driveLb()).toEqual(mistyped)

    const done = await client.evidence.correct({ ...(await right()), tryOut: false })
    expect(done).toEqual({ ...tried, changed: true })
    const after = await line()
    expect([after.current?.line?.a, after.current?.line?.b].map((value) => Math.round(value ?? 0))).toEqual([2000, 400])
    const codes = async () => (await client.unit.sheet({ unit: 'T-101' })).findings.map(({ code }) => code)
    expect(await codes()).not.toContain('points-disagree')
    // 82 psi on the mended line is over the limit of 34,000 lb; on the mistyped one it was not.
    const mended = await driveLb()
    expect(mended.map(({ line: lb }) => lb)).toEqual([34_800])
    expect(Math.abs((mended[0]?.best ?? 0) - 34_800)).toBeLessThan(200)
    // What was said of it first stands beside what is held now.
    const changed = (await client.heavy.list({ changed: true })).rows
    const told = changed.find(({ reading, kind }) => reading === checked && kind === 'group')
    expect(told?.verdict).not.toBe('under')
    expect(told?.lookBack).toMatchObject({
      verdict: mistyped.length === 0 ? 'under' : 'too close to call',
      because: 'What is on record has been corrected or added to since.',
    })
    const entry = (await client.log.list({ subject: 'ticket' })).rows[0]
    expect(entry).toMatchObject({
      action: 'corrected',
      by: 'Ben',
      unit: 'T-101',
      key: '80002 of Salt Bend Yard',
      reason: 'A digit was misread',
      fields: [{ name: column, old: 26_400, new: 30_000 }],
    })
  })

  it('is undone like any other save, and the line goes back', async () => {
    const last = await client.log.last()
    expect(last?.problem).toBeNull()
    await client.log.undo({ revision: last?.revision ?? 0, by: 'Ben' })
    expect((await line()).current?.line?.b).not.toBeCloseTo(400, 1)
    await client.evidence.correct({ ...(await right()), tryOut: false })
    expect((await line()).current?.line?.b).toBeCloseTo(400, 8)
  })

  it.each([
    ['what another window changed', { was: { [column]: 26_400 }, now: { [column]: 31_000 } }, 'CONFLICT', undefined],
    ['a correction without a reason', { was: {}, now: { gross_lb: 50_000 }, reason: '' }, 'no-reason', 'reason'],
    ['a number that the scale has', { was: { number: '80002' }, now: { number: '80001' } }, 'taken', 'number'],
    ['a weight beyond belief', { was: {}, now: { [column]: 5_000_000 } }, 'not-accepted', column],
    ['a time ahead', { was: {}, now: { weighed_at: '2199-01-01T00:00:00.000Z' } }, 'not-accepted', 'weighed_at'],
    ['a field that is not there', { was: {}, now: { constructor: 1 } }, 'no-such-field', 'constructor'],
    ['taking away what a line rests on', { was: { [column]: 30_000 }, now: { [column]: null } }, 'in-use', column],
  ])('refuses %s, at its field', async (_, part, code, field) => {
    const before = await client.evidence.sheet({ kind: 'ticket', id: (await ticketRow('80002')).id })
    const { error, isDefined } = await safe(
      client.evidence.correct({ ...(await right()), ...part, tryOut: false } as never),
    )
    const told = isDefined && (error.code === 'CONFLICT' ? error.data.fields : [error.data.code, error.data.field])
    const overtaken = [{ field: column, was: 26_400, stored: 30_000, typed: 31_000 }]
    expect(told).toEqual(code === 'CONFLICT' ? overtaken : [code, field])
    expect(await client.evidence.sheet({ kind: 'ticket', id: before.id })).toEqual(before)
  })

  it('corrects a reading: a pressure, a lift state, one that was not read; and refuses one that leaves no line', async () => {
    const { readings } = await client.evidence.sheet({ kind: 'ticket', id: (await ticketRow('80002')).id })
    const reading = readings[0]
    if (!reading) throw new Error('the ticket has no reading')
    const how = { kind: 'reading' as const, id: reading.id, reason: 'Gauge misread', by: 'Ben', tryOut: false }
    const moved = await client.evidence.correct({
      ...how,
      was: { 'T-101 drive main_psi': 70, lift: 'none' },
      now: { 'T-101 drive main_psi': 69, lift: null },
    })
    expect(moved.lines[0]?.after.b).toBeGreaterThan(405)
    expect((await client.evidence.sheet({ kind: 'reading', id: reading.id })).values).toMatchObject({
      lift: null,
      'T-101 drive main_psi': 69,
    })
    const first = (await client.evidence.sheet({ kind: 'ticket', id: (await ticketRow('80000')).id })).readings[0]
    for (const id of [first?.id ?? 0])
      await client.evidence.correct({
        ...how,
        id,
        was: { 'T-101 drive main_psi': 20 },
        now: { 'T-101 drive main_psi': 21 },
      })
    const none = await safe(
      client.evidence.correct({ ...how, was: { 'T-101 drive main_psi': 69 }, now: { 'T-101 drive main_psi': null } }),
    )
    expect(none.isDefined && none.error.code === 'REFUSED' && none.error.data.code).toBe('in-use')
  })

  it('adds a weight that was left out and takes one away that no line rests on; the unit stays named', async () => {
    const { id } = await ticketRow('80002')
    const how = { kind: 'ticket' as const, id, reason: 'Steer axle was on the ticket too', by: 'Ben', tryOut: false }
    await client.evidence.correct({ ...how, was: { 'T-101 steer_lb': null }, now: { 'T-101 steer_lb': 11_980 } })
    expect((await ticketRow('80002')).weights.map(({ place }) => place).sort()).toEqual(['T-101 drive', 'T-101 steer'])
    await client.evidence.correct({ ...how, was: { 'T-101 steer_lb': 11_980 }, now: { 'T-101 steer_lb': null } })
    expect(await ticketRow('80002')).toMatchObject({
      units: ['T-101'],
      weights: [{ place: 'T-101 drive', value: 30_000 }],
    })
  })

  it('lists page by page, newest first, and finds by number, unit and name', async () => {
    const one = await client.evidence.tickets({ limit: 2 })
    expect(one.rows).toHaveLength(2)
    const two = await client.evidence.tickets({ limit: 2, after: one.next as NonNullable<typeof one.next> })
    const ids = [...one.rows, ...two.rows].map(({ id }) => id)
    expect(new Set(ids).size).toBe(4)
    expect(
      (await client.evidence.readings({ unit: 'T-101', limit: 5 })).rows.every(({ pressures }) =>
        pressures.some(({ place }) => place.startsWith('T-101 ')),
      ),
    ).toBe(true)
    const calibrations = await client.evidence.calibrations({ unit: 'T-101' })
    expect(calibrations.rows[0]).toMatchObject({
      unit: 'T-101',
      group: 'drive',
      by: 'Ada',
      points: 3,
      voided: null,
      line: { a: expect.any(Number), b: expect.any(Number) },
    })
    expect((await safe(client.evidence.tickets({ unit: 'X-0' }))).error).toBeTruthy()
  })
})
