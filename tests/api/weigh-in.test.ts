import { safe } from '@orpc/client'
import { beforeAll, describe, expect, it } from 'vitest'
import { figuresFromText } from '#core/cells/fleet-figures.ts'
import { type WeighInRow, judgeWeighIn } from '#core/findings/weigh-in.ts'
import { timeNow } from '#core/store/clock.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { openWindow } from '#tests/api/open-window.ts'
import { type Client, ways } from '#tests/api/windows.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { hourOfVisit, typedReading, typedTicket } from '#tests/fleet/typed.ts'

const at = (hour: number) => hourOfVisit(timeNow(), hour)

/** Three tickets on one line: drive = 2,000 + 400 psi, tandem = 3,000 + 380 psi of the mean. */
const loads = [20, 45, 70].map((psi, i) =>
  typedTicket(
    { ticket: `9000${i}`, weighedAt: at(i), grossLb: 12_000 + 2000 + 400 * psi + 3000 + 380 * psi },
    { 'T-101 steer': 12_000, 'T-101 drive': 2000 + 400 * psi, 'V-201 tandem': 3000 + 380 * psi },
    typedReading({ 'T-101 drive main': psi, 'V-201 tandem left': psi, 'V-201 tandem right': psi }, { lift: 'none' }),
  ),
)
const visit = {
  units: ['T-101', 'V-201'],
  scale: 'Salt Bend Yard',
  localZone: 'America/Denver',
  tickets: loads,
  calibrate: [
    { unit: 'T-101', group: 'drive' },
    { unit: 'V-201', group: 'tandem' },
  ],
  by: 'Ada',
}

describe.each(ways)('a visit to the scale over %s', (way) => {
  let app: RunningApp
  let client: Client
  beforeAll(async () => {
    const window = await openWindow(await runHeavyApp(), way)
    ;({ app, client } = window)
    return window.end
  })

  const rows = () =>
    app.context.fleet.use(async ({ db }) => {
      const count = async (table: 'ticket' | 'reading' | 'calibration' | 'change_log') =>
        (
          await db
            .selectFrom(table)
            .select(({ fn }) => fn.countAll<number>().as('n'))
            .executeTakeFirstOrThrow()
        ).n
      return [await count('ticket'), await count('reading'), await count('calibration'), await count('change_log')]
    })

  it.each([
    [
      'a number that the scale has a ticket of',
      { tickets: [{ ...loads[0], ticket: '30600' }] as never, calibrate: [] },
      'exists',
    ],
    [
      'the same number twice',
      { tickets: [loads[0], { ...loads[1], ticket: loads[0]?.ticket }] as never, calibrate: [] },
      'exists',
    ],
    ['a scale that is not there', { scale: 'Nowhere' }, 'no-such-scale'],
    ['a group that is not there', { calibrate: [{ unit: 'T-101', group: 'tag' }] }, 'no-such-group'],
    ['one load only', { tickets: loads.slice(0, 1) }, 'too-few-points'],
    [
      'a circuit twice',
      {
        tickets: loads.map((load) => ({
          ...load,
          reading: { ...load.reading, pressures: [...load.reading.pressures, load.reading.pressures[0]] },
        })) as never,
      },
      'twice',
    ],
    [
      'a weight twice',
      { tickets: loads.map((load) => ({ ...load, weights: [...load.weights, load.weights[1]] })) as never },
      'twice',
    ],
    ['a calibration twice', { calibrate: [...visit.calibrate, visit.calibrate[0]] as never }, 'twice'],
    ['tickets without a scale', { scale: null }, 'no-scale'],
    [
      'a reading ahead',
      { readings: [{ ...loads[0]?.reading, takenAt: '2199-01-01T00:00:00Z' }] as never },
      'in-the-future',
    ],
    [
      'a time ahead',
      { tickets: [{ ...loads[0], weighedAt: '2199-01-01T00:00:00Z' }] as never, calibrate: [] },
      'in-the-future',
    ],
    [
      'pressures that make no line',
      {
        tickets: loads.slice(0, 2).map((load) => ({
          ...load,
          reading: { ...load.reading, pressures: load.reading.pressures.map((each) => ({ ...each, psi: 40 })) },
        })),
      },
      'identical-x',
    ],
  ])('refuses %s, and keeps nothing of it', async (_, part, code) => {
    const before = await rows()
    const { error, isDefined } = await safe(client.weighIn.save({ ...visit, ...part }))
    expect(isDefined && error.data.code).toBe(code)
    expect(await rows()).toEqual(before)
  })

  it('judges before saving as it does after, saves all in one step, and voids with a reason', async () => {
    const { histories, scales, rules, figures, units, headYardFt } = await client.weighIn.prepare({
      units: visit.units,
    })
    expect(units.map(({ unit, groups }) => [unit, groups.map(({ group, sensed }) => `${group} ${sensed}`)])).toEqual([
      ['T-101', ['steer false', 'drive true']],
      ['V-201', ['tandem true']],
    ])
    const groupId = (unit: string, group: string) =>
      units.find((each) => each.unit === unit)?.groups.find((each) => each.group === group)?.groupId as number
    const scaleId = scales.find(({ name }) => name === visit.scale)?.scaleId as number
    const typed = loads.map(
      (load): WeighInRow => ({
        ticket: load.ticket,
        weighedAt: Date.parse(load.weighedAt),
        scaleId,
        grossLb: load.grossLb,
        elevationFt: null,
        lift: 'none',
        weightsLb: new Map(load.weights.map(({ unit, group, weightLb }) => [groupId(unit, group), weightLb])),
        psi: new Map([
          [groupId('T-101', 'drive'), [load.reading.pressures[0]?.psi ?? null]],
          [
            groupId('V-201', 'tandem'),
            [load.reading.pressures[1]?.psi ?? null, load.reading.pressures[2]?.psi ?? null],
          ],
        ]),
      }),
    )
    const facts = {
      histories,
      scales: new Map(scales.map((scale) => [scale.scaleId, scale])),
      rules,
      estimates: figuresFromText(figures as string).estimates,
      units,
      headYardFt,
    }
    const outcome = judgeWeighIn(
      facts,
      typed,
      new Set([groupId('T-101', 'drive'), groupId('V-201', 'tandem')]),
      timeNow(),
    )
    const drive = outcome.groups.find(({ history }) => history.group === 'drive')
    expect(drive?.line?.fit.a).toBeCloseTo(2000, 6)
    expect(drive?.line?.fit.b).toBeCloseTo(400, 8)
    expect(drive?.asFound).toHaveLength(3)
    expect(outcome.tickets).toEqual([[], [], []])

    const saved = await client.weighIn.save(visit)
    expect([saved.readings.length, saved.calibrations]).toEqual([3, 2])
    const sheet = await client.unit.sheet({ unit: 'T-101' })
    const group = sheet.groups.find(({ name }) => name === 'drive')
    const current = group?.calibrations.find((each) => each.current)
    expect([current?.line?.a, current?.line?.b]).toEqual([drive?.line?.line.a, drive?.line?.line.b])
    expect(current?.calibratedBy).toBe('Ada')
    expect(group?.trust).toBe(drive?.after.trust)
    const codes = (found: readonly { code: string }[]) => found.map(({ code }) => code).sort()
    expect(
      codes(sheet.findings.filter((finding) => finding.group === 'drive' && !finding.code.startsWith('battery'))),
    ).toEqual(codes(drive?.after.findings ?? []))

    expect(
      await client.weighIn.voidCalibration({
        id: current?.id as number,
        reason: 'The dolly stood on the scale',
        by: 'Ada',
      }),
    ).toEqual({ voided: true })
    const voided = (await client.unit.sheet({ unit: 'T-101' })).groups
      .find(({ name }) => name === 'drive')
      ?.calibrations.find(({ id }) => id === current?.id)
    expect([voided?.current, voided?.voidReason]).toEqual([false, 'The dolly stood on the scale'])
    const again = await safe(client.weighIn.voidCalibration({ id: current?.id as number, reason: 'x', by: 'Ada' }))
    expect(again.isDefined && again.error.data.code).toBe('voided-already')
    const log = await app.context.fleet.use(({ db }) =>
      db.selectFrom('change_log').select(['subject', 'action']).orderBy('id', 'desc').limit(9).execute(),
    )
    expect(log.map(({ subject, action }) => `${subject} ${action}`)).toEqual([
      'calibration voided',
      'calibration added',
      'calibration added',
      'reading added',
      'ticket added',
      'reading added',
      'ticket added',
      'reading added',
      'ticket added',
    ])
    // Voided, its time is free again.
    expect(
      (
        await client.weighIn.save({
          ...visit,
          tickets: loads.map((load) => ({ ...load, ticket: `${load.ticket}b` })),
          calibrate: [{ unit: 'T-101', group: 'drive' }],
        })
      ).calibrations,
    ).toBe(1)
  })

  it('keeps pressures without a ticket as a reading, with tickets or by themselves, in one step', async () => {
    const alone = typedReading({ 'T-101 drive main': 33 }, { elevationFt: 2640 })
    const none = await safe(client.weighIn.save({ ...visit, scale: null, tickets: [], calibrate: [] }))
    expect(none.isDefined && [none.error.data.code, none.error.message]).toEqual([
      'not-accepted',
      expect.stringContaining('At least one ticket or reading is needed'),
    ])
    const saved = await client.weighIn.save({
      ...visit,
      scale: null,
      tickets: [],
      readings: [{ ...alone, takenAt: at(5) }],
      calibrate: [],
    })
    expect(saved).toEqual({
      tickets: [],
      readings: [],
      alone: [expect.stringMatching(/^W-\d{8}-\d+$/)],
      calibrations: 0,
      clockOffMs: 0,
    })
    const both = await client.weighIn.save({
      ...visit,
      tickets: [{ ...loads[0], ticket: '90010', weighedAt: at(6) } as never],
      readings: [{ ...alone, takenAt: at(7) }],
      calibrate: [],
    })
    expect([both.readings.length, both.alone.length]).toEqual([1, 1])
    const { reading } = await client.weigh.preview({ reading: both.alone[0] as string })
    expect(reading).toMatchObject({ elevationFt: 2640, ticket: null })
    // One step: undone as one.
    const revision = await app.context.fleet.use(({ db }) =>
      db
        .selectFrom('change_log')
        .select(['revision', ({ fn }) => fn.countAll<number>().as('n')])
        .groupBy('revision')
        .orderBy('revision', 'desc')
        .executeTakeFirstOrThrow(),
    )
    expect(revision.n).toBe(3)
  })
})
