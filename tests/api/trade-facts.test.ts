import { beforeAll, describe, expect, it } from 'vitest'
import { timeNow } from '#core/store/clock.ts'
import { ticketSum } from '#core/evidence/slips.ts'
import { cargoAt, weighReading, weighTicket } from '#core/weight/combination-weights.ts'
import { weigherOf } from '#core/weight/weigher.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { hourOfVisit, typedReading, typedScale, typedTicket } from '#tests/fleet/typed.ts'
import { runApp } from '#tests/loopback/running-app.ts'

/*
 * Common trade practice, no publication: what an end-dump combination weighs empty and loaded, its tag axle raised, as
 * a platform scale prints it group by group, lb. The pressures are this test's own; the tag axle stands in no group, as
 * it carries nothing.
 */
const empty = { steer: 10_920, drive: 13_240, trailer: 9080, gross: 33_240 }
const loaded = { steer: 11_100, drive: 34_280, trailer: 37_760, gross: 83_140 }
const psi = { empty: { drive: 21, trailer: 11 }, loaded: { drive: 74, trailer: 79 } }

const now = timeNow()
const at = (hour: number) => hourOfVisit(now, hour)
const by = 'M. Tarn'

const ticketOf = (number: string, hour: number, weights: typeof empty, pressures: typeof psi.empty) =>
  typedTicket(
    { ticket: number, weighedAt: at(hour), grossLb: weights.gross },
    { 'T-1 steer': weights.steer, 'T-1 drive': weights.drive, 'D-1 tridem': weights.trailer },
    typedReading({ 'T-1 drive main': pressures.drive, 'D-1 tridem main': pressures.trailer }, { lift: 'raised' }),
  )

describe('an end-dump combination with its tag axle raised', () => {
  let client: Client

  beforeAll(async () => {
    const window = await openWindow(await runApp())
    client = window.client
    await client.fleet.save(typedScale('Brine Flat', by))
    const unit = (number: string, kind: string, grossLb: number | null, groups: object[]) =>
      client.fleet.addUnit({
        values: { number, kind, gross_limit_lb: grossLb },
        groups: groups as never,
        mountedAt: at(-1),
        newReference: 'gauge',
        sensor: { cell: 'CR2450', report_every_s: 300 },
        localZone: null,
        by,
      })
    await unit('T-1', 'tractor', 80_000, [
      {
        values: { name: 'steer', role: 'steer', axles: 1, limit_lb: 12_000, first_axle_ft: 0, measured_by: 'estimate' },
        circuits: [],
      },
      {
        values: { name: 'drive', role: 'drive', axles: 2, limit_lb: 34_000, measured_by: 'circuit' },
        circuits: [{ values: { name: 'main' }, serial: 'PA-1' }],
      },
    ])
    await unit('D-1', 'trailer', null, [
      {
        values: { name: 'tridem', role: 'trailer', axles: 3, limit_lb: 42_000, measured_by: 'circuit' },
        circuits: [{ values: { name: 'main' }, serial: 'PA-2' }],
      },
    ])
    await client.weighIn.save({
      units: ['T-1', 'D-1'],
      scale: 'Brine Flat',
      localZone: null,
      tickets: [ticketOf('1', 0, empty, psi.empty), ticketOf('2', 2, loaded, psi.loaded)],
      calibrate: [
        { unit: 'T-1', group: 'drive' },
        { unit: 'D-1', group: 'tridem' },
      ],
      by,
    })
    return window.end
  })

  const ready = async () => {
    const { facts, unitIds } = await client.weigh.preview({ units: ['T-1', 'D-1'] })
    return weigherOf(facts).ready(unitIds)
  }
  const readingOf = (combination: Awaited<ReturnType<typeof ready>>, pressures: typeof psi.empty, hour: number) =>
    weighReading(combination, {
      takenAt: Date.parse(at(hour)),
      elevationFt: null,
      temperatureF: null,
      lift: 'raised',
      ticket: null,
      pressures: new Map(
        combination.plan.groups.flatMap(({ place, name }) =>
          name.endsWith('steer')
            ? []
            : [[place.groupId, [name.endsWith('drive') ? pressures.drive : pressures.trailer]] as const],
        ),
      ),
    })

  it('its groups add up to the gross that is printed', () => {
    for (const { steer, drive, trailer, gross } of [empty, loaded]) {
      const ticket = { grossLb: gross, weightsLb: [steer, drive, trailer], together: [] } as unknown as Parameters<
        typeof ticketSum
      >[0]
      expect(ticketSum(ticket, 20)).toMatchObject({ sumLb: gross, errorLb: 0 })
    }
  })

  it('the steer axle gains 180 lb while the drives gain 21,040', () => {
    expect([loaded.steer - empty.steer, loaded.drive - empty.drive]).toEqual([180, 21_040])
  })

  it('lines of these two loads read both back, and the steer estimate follows', async () => {
    const combination = await ready()
    for (const [weights, pressures] of [
      [empty, psi.empty],
      [loaded, psi.loaded],
    ] as const) {
      const { groups } = readingOf(combination, pressures, 3)
      const read = groups.map(({ weighing }, place) => ({
        name: combination.plan.groups[place]?.name,
        byLineLb: weighing.weighed ? (weighing.byLine?.weightLb ?? null) : null,
        bestLb: weighing.weighed ? Math.round(weighing.weightLb / 20) * 20 : null,
      }))
      const of = (name: string) => read.find((each) => each.name === name)
      expect(of('T-1 drive')?.byLineLb).toBeCloseTo(weights.drive, 3)
      expect(of('D-1 tridem')?.byLineLb).toBeCloseTo(weights.trailer, 3)
      // What all evidence says differs by two divisions at most, and so does the steer axle, which follows the drives.
      expect(Math.abs((of('T-1 drive')?.bestLb ?? 0) - weights.drive)).toBeLessThanOrEqual(40)
      expect(Math.abs((of('D-1 tridem')?.bestLb ?? 0) - weights.trailer)).toBeLessThanOrEqual(40)
      expect(Math.abs((of('T-1 steer')?.bestLb ?? 0) - weights.steer)).toBeLessThanOrEqual(40)
    }
  })

  it('what the loaded ticket has above the empty one is a cargo of 49,900 lb', async () => {
    const combination = await ready()
    const weights = weighTicket(combination, {
      scaleId: 1,
      lift: 'raised',
      grossLb: loaded.gross,
      together: [],
      weightsLb: new Map(
        combination.plan.groups.map(({ place, name }) => [
          place.groupId,
          name.endsWith('steer') ? loaded.steer : name.endsWith('drive') ? loaded.drive : loaded.trailer,
        ]),
      ),
    })
    const { tare, cargo } = cargoAt(combination, weights, Date.parse(at(2)))
    expect(tare).toMatchObject({ ok: true, value: { weight: { weightLb: 33_240 } } })
    expect(cargo?.weightLb).toBe(49_900)
    // With limits of 12,000, 34,000, 42,000 and 80,000 lb the gross is over and the trailer under.
    const verdicts = Object.fromEntries(
      weights.groups.map(({ judgement }, place) => [combination.plan.groups[place]?.name, judgement?.verdict]),
    )
    expect(verdicts).toMatchObject({ 'T-1 steer': 'under', 'D-1 tridem': 'under' })
    expect(weights.gross.judgement).toMatchObject({ verdict: 'over', limitLb: 80_000 })
    expect(weights.gross.total?.weightLb).toBe(loaded.gross)
  })
})
