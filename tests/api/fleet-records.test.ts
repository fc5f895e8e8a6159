import { safe } from '@orpc/client'
import { beforeAll, describe, expect, it } from 'vitest'
import type { SaveRecordInput, UnitRecord } from '#core/contracts/fleet.ts'
import { timeNow } from '#core/store/clock.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, bringInSmallFleet } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'

let app: RunningApp
let client: Client

beforeAll(async () => {
  const window = await openWindow(await runApp())
  ;({ app, client } = window)
  await bringInSmallFleet(app, client)
  await client.roster.list()
  return window.end
})

const by = 'M. Tarn'
const zone = 'America/Denver'
const save = (input: Partial<SaveRecordInput> & Pick<SaveRecordInput, 'subject' | 'id' | 'values'>) =>
  client.fleet.save({ was: {}, reason: null, localZone: zone, workedAt: null, by, ...input })
const groupOf = ({ groups }: UnitRecord, name: string) =>
  groups.find(({ values }) => values['name'] === name) as UnitRecord['groups'][number]
const circuitOf = (record: UnitRecord, group: string, name: string) =>
  groupOf(record, group).circuits.find(
    ({ values }) => values['name'] === name,
  ) as UnitRecord['groups'][number]['circuits'][number]
const trustOf = async (unit: string, group: string) =>
  (await client.unit.sheet({ unit })).groups.find(({ name }) => name === group)?.trust
const newest = async () => (await client.log.list({ limit: 20 })).rows
const undoLast = async () => {
  const last = await client.log.last()
  return safe(client.log.undo({ revision: last?.revision ?? 0, by: 'R. Roe' }))
}
const minutesAgo = (minutes: number) => new Date(timeNow() - minutes * 60_000).toISOString()

describe('the record typed by hand', () => {
  it('starts from an empty place: yard, scale, unit, group, circuit and sensor, all in the log', async () => {
    const yard = await save({ subject: 'yard', id: null, values: { name: 'Brine Flat', elevation_ft: 4400 } })
    const unit = await save({
      subject: 'unit',
      id: null,
      values: { number: 'T-900', kind: 'tractor', yard_id: yard.id, gross_limit_lb: 80_000 },
    })
    const group = await save({
      subject: 'axle group',
      id: null,
      parent: { unitId: unit.id },
      values: { name: 'drive', role: 'drive', axles: 2, measured_by: 'circuit' },
    })
    const circuit = await save({
      subject: 'circuit',
      id: null,
      parent: { groupId: group.id },
      values: { name: 'main', air_springs: 4 },
    })
    await client.fleet.mount({
      serial: 'PZ-1',
      circuitId: circuit.id,
      values: { mounted_at: '2026-01-05T12:00:00.000Z', leak_check: 'tight' },
      localZone: zone,
      newReference: 'gauge',
      by,
    })
    await save({ subject: 'scale', id: null, values: { name: 'Brine Flat', division_lb: 20 } })
    const sheet = await client.unit.sheet({ unit: 'T-900' })
    expect([sheet.unit.yard, sheet.groups[0]?.circuits[0]?.sensors[0]?.serial, sheet.groups[0]?.trust]).toEqual([
      'Brine Flat',
      'PZ-1',
      'uncalibrated',
    ])
    // A first sensor on a circuit without a line breaks none.
    expect(sheet.events).toEqual([])
    expect(
      (await newest()).slice(0, 7).map(({ subject, key, action, unit: of }) => [subject, key, action, of]),
    ).toEqual([
      ['scale', 'Brine Flat', 'added', null],
      ['mount', 'PZ-1 on T-900 drive main', 'added', 'T-900'],
      ['sensor', 'PZ-1', 'added', null],
      ['circuit', 'T-900 drive main', 'added', 'T-900'],
      ['axle group', 'T-900 drive', 'added', 'T-900'],
      ['unit', 'T-900', 'added', 'T-900'],
      ['yard', 'Brine Flat', 'added', null],
    ])
    expect((await client.fleet.basics()).scales.map(({ values }) => values['name'])).toContain('Brine Flat')
  })

  it('refuses at the field what is not accepted, what is taken, and what another window changed', async () => {
    const { unit } = await client.fleet.unit({ unit: 'T-101' })
    const refused = async (values: Record<string, string | number | null>, was = unit.values) => {
      const { error, isDefined } = await safe(save({ subject: 'unit', id: unit.id, was, values }))
      return isDefined && error.code === 'REFUSED' ? [error.data.code, error.data.field, error.message] : error
    }
    expect(await refused({ model_year: 1776 })).toEqual([
      'not-accepted',
      'model_year',
      expect.stringMatching(/Model year: “1776” is not accepted/),
    ])
    expect(await refused({ number: 'V-201' })).toEqual([
      'taken',
      'number',
      'Number: there is a record V-201 already; another one is accepted.',
    ])
    expect(await refused({ wings: 2 })).toEqual(['no-such-field', 'wings', expect.any(String)])
    await save({ subject: 'unit', id: unit.id, was: unit.values, values: { plate: 'ZT-1' }, by: 'R. Roe' })
    const late = await safe(
      save({ subject: 'unit', id: unit.id, was: unit.values, values: { plate: 'ZT-2', make: 'Talvane' } }),
    )
    expect(late.isDefined && late.error.code === 'CONFLICT' && [late.error.data.fields, late.error.message]).toEqual([
      [{ field: 'plate', was: 'ZT-40007', stored: 'ZT-1', typed: 'ZT-2' }],
      expect.stringContaining('changed meanwhile by R. Roe'),
    ])
    expect((await client.fleet.unit({ unit: 'T-101' })).unit.values).toMatchObject({ plate: 'ZT-1', make: 'Brennock' })
  })

  it('records the work that a change tells of, which breaks the line, or corrects the record without it', async () => {
    const before = await client.fleet.unit({ unit: 'T-101' })
    const circuit = circuitOf(before, 'drive', 'main')
    const trust = await trustOf('T-101', 'drive')
    expect(trust).not.toBe('upset')
    expect(
      await save({
        subject: 'circuit',
        id: circuit.id,
        was: circuit.values,
        values: { ride_height_in: 8.75 },
        reason: 'Read the plate wrong',
      }),
    ).toEqual({ id: circuit.id, event: null })
    expect([await trustOf('T-101', 'drive'), (await client.unit.sheet({ unit: 'T-101' })).events.length]).toEqual([
      trust,
      1,
    ])

    const workedAt = minutesAgo(30)
    expect(
      await save({
        subject: 'circuit',
        id: circuit.id,
        was: { ...circuit.values, ride_height_in: 8.75 },
        values: { ride_height_in: 9.25 },
        workedAt,
      }),
    ).toMatchObject({ event: 'height set' })
    const sheet = await client.unit.sheet({ unit: 'T-101' })
    expect(sheet.events[0]).toMatchObject({ kind: 'height set', group: 'drive', circuit: 'main', happenedAt: workedAt })
    expect(await trustOf('T-101', 'drive')).toBe('upset')
    expect((await newest()).slice(0, 2).map(({ subject, revision }) => [subject, revision])).toEqual([
      ['event', expect.any(Number)],
      ['circuit', (await newest())[0]?.revision],
    ])

    expect((await undoLast()).error).toBeNull()
    expect([
      await trustOf('T-101', 'drive'),
      circuitOf(await client.fleet.unit({ unit: 'T-101' }), 'drive', 'main').values['ride_height_in'],
    ]).toEqual([trust, 8.75])
  })

  it('moves a sensor: off where it sat, off whichever sat there, and the swap on both', async () => {
    const tractor = circuitOf(await client.fleet.unit({ unit: 'T-101' }), 'drive', 'main')
    const trailer = await client.fleet.unit({ unit: 'V-201' })
    const right = circuitOf(trailer, 'tandem', 'right')
    const at = minutesAgo(10)
    const mount = (serial: string, mountedAt: string, newReference: 'gauge' | null = null) =>
      safe(
        client.fleet.mount({
          serial,
          circuitId: tractor.id,
          values: { mounted_at: mountedAt, gauge_psi: 60, gauge_sensor_psi: 60.4 },
          localZone: zone,
          newReference,
          by,
        }),
      )
    const refused = async (answer: ReturnType<typeof mount>) => {
      const { error, isDefined } = await answer
      return isDefined && error.code === 'REFUSED' ? [error.data.code, error.data.field] : error
    }
    expect(await refused(mount('PX-77', at))).toEqual(['no-such-sensor', 'serial'])
    expect(await refused(mount('PA-01044', at))).toEqual(['already-there', 'serial'])
    expect(await refused(mount('PB-01053', '2024-01-01T00:00:00.000Z'))).toEqual(['before-last-mount', 'mounted_at'])
    expect((await mount('PB-01053', at)).error).toBeNull()
    const moved = circuitOf(await client.fleet.unit({ unit: 'T-101' }), 'drive', 'main').mounts
    expect(moved.map(({ serial, values }) => [serial, values['removed_at'], values['gauge_psi']])).toEqual([
      ['PB-01053', null, 60],
      ['PA-01044', at, null],
    ])
    expect(
      circuitOf(await client.fleet.unit({ unit: 'V-201' }), 'tandem', 'right').mounts[0]?.values['removed_at'],
    ).toBe(at)
    for (const unit of ['T-101', 'V-201'])
      expect((await client.unit.sheet({ unit })).events[0]).toMatchObject({ kind: 'sensor swapped', happenedAt: at })
    expect([await trustOf('T-101', 'drive'), await trustOf('V-201', 'tandem')]).toEqual(['upset', 'upset'])
    const sensors = (await client.fleet.sensors({ text: 'pb-01053' })).rows
    expect(sensors[0]?.seat).toMatchObject({ unit: 'T-101', group: 'drive', circuit: 'main' })

    expect((await undoLast()).error).toBeNull()
    expect(circuitOf(await client.fleet.unit({ unit: 'V-201' }), 'tandem', 'right').mounts[0]?.values).toEqual(
      right.mounts[0]?.values,
    )
    expect(await trustOf('T-101', 'drive')).not.toBe('upset')
  })

  it('copies a unit as the pattern for the next ten, numbers counting on', async () => {
    const numbers = await client.fleet.nextNumbers({ unit: 'V-201', count: 10 })
    expect([numbers[0], numbers.at(-1), numbers.length]).toEqual(['V-202', 'V-211', 10])
    await client.fleet.copyUnit({ unit: 'V-201', numbers, by })
    const copy = await client.fleet.unit({ unit: 'V-207' })
    const pattern = await client.fleet.unit({ unit: 'V-201' })
    expect(copy.unit.values).toEqual({ ...pattern.unit.values, number: 'V-207', vin: null, plate: null })
    expect(
      copy.groups.map(({ values, circuits }) => [values, circuits.map((circuit) => [circuit.values, circuit.mounts])]),
    ).toEqual(pattern.groups.map(({ values, circuits }) => [values, circuits.map((circuit) => [circuit.values, []])]))
    const taken = await safe(client.fleet.copyUnit({ unit: 'V-201', numbers: ['V-300', 'V-202'], by }))
    expect(taken.isDefined && taken.error.code === 'REFUSED' && taken.error.data).toMatchObject({
      code: 'taken',
      field: 'number',
    })
    expect((await client.roster.list()).rows.some(({ unit }) => unit === 'V-300')).toBe(false)
    expect((await undoLast()).error).toBeNull()
    expect(
      (await client.roster.list()).rows.filter(({ unit }) => unit.startsWith('V-2')).map(({ unit }) => unit),
    ).toEqual(['V-201'])
  })

  it('retires a unit and brings it back', async () => {
    expect(await client.fleet.retire({ unit: 'V-201', retired: true, reason: 'Sold', by })).toEqual({ retired: true })
    expect((await client.unit.sheet({ unit: 'V-201' })).unit.retired).toBe(true)
    await client.fleet.retire({ unit: 'V-201', retired: false, reason: null, by })
    expect((await client.unit.sheet({ unit: 'V-201' })).unit.retired).toBe(false)
    expect((await newest()).slice(0, 2).map(({ action, reason }) => [action, reason])).toEqual([
      ['brought back', null],
      ['retired', 'Sold'],
    ])
  })

  it('undoes step by step, records that, and refuses what something later rests on', async () => {
    const unit = await save({ subject: 'unit', id: null, values: { number: 'T-950', kind: 'truck' } })
    const added = await client.log.last()
    expect(added?.entries.map(({ subject, key }) => [subject, key])).toEqual([['unit', 'T-950']])
    await save({
      subject: 'event',
      id: null,
      parent: { unitId: unit.id },
      values: { kind: 'body work', happened_at: '2026-01-01T12:00:00.000Z', note: 'New tarp bows' },
    })
    const early = await safe(client.log.undo({ revision: added?.revision ?? 0, by }))
    expect(early.error?.message).toBe(
      'T-950: other records rest on it by now, such as readings, tickets or calibrations. Nothing was undone.',
    )
    expect((await undoLast()).error).toBeNull()
    expect((await client.log.last())?.revision).toBe(added?.revision)

    await save({ subject: 'unit', id: unit.id, was: { number: 'T-950' }, values: { number: 'T-951' } })
    const edited = await client.log.last()
    await save({ subject: 'unit', id: unit.id, was: { number: 'T-951' }, values: { number: 'T-952' }, by: 'R. Roe' })
    expect((await safe(client.log.undo({ revision: edited?.revision ?? 0, by }))).error?.message).toMatch(
      /^T-950: it was changed again since, last by R\. Roe on \d{4}/,
    )
    for (let step = 0; step < 3; step += 1) expect((await undoLast()).error).toBeNull()
    expect((await safe(client.unit.sheet({ unit: 'T-950' }))).isDefined).toBe(true)
    expect((await safe(client.log.undo({ revision: added?.revision ?? 0, by }))).error?.message).toBe(
      'R. Roe has undone this already.',
    )
    const told = (await newest()).slice(0, 3).map(({ subject, key, action, by: who }) => [subject, key, action, who])
    expect(told).toEqual([
      ['unit', 'T-950', 'undone', 'R. Roe'],
      ['unit', 'T-950', 'undone', 'R. Roe'],
      ['unit', 'T-951', 'undone', 'R. Roe'],
    ])
    // The next unit does not inherit the past of the one that was taken away.
    const next = await save({ subject: 'unit', id: null, values: { number: 'T-960', kind: 'truck' } })
    expect(next.id).not.toBe(unit.id)
    expect((await client.log.list({ unit: 'T-960' })).rows.map(({ action }) => action)).toEqual(['added'])
  })

  it('takes a House Rule back, and says why an import is not undone', async () => {
    await client.houseRules.change({ name: 'dueNoticeDays', was: 30, value: 45, by })
    expect((await undoLast()).error).toBeNull()
    expect((await client.houseRules.list()).find(({ name }) => name === 'dueNoticeDays')?.value).toBe(30)
  })

  it('prints a bay sheet', async () => {
    const file = await client.fleet.baySheet({ unit: 'V-201' })
    expect(file.name).toMatch(/^bay-sheet-v-201-\d{4}-\d\d-\d\d\.pdf$/)
    expect(
      Buffer.from(await file.arrayBuffer())
        .subarray(0, 5)
        .toString(),
    ).toBe('%PDF-')
  })

  it('exports the log with what a spreadsheet would run made harmless', async () => {
    await save({ subject: 'yard', id: null, values: { name: '=HYPERLINK("x")' } })
    const { rows, file } = await client.log.export({ subject: 'yard' })
    const lines = (await file.text()).trimEnd().split('\n')
    expect(lines[0]).toBe('changed_at,changed_by,unit,subject,record,action,field,old,new,reason')
    expect(lines[1]).toMatch(/^\d{4}-.*Z,M\. Tarn,,yard,"'=HYPERLINK\(""x""\)",added,name,,"'=HYPERLINK\(""x""\)",$/)
    expect(rows).toBe(2)
    const page = await client.log.list({ limit: 5 })
    expect([page.rows.length, page.next]).toEqual([5, page.rows.at(-1)?.id])
    expect((await client.log.list({ unit: 'V-201', text: 'retired sold' })).total).toBe(1)
  })
})
