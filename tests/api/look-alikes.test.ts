import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { safe } from '@orpc/client'
import { beforeAll, describe, expect, it } from 'vitest'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { hourOfVisit, typedReading, typedTicket } from '#tests/fleet/typed.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { timeNow } from '#core/store/clock.ts'

let app: RunningApp
let client: Client
beforeAll(async () => {
  const window = await openWindow(await runHeavyApp())
  ;({ app, client } = window)
  return window.end
})

const by = 'Ada'
const zone = 'America/Denver'
const scale = 'Salt Bend Yard'
const add = (subject: 'unit' | 'sensor' | 'yard' | 'scale', values: Record<string, string>) =>
  client.fleet.save({ subject, id: null, was: {}, values, reason: null, localZone: zone, workedAt: null, by })
const weighIn = (ticket: string, hour: number) =>
  client.weighIn.save({
    units: ['T-101', 'V-201'],
    scale,
    localZone: zone,
    tickets: [
      typedTicket(
        { ticket, weighedAt: hourOfVisit(timeNow(), hour), grossLb: null },
        { 'T-101 drive': 20_000 },
        typedReading({ 'T-101 drive main': 45 }),
      ),
    ],
    readings: [],
    calibrate: [],
    by,
  })
const numbers = (like: string) =>
  app.context.fleet.use(
    async ({ raw }) =>
      raw.prepare('select number from ticket where number like ? order by id').pluck().all(like) as string[],
  )

async function bringIn(name: string, files: Record<string, string>): Promise<ImportOutcome> {
  const folder = join(app.folder, name)
  mkdirSync(folder)
  for (const [file, text] of Object.entries(files)) writeFileSync(join(folder, file), text)
  const steps = await client.folder.bringIn({ folder })
  for (;;) {
    const step = await steps.next()
    if (step.done) return step.value
  }
}

describe('a name typed in a window', () => {
  it('is stored without what cannot be seen, and refused where it looks like one on record', async () => {
    await weighIn('7\u200b7001', 0)
    expect(await numbers('77%')).toEqual(['77001'])
    for (const typed of ['77001', '77\u2060001', '７7001', '77001\u200d'])
      expect((await safe(weighIn(typed, 1))).error).toMatchObject({ code: 'REFUSED', data: { field: 'ticket' } })
    const { error } = await safe(weighIn('７7001', 1))
    expect(error?.message).toBe(
      `Ticket ７7001 looks like 77001, which ${scale} has a ticket of already. Nothing was saved.`,
    )
    expect((await safe(weighIn('\u200b', 1))).error).toMatchObject({ code: 'REFUSED' })
    expect(await numbers('%7001')).toEqual(['77001'])
  })

  it.each([
    ['unit', { number: 'Т-101', kind: 'tractor' }, /^Number: “Т-101” looks like “T-101”, which is on record already/],
    ['unit', { number: 'T–101', kind: 'tractor' }, /looks like “T-101”/],
    ['unit', { number: 'T-101\u200b', kind: 'tractor' }, /there is a record T-101 already/],
    ['scale', { name: 'Salt\u00a0Bend Yard' }, /^Name: “Salt\u00a0Bend Yard” looks like “Salt Bend Yard”/],
    ['yard', { name: '\u2060' }, /^Name holds no sign that can be seen/],
  ] as const)('of a %s %j is refused with a sentence', async (subject, values, sentence) => {
    const { error } = await safe(add(subject, values))
    expect(error).toMatchObject({ code: 'REFUSED', message: expect.stringMatching(sentence) })
  })

  it('that is spelt in two ways of Unicode is one', async () => {
    await add('yard', { name: 'Jose\u0301 Flat' })
    expect((await safe(add('yard', { name: 'José Flat' }))).error).toMatchObject({ code: 'REFUSED' })
    await add('sensor', { serial: 'Ä-1', reference: 'gauge' })
    expect((await safe(add('sensor', { serial: 'A\u0308-1', reference: 'gauge' }))).error?.message).toMatch(
      /Ä-1 already/,
    )
  })
})

describe('a folder imported', () => {
  it('has its names taken for those on record that look the same, which is told', async () => {
    const outcome = await bringIn('alike', {
      'units.csv': 'unit,kind\nＴ-101,tractor\nT-101\u200b,tractor\nX-1,truck\nХ-1,truck\n',
      'tickets.csv': `scale,ticket,weighed_at,unit\n${scale},88001,2025-03-03T10:00:00Z,T-101\n${scale},８8001,2025-03-03T10:00:00Z,Ｔ-101\n`,
    })
    expect(outcome).toMatchObject({
      outcome: 'stored',
      files: [
        { file: 'units.csv', added: 1, same: 3 },
        { file: 'tickets.csv', added: 1, same: 1 },
      ],
      notes: [
        '"Ｔ-101" looks like "T-101", which is on record, and was taken for it.',
        '"Х-1" looks like "X-1", which is on record, and was taken for it.',
        '"８8001" looks like "88001", which is on record, and was taken for it.',
      ],
    })
    expect(await numbers('%8001')).toEqual(['88001'])
  })
})

describe('a file of before with such names', () => {
  it('opens, is edited, and takes its own folder back in without a change', async () => {
    await app.context.fleet.use(async ({ raw }) => {
      raw.exec(`insert into unit (number, kind) values ('Z-1\u200b', 'truck'), ('Z-1', 'truck');
        insert into axle_group (unit_id, name, role, axles) select id, 'drive', 'drive', 2 from unit where number like 'Z-1%';
        insert into ticket (scale_id, number, weighed_at)
          select id, '99001\u200b', '2025-03-03T10:00:00.000Z' from scale where name = '${scale}';
        insert into ticket_weight (ticket_id, unit_id)
          select t.id, u.id from ticket t, unit u where t.number like '99001%' and u.number = 'Z-1\u200b'`)
    })
    const { roster, fleet, folder } = client
    const listed = (await roster.list()).rows.map(({ unit }) => unit)
    expect(listed.filter((unit) => unit.startsWith('Z-1'))).toHaveLength(2)
    const {
      unit: { id },
    } = await fleet.unit({ unit: 'Z-1\u200b' })
    await fleet.save({
      subject: 'unit',
      id,
      was: { number: 'Z-1\u200b', make: null },
      values: { number: 'Z-1\u200b', make: 'Brennock' },
      reason: null,
      localZone: zone,
      workedAt: null,
      by,
    })
    expect((await safe(weighIn('99001', 2))).error?.message).toMatch(/looks like 99001\u200b/)
    const out = join(app.folder, 'out')
    await folder.writeOut({ folder: out })
    const before = await numbers('%')
    const steps = await folder.bringIn({ folder: out })
    let step = await steps.next()
    while (!step.done) step = await steps.next()
    expect(step.value).toMatchObject({ outcome: 'stored' })
    expect(step.value.outcome === 'stored' && step.value.files.filter((each) => each.same < each.read)).toEqual([])
    expect(await numbers('%')).toEqual(before)
  })
})
