import { beforeAll, expect, it } from 'vitest'
import { timeNow } from '#core/store/clock.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { hourOfVisit, typedReading, typedTicket } from '#tests/fleet/typed.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'

let app: RunningApp
let client: Client
beforeAll(async () => {
  const window = await openWindow(await runHeavyApp())
  ;({ app, client } = window)
  return window.end
})

const stored = (table: 'ticket' | 'reading', column: 'driver' | 'lane' = 'driver') =>
  app.context.fleet.use(async ({ raw }) =>
    raw.prepare(`select ${column} from ${table} where ${column} is not null order by id`).pluck().all(),
  )
const told = async () =>
  (await client.log.list({ limit: 20 })).rows.flatMap(({ fields }) =>
    fields.flatMap(({ name, new: now }) => (name === 'driver' ? [now] : [])),
  )

it('keeps who drove with a weigh-in and a reading, in the log too, and shows it as the House Rules say', async () => {
  const at = (hour: number) => hourOfVisit(timeNow(), hour)
  const noted = typedReading({ 'T-101 drive main': 60 }, { lift: 'none' })
  const visit = { units: ['T-101'], localZone: 'America/Denver', by: 'Ada' }
  await client.weighIn.save({
    ...visit,
    scale: 'Salt Bend Yard',
    tickets: [
      {
        ...typedTicket({ ticket: '90001', weighedAt: at(0) }, { 'T-101 drive': 26_000 }, noted),
        driver: 'R. Stone',
        lane: 'Quarry 2',
      },
      typedTicket({ ticket: '90002', weighedAt: at(1) }, { 'T-101 drive': 26_000 }, noted),
    ],
    calibrate: [],
  })
  await client.weigh.save({ ...visit, ...noted, takenAt: at(2), note: null, driver: 'L. Marsh', lane: 'Silo' })
  expect(await stored('ticket')).toEqual(['R. Stone'])
  expect(await stored('reading')).toEqual(['R. Stone', 'L. Marsh'])
  expect(await stored('ticket', 'lane')).toEqual(['Quarry 2'])
  expect(await stored('reading', 'lane')).toEqual(['Quarry 2', 'Silo'])
  expect((await told()).sort()).toEqual(['L. Marsh', 'R. Stone', 'R. Stone'])
  expect((await client.weigh.combinations()).namesDrivers).toBe(true)
  await client.houseRules.change({ name: 'drivers', value: 1, was: 0, by: 'Ada' })
  expect((await client.weigh.combinations()).namesDrivers).toBe(false)
  expect(await told()).toEqual(['not shown', 'not shown', 'not shown'])
})
