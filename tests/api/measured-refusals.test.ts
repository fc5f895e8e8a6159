import { safe } from '@orpc/client'
import { beforeAll, expect, it } from 'vitest'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { runApp } from '#tests/loopback/running-app.ts'

let client: Client

const by = 'M. Tarn'

beforeAll(async () => {
  const window = await openWindow(await runApp())
  client = window.client
  await client.houseRules.change({ name: 'measures', was: 0, value: 2, by })
  return window.end
})

/** What a fleet that reads kg, bar and m is told, with plain spaces. */
const toldOf = async (call: Promise<unknown>) => (await safe(call)).error?.message.replaceAll('\u00a0', ' ')

const weighed = (part: { elevationFt?: number; temperatureF?: number; psi?: number }) =>
  toldOf(
    client.weigh.save({
      units: ['T-101'],
      takenAt: '2026-03-01T14:30:00Z',
      localZone: null,
      elevationFt: part.elevationFt ?? null,
      temperatureF: part.temperatureF ?? null,
      lift: null,
      note: null,
      pressures: [{ unit: 'T-101', group: 'drive', circuit: 'main', psi: part.psi ?? 60 }],
      by,
    }),
  )
const saved = (subject: 'scale' | 'unit', values: Record<string, number | string>) =>
  toldOf(client.fleet.save({ subject, id: null, was: {}, values, reason: null, localZone: null, workedAt: null, by }))

it('a field of a call that is out of its range is told in the measures in use', async () => {
  expect(await weighed({ psi: 2100 })).toBe(
    'pressures.0.psi is 144.7899 bar, which is not accepted. -1.034 to 137.89 bar is accepted.',
  )
  expect(await weighed({ elevationFt: 30_000 })).toBe(
    'elevationFt is 9,144 m, which is not accepted. -457.2 to 6,096 m is accepted.',
  )
  expect(await weighed({ temperatureF: -148 })).toBe(
    'temperatureF is -100 °C, which is not accepted. -73.33 to 93.33 °C is accepted.',
  )
})

it('so is the value of a record’s field', async () => {
  expect(await saved('scale', { name: 'Ash Pit', elevation_ft: 30_000 })).toBe(
    'Elevation: “9,144 m” is not accepted; -457.2 to 6,096 m is.',
  )
  expect(await saved('unit', { number: 'T-9', kind: 'tractor', fifth_wheel_ft: 100, model_year: 2020 })).toBe(
    'Fifth wheel behind the front axle: “30.48 m” is not accepted; -3.048 to 18.28 m is.',
  )
  expect(await saved('unit', { number: 'T-9', kind: 'tractor', model_year: 1776 })).toBe(
    'Model year: “1776” is not accepted; a whole number from 1900 to 2100 is.',
  )
})

it('so is the value of a House Rule', async () => {
  const change = (name: 'singleAxleLimitLb' | 'wanderPsi' | 'dueNoticeDays', value: number) =>
    toldOf(client.houseRules.change({ name, was: 0, value, by }))
  expect(await change('singleAxleLimitLb', 5)).toMatch(/: 2\.26\d* kg is not accepted; 453\.6 to [\d,.]+ kg is\.$/)
  expect(await change('wanderPsi', 9000)).toMatch(/ bar per root month is not accepted; .* bar per root month is\.$/)
  expect(await change('dueNoticeDays', 9000)).toMatch(/: 9,000 days is not accepted; [\d,]+ to [\d,]+ days is\.$/)
})
