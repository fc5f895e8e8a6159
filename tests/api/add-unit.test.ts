import { safe } from '@orpc/client'
import { beforeAll, describe, expect, it } from 'vitest'
import { timeNow } from '#core/store/clock.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { hourOfVisit, typedReading, typedScale, typedTicket, weighNow } from '#tests/fleet/typed.ts'
import { runApp } from '#tests/loopback/running-app.ts'

let client: Client

beforeAll(async () => {
  const window = await openWindow(await runApp())
  client = window.client
  return window.end
})

const by = 'M. Tarn'
const now = timeNow()
const at = (hour: number) => hourOfVisit(now, hour)
const shared = { localZone: null, newReference: 'gauge', by } as const
const tandem = (serials: Record<string, string | null>) => ({
  values: { name: 'tandem', role: 'trailer', axles: 2, measured_by: 'circuit' },
  circuits: Object.entries(serials).map(([name, serial]) => ({ values: { name }, serial })),
})
const addTrailer = (number: string, serials: Record<string, string | null>, mountedAt = at(-48)) =>
  client.fleet.addUnit({
    ...shared,
    values: { number, kind: 'trailer' },
    groups: [tandem(serials)],
    mountedAt,
    sensor: { cell: 'CR2450', report_every_s: 300 },
  })
const circuitsOf = async (unit: string) =>
  (await client.fleet.unit({ unit })).groups.flatMap(({ circuits }) => circuits)

describe('a unit with its groups, circuits and sensors', () => {
  it('is added whole, as one save, which is undone whole', async () => {
    await addTrailer('V-1', { left: 'PA-1', right: 'PA-2' })
    expect(await circuitsOf('V-1')).toMatchObject([
      { values: { name: 'left' }, mounts: [{ serial: 'PA-1' }] },
      { values: { name: 'right' }, mounts: [{ serial: 'PA-2' }] },
    ])
    expect((await client.fleet.sensors({})).rows.map(({ values }) => values)).toMatchObject([
      { serial: 'PA-1', reference: 'gauge', cell: 'CR2450', report_every_s: 300 },
      { serial: 'PA-2', reference: 'gauge', cell: 'CR2450', report_every_s: 300 },
    ])
    const { rows } = await client.log.list({ unit: 'V-1' })
    expect(new Set(rows.map(({ revision }) => revision)).size).toBe(1)
    await client.log.undo({ revision: rows[0]?.revision ?? 0, by })
    expect((await client.fleet.basics()).units).toBe(0)
    expect(await client.fleet.sensors({})).toMatchObject({ rows: [] })
  })

  it.each([
    ['a serial twice', { left: 'PA-1', right: 'PA-1' }, '1/serial', /PA-1 is typed twice/],
    ['a serial that sits elsewhere later', { left: 'LATE' }, '0/mounted_at', /was mounted later/],
  ])('is refused whole for %s, said of its row', async (_, serials, field, message) => {
    await safe(addTrailer('V-8', { main: 'LATE' }, at(-1)))
    const { error } = await safe(addTrailer('V-9', serials))
    expect(error).toMatchObject({ code: 'REFUSED', data: { field } })
    expect((error as Error).message).toMatch(message)
    expect((await client.roster.list()).rows.map(({ unit }) => unit)).toEqual(['V-8'])
  })

  it.each([
    ['no role', { values: { name: 'x', axles: 2 } }],
    ['a field that a group does not have', { values: { name: 'x', role: 'trailer', axles: 2, colour: 'red' } }],
    ['thirteen axles', { values: { name: 'x', role: 'trailer', axles: 13 } }],
  ])('is refused for a group with %s', async (_, group) => {
    const { error } = await safe(
      client.fleet.addUnit({
        ...shared,
        values: { number: 'V-10', kind: 'trailer' },
        groups: [{ ...group, circuits: [] }] as never,
        mountedAt: at(-48),
        sensor: {},
      }),
    )
    expect(error).toMatchObject({ code: 'REFUSED' })
  })
})

describe('many mountings at once', () => {
  it('take the circuits that have no sensor, and since when they were read', async () => {
    await addTrailer('V-20', { main: null })
    await client.fleet.copyUnit({ unit: 'V-20', numbers: ['V-21', 'V-22'], by })
    await client.weigh.save(weighNow(at(-20), { 'V-21 tandem main': 40 }))
    await client.weigh.save(weighNow(at(-10), { 'V-21 tandem main': 45 }))
    const bare = await client.fleet.bareCircuits({ units: ['V-20', 'V-21', 'V-22'] })
    expect(bare.map(({ unit, firstReadAt }) => [unit, firstReadAt])).toEqual([
      ['V-20', null],
      ['V-21', at(-20)],
      ['V-22', null],
    ])
    const mounts = bare.map(({ circuitId, firstReadAt }, i) => ({
      circuitId,
      serial: `N-${i}`,
      mountedAt: firstReadAt ?? at(-5),
    }))
    expect(await client.fleet.mountMany({ ...shared, mounts, sensor: { cell: 'CR2032' } })).toEqual({ mounted: 3 })
    expect(await client.fleet.bareCircuits({ units: ['V-20', 'V-21', 'V-22'] })).toEqual([])
    expect(await circuitsOf('V-21')).toMatchObject([
      { firstReadAt: null, mounts: [{ values: { mounted_at: at(-20) } }] },
    ])
  })

  it('leave a sensor that the fleet knows as it is, and fill in what is not known of it', async () => {
    await addTrailer('V-30', { main: null })
    const [bare] = await client.fleet.bareCircuits({ units: ['V-30'] })
    await client.fleet.save({
      subject: 'sensor',
      id: null,
      was: {},
      values: { serial: 'OLD', reference: 'absolute', cell: 'CR123' },
      reason: null,
      localZone: null,
      workedAt: null,
      by,
    })
    await client.fleet.mount({
      serial: 'OLD',
      circuitId: bare?.circuitId ?? 0,
      values: { mounted_at: at(-2) },
      localZone: null,
      newReference: 'gauge',
      sensor: { cell: 'CR2450', report_every_s: 600 },
      by,
    })
    const { rows } = await client.fleet.sensors({ text: 'OLD' })
    expect(rows[0]?.values).toMatchObject({ reference: 'absolute', cell: 'CR123', report_every_s: 600 })
  })
})

describe('a sensor recorded as mounted after its readings', () => {
  const codes = async () => (await client.unit.sheet({ unit: 'V-40' })).findings

  it('upsets the line with the date named as the likely error, and the fix puts it right', async () => {
    await client.fleet.save(typedScale('Brine Flat', by))
    await addTrailer('V-40', { main: 'PB-1' }, at(5))
    const load = (i: number, psi: number) =>
      typedTicket(
        { ticket: `9${i}`, weighedAt: at(i), grossLb: 4000 + 440 * psi },
        { 'V-40 tandem': 4000 + 440 * psi },
        typedReading({ 'V-40 tandem main': psi }),
      )
    await client.weighIn.save({
      units: ['V-40'],
      scale: 'Brine Flat',
      localZone: null,
      tickets: [load(0, 12), load(1, 40), load(2, 66)],
      calibrate: [{ unit: 'V-40', group: 'tandem' }],
      by,
    })
    const found = (await codes()).find(({ code }) => code === 'event-since-calibration')
    expect(found?.message).toMatch(/the date of the mounting is the likely error/)
    expect(found?.fix).toEqual({ what: 'mounting', unit: 'V-40', serial: 'PB-1', since: at(0) })
    const [mount] = (await circuitsOf('V-40')).flatMap(({ mounts }) => mounts)
    await client.fleet.save({
      subject: 'mount',
      id: mount?.id ?? 0,
      was: { mounted_at: at(5) },
      values: { mounted_at: at(0) },
      reason: null,
      localZone: null,
      workedAt: null,
      by,
    })
    expect((await codes()).map(({ code }) => code)).not.toContain('event-since-calibration')
    const { readings } = await client.unit.sheet({ unit: 'V-40' })
    expect(readings.map(({ weights }) => weights.map(({ weightLb }) => Math.round(weightLb / 100) * 100))).toEqual([
      [33_000],
      [21_600],
      [9300],
    ])
    expect(readings.every(({ readingId, ticketId }) => readingId > 0 && ticketId !== null)).toBe(true)
  })

  it('tells how far the file has come on the way to its first weight', async () => {
    expect(await client.fleet.firstSteps()).toEqual({
      yard: false,
      scale: true,
      lead: false,
      trailer: true,
      circuit: true,
      sensor: true,
      ticket: true,
      line: true,
      weighs: 'V-40',
    })
  })
})
