import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { importFolder } from '#core/exchange/import-folder.ts'
import { timeNow } from '#core/store/clock.ts'
import { smallFleet, withFleetFolder } from '#tests/exchange/small-fleet.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'
import { type Client, clientOver } from './windows.ts'
import { typedReading, typedTicket, weighNow } from '#tests/fleet/typed.ts'

/** What follows from a change, as three people met it who were shown something else. */

const by = 'R. Roe'
const minutesAgo = (minutes: number) => new Date(Math.floor(timeNow() / 60_000 - minutes) * 60_000).toISOString()

let app: RunningApp
let client: Client
let close: () => void

beforeEach(async () => {
  app = await runApp()
  await app.context.fleet.use((store) => withFleetFolder(smallFleet(), (folder) => importFolder(store, folder)))
  ;({ client, close } = await clientOver('a message port', app))
  // The day's judgement: as when the first window was opened in the morning.
  await client.roster.list()
  await client.heavy.list({})
})
afterEach(async () => {
  close()
  await app[Symbol.asyncDispose]()
})

const ticket = (number: string, minutes: number, weightLb: number, psi: number) =>
  typedTicket(
    { ticket: number, weighedAt: minutesAgo(minutes) },
    { 'T-101 drive': weightLb },
    typedReading({ 'T-101 drive main': psi }, { elevationFt: 2640 }),
  )

const lineOf = async (unit: string) => {
  const { rows } = await client.evidence.calibrations({ unit })
  return rows[0]?.line
}

describe('a weigh-in that is typed late', () => {
  it('weighs the readings anew that were taken after it and stored before it', async () => {
    const { reading } = await client.weigh.save(weighNow(minutesAgo(60), { 'T-101 drive main': 66 }))
    await client.weighIn.save({
      units: ['T-101'],
      scale: 'Salt Bend Yard',
      localZone: null,
      tickets: [ticket('N1', 300, 14_000, 18.2), ticket('N2', 240, 26_000, 41), ticket('N3', 180, 37_000, 65)],
      readings: [],
      calibrate: [{ unit: 'T-101', group: 'drive' }],
      by,
    })
    const { current, rows } = await client.heavy.list({})
    expect(current).toBe(true)
    const [weighed] = rows.filter((row) => row.reading === reading && row.kind === 'group')
    expect(weighed).toMatchObject({ group: 'drive', verdict: 'over' })
    expect(weighed?.weightLb).toBeGreaterThan(37_000)
  })
})

describe('a correction that is undone', () => {
  it('takes the line of the trailer back too, and stands in the log of the trailer', async () => {
    const before = await lineOf('V-201')
    const { rows } = await client.evidence.tickets({ text: '30420' })
    const id = rows[0]?.id as number
    const { values } = await client.evidence.sheet({ kind: 'ticket', id })
    const was = { 'V-201 tandem_lb': values['V-201 tandem_lb'] ?? null }
    await client.evidence.correct({
      kind: 'ticket',
      id,
      was,
      now: { 'V-201 tandem_lb': 30_100 },
      reason: 'The paper says so',
      by,
      tryOut: false,
    })
    const corrected = await lineOf('V-201')
    expect(corrected?.b).not.toBe(before?.b)
    const last = await client.log.last()
    await client.log.undo({ revision: last?.revision as number, by })
    expect(await lineOf('V-201')).toEqual(before)
    const { rows: log } = await client.log.list({ unit: 'V-201' })
    expect(log.slice(0, 2).map(({ subject, action }) => `${subject} ${action}`)).toEqual([
      'ticket undone',
      'ticket corrected',
    ])
  })
})

describe('readings of the day', () => {
  it('are judged on the day they come in', async () => {
    const sides = async () =>
      (await client.unit.sheet({ unit: 'V-201' })).findings.filter(({ code }) => code === 'side-imbalance')
    const [before] = await sides()
    expect(before?.numbers['difference_psi']).toBeLessThan(15)
    for (let i = 5; i > 0; i -= 1)
      await client.weighIn.save({
        units: ['V-201'],
        scale: null,
        localZone: null,
        tickets: [],
        readings: [
          {
            // After the day's judgement, however soon.
            takenAt: new Date(timeNow() - i).toISOString(),
            // The right one's sensor is absolute: the air weighs on it too.
            ...typedReading({ 'V-201 tandem left': 90, 'V-201 tandem right': 50 }, { elevationFt: 2640 }),
          },
        ],
        calibrate: [],
        by,
      })
    const [found] = await sides()
    expect(found?.numbers['difference_psi']).toBeGreaterThan(50)
  })
})
