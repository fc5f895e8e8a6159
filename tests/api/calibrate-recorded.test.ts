import { safe } from '@orpc/client'
import { beforeEach, expect, it } from 'vitest'
import { figuresFromText } from '#core/cells/fleet-figures.ts'
import { judgeRecorded, recordedPoints } from '#core/findings/weigh-in.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, bringInSmallFleet } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { sayStored } from '#core/words/say.ts'
import { sayLineProblem } from '#core/words/sentences/line-problems.ts'
import { typedReading, typedTicket } from '#tests/fleet/typed.ts'
import { timeNow } from '#core/store/clock.ts'

let app: RunningApp
let client: Client
beforeEach(async () => {
  const window = await openWindow(await runApp())
  ;({ app, client } = window)
  await bringInSmallFleet(app, client)
  return window.end
})

const by = 'M. Tarn'
const calibrationsOf = async () => {
  const drive = (await client.unit.sheet({ unit: 'T-101' })).groups.find(({ name }) => name === 'drive')
  return drive?.calibrations ?? []
}
const undoLast = async () => safe(client.log.undo({ revision: (await client.log.last())?.revision ?? 0, by }))
const voidNewest = async (reason: string) => {
  const [newest] = await calibrationsOf()
  await client.weighIn.voidCalibration({ id: newest?.id ?? 0, reason, by })
}
/** The readings on record that carry the drive group's weight, newest first, with what judges them. */
async function onRecord() {
  const { histories, scales, rules, figures, units, headYardFt, names } = await client.weighIn.recorded({
    unit: 'T-101',
  })
  const history = histories.find(({ group }) => group === 'drive')
  if (!history) throw new Error('T-101 has a drive group')
  const facts = {
    histories,
    rules,
    scales: new Map(scales.map((scale) => [scale.scaleId, scale])),
    estimates: figuresFromText(figures as string).estimates,
    units,
    headYardFt,
  }
  return { history, facts, names, readings: recordedPoints(history).map(({ readingId }) => readingId) }
}
const calibrate = (readings: number[], group = 'drive') =>
  safe(client.weighIn.calibrate({ unit: 'T-101', group, readings, by }))

it('a void is undone like everything else, and what came before it after that', async () => {
  await client.fleet.save({
    subject: 'yard',
    id: null,
    was: {},
    values: { name: 'Brine Flat' },
    reason: null,
    localZone: null,
    workedAt: null,
    by,
  })
  const [before] = await calibrationsOf()
  await voidNewest('The dolly stood on the scale')
  expect((await calibrationsOf())[0]).toMatchObject({ current: false, voidReason: 'The dolly stood on the scale' })
  expect((await client.log.last())?.problem).toBeNull()
  expect((await undoLast()).error).toBeNull()
  const [after] = await calibrationsOf()
  expect(after).toEqual(before)
  expect((await client.log.list({ limit: 1 })).rows[0]).toMatchObject({
    subject: 'calibration',
    action: 'undone',
    undoes: expect.any(Number),
  })
  expect((await undoLast()).error).toBeNull()
  expect((await client.fleet.basics()).yards.map(({ values }) => values['name'])).not.toContain('Brine Flat')
})

it('a void is not undone once another calibration of that very time is valid', async () => {
  await voidNewest('Wrong unit')
  const { readings } = await onRecord()
  await calibrate(readings)
  await voidNewest('Once more')
  await calibrate(readings)
  const { rows } = await client.log.list({ subject: 'calibration' })
  const second = rows.filter(({ action }) => action === 'voided')[0]
  const { error, isDefined } = await safe(client.log.undo({ revision: second?.revision ?? 0, by }))
  expect([isDefined && error.data.code, error?.message]).toEqual([
    'cannot-undo',
    expect.stringMatching(
      /^T-101 drive of .*: another valid calibration has that very time by now\. Void that first\. Nothing was undone\.$/,
    ),
  ])
})

it('a calibration is made of tickets on record as it is judged while they are chosen, and its entry undone voids it', async () => {
  await voidNewest('Made anew below')
  const { history, facts, names, readings } = await onRecord()
  expect(readings).toHaveLength(5)
  expect(
    names
      .filter(({ readingId }) => readings.includes(readingId))
      .map(({ ticket }) => ticket)
      .sort(),
  ).toEqual(['30417', '30418', '30419', '30420', '30446'])
  const chosen = readings.slice(1)
  const outcome = judgeRecorded(facts, history, chosen, timeNow())
  expect([outcome.problem, outcome.line?.points.length]).toEqual([null, 4])
  const { data } = await calibrate(chosen)
  expect(data?.calibratedAt).toBe('2025-03-04T14:20:30.000Z')
  const sheet = await client.unit.sheet({ unit: 'T-101' })
  const drive = sheet.groups.find(({ name }) => name === 'drive')
  const made = drive?.calibrations.find(({ current }) => current)
  expect([made?.line?.a, made?.line?.b, made?.calibratedBy, drive?.trust]).toEqual([
    outcome.line?.line.a,
    outcome.line?.line.b,
    by,
    outcome.after.trust,
  ])
  expect((await undoLast()).error).toBeNull()
  expect((await calibrationsOf()).find(({ id }) => id === made?.id)).toMatchObject({
    current: false,
    voidReason: 'Its entry was undone',
  })
  expect((await onRecord()).readings).toEqual(readings)
})

it('refuses in a sentence fewer than two points, a reading without the weight, a time that has one, no line, and no group', async () => {
  const { readings } = await onRecord()
  const [newest = 0, ...older] = readings
  const revision = (await client.file.state()).revision
  const refusals: [readings: number[], group: string, code: string, words: RegExp][] = [
    [
      [],
      'drive',
      'too-few-points',
      /^T-101 drive: no ticket is chosen: a line needs two loads or more\. Nothing was saved\.$/,
    ],
    [[newest, newest], 'drive', 'too-few-points', /^T-101 drive: one ticket is chosen/],
    [[newest, 4_000_000], 'drive', 'no-such-point', /^T-101 drive: a chosen reading is not on record with a ticket/],
    [[newest, older[0] ?? 0], 'steer', 'no-such-group', /^There is no group steer with a circuit on T-101\./],
  ]
  for (const [chosen, group, code, words] of refusals) {
    const { error, isDefined } = await calibrate(chosen, group)
    expect([isDefined && error.data.code, error?.message]).toEqual([code, expect.stringMatching(words)])
  }
  expect((await client.file.state()).revision).toBe(revision)
  await calibrate(readings)
  const again = await calibrate([newest, older[0] ?? 0])
  expect(again.isDefined && [again.error.data.code, again.error.message]).toEqual([
    'exists',
    'T-101 drive: it already has a valid calibration of that very time; void it first, or choose other tickets. Nothing was saved.',
  ])
  // Two loads at one pressure make no line; the window says so by the same words before it is asked.
  const ticket = (number: string, hour: number, weightLb: number) =>
    typedTicket(
      { ticket: number, weighedAt: new Date(Date.UTC(2026, 0, 9, hour)).toISOString() },
      { 'T-101 drive': weightLb },
      typedReading({ 'T-101 drive main': 40 }, { lift: 'none' }),
    )
  await client.weighIn.save({
    units: ['T-101'],
    scale: 'Salt Bend Yard',
    localZone: null,
    tickets: [ticket('A-1', 1, 20_000), ticket('A-2', 2, 22_000)],
    calibrate: [],
    by,
  })
  const { history, facts, readings: withFlat } = await onRecord()
  const flat = withFlat.slice(0, 2)
  const { problem } = judgeRecorded(facts, history, flat, timeNow())
  const noLine = await calibrate(flat)
  if (problem === null) throw new Error('one pressure makes no line')
  const said = sayLineProblem(problem, sayStored('UTC'))
  expect(said).toMatch(/same pressure, \d+\.\d psi/)
  expect([noLine.isDefined, noLine.error?.message]).toEqual([true, `T-101 drive: ${said} Nothing was saved.`])
  const { isDefined, error } = await safe(client.weighIn.recorded({ unit: 'T-9' }))
  expect(isDefined && error.data.code).toBe('no-such-unit')
})
