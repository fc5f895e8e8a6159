import { safe } from '@orpc/client'
import { parse } from 'csv-parse/sync'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { beforeAll, describe, expect, it } from 'vitest'
import { readBooks } from '#core/store/books.ts'
import { cargoAt, weighReading } from '#core/weight/combination-weights.ts'
import { weigherOf } from '#core/weight/weigher.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, ways } from '#tests/api/windows.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { typedReading, weighNow } from '#tests/fleet/typed.ts'

describe.each(ways)('over %s', (way) => {
  let app: RunningApp
  let client: Client
  beforeAll(async () => {
    const window = await openWindow(await runHeavyApp(), way)
    ;({ app, client } = window)
    return window.end
  })

  it('the Heavy Log lists what was over or too close, newest first, and the ticket as exact within its tolerance', async () => {
    const { current, total, rows } = await client.heavy.list({})
    expect([current, total]).toEqual([true, rows.length])
    expect(
      rows.map(({ reading, ticket, kind, group, verdict, source }) => [
        reading ?? ticket,
        kind,
        group,
        verdict,
        source,
      ]),
    ).toEqual([
      ['30600', 'group', 'tandem', 'over', 'ticket'],
      ['R-11', 'group', 'drive', 'too close to call', 'onboard'],
      ['R-10', 'group', 'drive', 'over', 'onboard'],
    ])
    const [byTicket, , byReading] = rows
    expect(byTicket).toMatchObject({
      unit: 'V-201',
      units: ['T-101', 'V-201'],
      yard: 'Cinder Gap',
      scale: 'Salt Bend Yard',
      weightLb: 34_700,
      limitLb: 34_000,
      overLb: 700,
      superseded: false,
      set: null,
      note: null,
      noteOn: 'ticket',
    })
    // 0.2 % of 34,700 lb as a rectangular half-width and a division of 20 lb.
    expect(byTicket?.uLb).toBeCloseTo(Math.hypot(69.4 / Math.sqrt(3), 20 / Math.sqrt(12)), 6)
    expect(byReading?.pOver).toBeGreaterThan(0.99)
    expect(byReading?.noteOn).toBe('reading')
  })

  it('a page takes filters, an order and a place to start from', async () => {
    expect((await client.heavy.list({ verdicts: ['over'] })).total).toBe(2)
    expect((await client.heavy.list({ unit: 'V-201' })).rows.map(({ ticket }) => ticket)).toEqual(['30600'])
    expect((await client.heavy.list({ kinds: ['gross', 'bridge'] })).total).toBe(0)
    expect((await client.heavy.list({ yard: 'Larch Hollow' })).total).toBe(0)
    expect(
      (await client.heavy.list({ from: '2025-04-02', to: '2025-04-02' })).rows.map(({ reading }) => reading),
    ).toEqual(['R-11'])
    expect(
      (await client.heavy.list({ sort: 'overLb', descending: true, limit: 1, offset: 1 })).rows.map(
        ({ ticket }) => ticket,
      ),
    ).toEqual(['30600'])
    const whole = (await client.heavy.list({})).rows.map(({ id }) => id)
    for (const offset of [0, 1, 2, 3, 4])
      expect((await client.heavy.list({ offset, limit: 2 })).rows.map(({ id }) => id)).toEqual(
        whole.slice(offset, offset + 2),
      )
    const refused = await safe(client.heavy.list({ unit: 'T-9' }))
    expect(refused.isDefined && [refused.error.data.code, refused.error.message]).toEqual([
      'no-such-unit',
      'There is no unit T-9. Look for it on the Roster.',
    ])
  })

  it('the summary counts weighings by month, yard, limit and unit, and draws small samples to the fleet', async () => {
    const { total, byMonth, byYard, byLimit, byUnit, offenders, units } = await client.heavy.summary({})
    expect(total).toEqual({ weighings: 11, over: 2, close: 1 })
    expect(byMonth.map(({ month, over, close }) => [month, over, close])).toEqual([
      ['2025-03', 0, 0],
      ['2025-04', 1, 1],
      ['2025-05', 1, 0],
      ['2025-06', 0, 0],
      ['2025-07', 0, 0],
    ])
    expect(byYard).toEqual([{ yard: 'Cinder Gap', weighings: 11, over: 2, close: 1 }])
    expect(byLimit.map(({ kind, role, over, close }) => [kind, role, over, close])).toEqual([
      ['group', 'drive', 1, 1],
      ['group', 'trailer', 1, 0],
    ])
    expect(units).toBe(2)
    expect(byUnit.map(({ unit, over, close }) => [unit, over, close])).toEqual([
      ['T-101', 2, 1],
      ['V-201', 1, 0],
    ])
    expect(byUnit.find(({ unit }) => unit === 'V-201')?.worstLb).toBe(700)
    expect(offenders?.rows.map(({ unit }) => unit)).toEqual(['T-101'])
    expect(offenders?.rows[0]?.counted).toBeCloseTo(2 / 11, 9)
  })

  it("a driver's note stands with its reading, is in the change log, and makes nothing stale", async () => {
    expect(
      await client.heavy.note({ record: { reading: 'R-10' }, was: null, note: '  Logs were wet  ', by: 'Ada' }),
    ).toEqual({ note: 'Logs were wet' })
    expect((await client.heavy.list({})).rows.find(({ reading }) => reading === 'R-10')?.note).toBe('Logs were wet')
    expect(
      await client.heavy.note({
        record: { scale: 'Salt Bend Yard', ticket: '30600' },
        was: null,
        note: 'Shifted on the way',
        by: 'Ada',
      }),
    ).toEqual({ note: 'Shifted on the way' })
    const late = await safe(
      client.heavy.note({ record: { reading: 'R-10' }, was: null, note: 'Logs were dry', by: 'Bo' }),
    )
    expect(late.isDefined && late.error.data).toEqual({
      fields: [{ field: 'note', was: null, stored: 'Logs were wet', typed: 'Logs were dry' }],
    })
    expect(await client.heavy.note({ record: { reading: 'R-10' }, was: 'Logs were wet', note: '', by: 'Ada' })).toEqual(
      { note: null },
    )
    const log = await app.context.fleet.use(async (store) => {
      expect((await readBooks(store.db)).weightsCurrent).toBe(true)
      return store.db
        .selectFrom('change_log')
        .select(['changed_by', 'subject', 'subject_key', 'old_value', 'new_value'])
        .where('action', '=', 'noted')
        .orderBy('id')
        .execute()
    })
    expect(log).toEqual([
      {
        changed_by: 'Ada',
        subject: 'reading',
        subject_key: 'R-10',
        old_value: '{"note":null}',
        new_value: '{"note":"Logs were wet"}',
      },
      {
        changed_by: 'Ada',
        subject: 'ticket',
        subject_key: '30600 of Salt Bend Yard',
        old_value: '{"note":null}',
        new_value: '{"note":"Shifted on the way"}',
      },
      {
        changed_by: 'Ada',
        subject: 'reading',
        subject_key: 'R-10',
        old_value: '{"note":"Logs were wet"}',
        new_value: '{"note":null}',
      },
    ])
    const refused = await safe(client.heavy.note({ record: { reading: 'R-99' }, was: null, note: 'x', by: 'Ada' }))
    expect(refused.isDefined && refused.error.data).toMatchObject({ code: 'no-such-record' })
  })

  it('exports as CSV and as a spreadsheet, as a file or into a folder, and replaces nothing there', async () => {
    const { rows, file, path } = await client.heavy.export({ format: 'csv' })
    expect([rows, path]).toEqual([3, null])
    const table = parse(await (file as File).text(), { columns: true }) as Record<string, string>[]
    expect(
      table.map(({ reading, ticket, limit, group, verdict }) => [reading || ticket, limit, group, verdict]),
    ).toEqual([
      ['R-10', 'group', 'drive', 'over'],
      ['R-11', 'group', 'drive', 'too close to call'],
      ['30600', 'group', 'tandem', 'over'],
    ])
    expect(table[2]).toMatchObject({
      combination: 'T-101 + V-201',
      weight_lb: '34700',
      limit_lb: '34000',
      over_lb: '700',
      p_over: '1',
      note: 'Shifted on the way',
    })
    const folder = mkdtempSync(join(tmpdir(), 'tareline-out-'))
    try {
      await client.places.allow({ folder })
      const written = await client.heavy.export({ format: 'spreadsheet', folder, verdicts: ['over'] })
      expect(written.rows).toBe(2)
      // A spreadsheet is a ZIP archive.
      expect(
        readFileSync(written.path as string)
          .subarray(0, 2)
          .toString(),
      ).toBe('PK')
      const again = await safe(client.heavy.export({ format: 'spreadsheet', folder }))
      expect(again.isDefined && again.error.data.code).toBe('exists')
      const nowhere = await safe(client.heavy.export({ format: 'csv', folder: join(folder, 'missing') }))
      expect(nowhere.isDefined && nowhere.error.data.code).toBe('cannot-write')
    } finally {
      rmSync(folder, { recursive: true })
    }
  })

  it('offers the units, and the combination each tractor was last weighed in', async () => {
    const { units, usual } = await client.weigh.combinations()
    expect(units).toEqual([
      { unit: 'T-101', kind: 'tractor', yard: 'Cinder Gap', groups: 2, sensed: 1 },
      { unit: 'V-201', kind: 'trailer', yard: 'Larch Hollow', groups: 1, sensed: 1 },
    ])
    expect(usual).toEqual([{ unit: 'T-101', units: ['T-101'], on: '2025-07-02' }])
  })

  it('hands the window all it needs to weigh while typing: the same weights as the stored ones', async () => {
    const { facts, unitIds, elevationFt, trusts, reading } = await client.weigh.preview({ reading: 'R-10' })
    expect([elevationFt, trusts.length]).toEqual([6210, 2])
    const ready = weigherOf(facts).ready(unitIds)
    expect(ready.units.map(({ unit }) => unit)).toEqual(['T-101', 'V-201'])
    if (!reading) throw new Error('there is no reading')
    const taken = {
      takenAt: Date.parse(reading.takenAt),
      elevationFt: reading.elevationFt,
      temperatureF: reading.temperatureF,
      lift: reading.lift,
      pressures: new Map(reading.pressures.map(({ groupId, psi }) => [groupId, psi])),
      ticket: null,
    }
    const weights = weighReading(ready, taken)
    const stored = (await client.heavy.list({ verdicts: ['over'], sources: ['onboard'] })).rows[0]
    const drive = weights.groups[1]?.weighing
    expect(drive?.weighed && drive.weightLb).toBe(stored?.weightLb)
    expect(drive?.weighed && drive.uLb).toBe(stored?.uLb)
    expect(weights.gross.judgement?.verdict).toBe('under')
    expect(cargoAt(ready, weights, taken.takenAt).cargo?.weightLb).toBeGreaterThan(40_000)
    const typed = await client.weigh.preview({ units: ['V-201', 'T-101'] })
    expect(typed.unitIds).toEqual(unitIds)
    expect(typed.reading).toBeNull()
    const refused = await safe(client.weigh.preview({ reading: 'R-99' }))
    expect(refused.isDefined && refused.error.data.code).toBe('no-such-reading')
  })

  const typed = {
    ...weighNow(
      '2025-08-20T10:00:00-06:00',
      { 'T-101 drive main': 71, 'V-201 tandem left': 40, 'V-201 tandem right': 40.3 },
      { elevationFt: 2640, lift: 'none' },
    ),
    localZone: 'America/Denver',
    note: 'Weighed in the yard',
    by: 'Ada',
  }

  it('saves a reading with its pressures, in the log and in the Heavy Log at once', async () => {
    const { reading } = await client.weigh.save(typed)
    expect(reading).toBe('W-20250820-1')
    const stored = await app.context.fleet.use(async ({ db }) => ({
      row: await db
        .selectFrom('reading')
        .select(['taken_at', 'local_zone', 'lift', 'source', 'note', 'elevation_ft', 'ticket_id'])
        .where('name', '=', reading)
        .executeTakeFirstOrThrow(),
      psi: (
        await db
          .selectFrom('reading_pressure as p')
          .innerJoin('reading as r', 'r.id', 'p.reading_id')
          .select('p.psi')
          .where('r.name', '=', reading)
          .orderBy('p.circuit_id')
          .execute()
      ).map(({ psi }) => psi),
      log: await db
        .selectFrom('change_log')
        .select(['changed_by', 'action'])
        .where('subject_key', '=', reading)
        .execute(),
    }))
    expect(stored).toEqual({
      row: {
        taken_at: '2025-08-20T16:00:00.000Z',
        local_zone: 'America/Denver',
        lift: 'none',
        source: 'weigh now',
        note: 'Weighed in the yard',
        elevation_ft: 2640,
        ticket_id: null,
      },
      psi: [71, 40, 40.3],
      log: [{ changed_by: 'Ada', action: 'added' }],
    })
    const { current, rows } = await client.heavy.list({ from: '2025-08-20' })
    expect(current).toBe(true)
    expect(rows.map(({ reading: name, group, verdict }) => [name, group, verdict])).toEqual([
      [reading, 'drive', 'over'],
    ])
    expect((await client.weigh.save(typed)).reading).toBe('W-20250820-2')
    expect((await client.weigh.combinations()).usual).toEqual([
      { unit: 'T-101', units: ['T-101', 'V-201'], on: '2025-08-20' },
    ])
  })

  it.each([
    ['a unit that is not there', { units: ['T-9'] }, 'no-such-unit'],
    ['a circuit of another unit', { units: ['T-101'] }, 'no-such-circuit'],
    [
      'a pressure twice',
      { pressures: [...typed.pressures, typed.pressures[0] as (typeof typed.pressures)[number]] },
      'twice',
    ],
    ['a time ahead', { takenAt: '2199-01-01T00:00:00Z' }, 'in-the-future'],
    ['a time that is none', { takenAt: 'noon' }, 'not-accepted'],
    ['a pressure out of range', { pressures: typedReading({ 'T-101 drive main': 9000 }).pressures }, 'not-accepted'],
    ['no pressure at all', { pressures: [] }, 'not-accepted'],
  ])('saves nothing of a reading with %s', async (_, change, code) => {
    const count = () =>
      app.context.fleet.use(async ({ db }) => (await db.selectFrom('reading').select('id').execute()).length)
    const before = await count()
    const { error, isDefined } = await safe(client.weigh.save({ ...typed, ...change }))
    expect(isDefined && error.data.code).toBe(code)
    expect(await count()).toBe(before)
  })

  it('makes cab cards: one PDF, a page a unit', async () => {
    const one = await client.cabCard.make({ units: ['T-101'] })
    expect([one.type, one.name.replace(/\d{4}-\d\d-\d\d/, 'DAY')]).toEqual([
      'application/pdf',
      'cab-card-t-101-DAY.pdf',
    ])
    expect(
      Buffer.from(await one.arrayBuffer())
        .subarray(0, 5)
        .toString(),
    ).toBe('%PDF-')
    const both = await client.cabCard.make({ units: ['V-201', 'T-101', 'T-101'] })
    expect(both.name).toMatch(/^cab-cards-/)
    const refused = await safe(client.cabCard.make({ units: ['T-9'] }))
    expect(refused.isDefined && refused.error.data.code).toBe('no-such-unit')
  })

  it('reports no fault of its own', () => expect(app.reported).toEqual([]))
})
