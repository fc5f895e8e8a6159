import { safe } from '@orpc/client'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { saveWeighIn } from '#core/store/save-weigh-in.ts'
import { faultDuringWork } from '#core/store/sqlite-fault.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { timeNow } from '#core/store/clock.ts'
import { Random } from '#demo/simulation/random.ts'
import { runHeavyApp } from '#tests/api/heavy-app.ts'
import { type Client, clientOver } from '#tests/api/windows.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { hourOfVisit, typedReading, typedTicket } from '#tests/fleet/typed.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'

let app: RunningApp
let client: Client
let close = () => {}
const met = { accepted: 0, refused: 0 }
/** Odd weigh-ins after which a screen gave no answer, or that were refused without a sentence. */
let failed = 0
beforeAll(async () => {
  app = await runHeavyApp()
  ;({ client, close } = await clientOver('HTTP', app))
})
afterAll(async () => {
  keepTally('siege-weigh-ins', { title: 'Odd weigh-ins, after which every screen answers', counts: met, failed })
  close()
  await app[Symbol.asyncDispose]()
})

/** A unit that nothing is on record of but its one circuit and sensor. */
const freshUnit = (unit: string, resolutionPsi: number | null) =>
  app.context.fleet.use(async ({ raw }) => {
    const id = (sql: string, ...values: unknown[]) => Number(raw.prepare(sql).run(...values).lastInsertRowid)
    raw.transaction(() => {
      const unitId = id("insert into unit (number, kind) values (?, 'truck')", unit)
      const group = id(
        "insert into axle_group (unit_id, name, role, axles, limit_lb) values (?, 'drive', 'drive', 2, 34000)",
        unitId,
      )
      const circuit = id("insert into circuit (group_id, name) values (?, 'main')", group)
      const sensor = id(
        "insert into sensor (serial, reference, resolution_psi) values (?, 'gauge', ?)",
        `of ${unit}`,
        resolutionPsi,
      )
      id(
        "insert into mount (sensor_id, circuit_id, mounted_at) values (?, ?, '2020-01-01T00:00:00.000Z')",
        sensor,
        circuit,
      )
    })()
    return unit
  })

let numbers = 0
const loads = (unit: string, points: readonly (readonly [psi: number, lb: number])[], hour = 0) =>
  points.map(([psi, lb], i) => {
    numbers += 1
    return typedTicket(
      { ticket: `Z-${numbers}`, weighedAt: hourOfVisit(timeNow(), hour + i / 10) },
      { [`${unit} drive`]: lb },
      typedReading({ [`${unit} drive main`]: psi }),
    )
  })
const visit = (unit: string, tickets: ReturnType<typeof loads>, calibrates: boolean) => ({
  units: [unit],
  scale: 'Salt Bend Yard',
  localZone: null,
  tickets,
  calibrate: calibrates ? [{ unit, group: 'drive' }] : [],
  by: 'Ada',
})

/** What every screen that shows the unit, or one of some readings of it, asks for. */
async function askScreens(unit: string, readings: readonly (string | null)[] = []): Promise<void> {
  await client.unit.sheet({ unit })
  await client.roster.list()
  await client.fleet.unit({ unit })
  await client.weighIn.prepare({ units: [unit] })
  await client.weighIn.recorded({ unit })
  for (const reading of readings) if (reading !== null) await client.weigh.preview({ reading })
}

describe('an odd weigh-in', () => {
  it.each([[0.5], [null], [0]])(
    'with pressures closer together than a sensor of %s psi resolves makes no calibration',
    async (resolution) => {
      const unit = await freshUnit(`C-${resolution}`, resolution)
      const points = [
        [1e-9, 12_000],
        [2e-9, 13_000],
      ] as const
      const { error, isDefined } = await safe(client.weighIn.save(visit(unit, loads(unit, points), true)))
      expect(isDefined && [error.data.code, error.message]).toEqual(['too-close', expect.stringContaining('apart')])
      await askScreens(unit)
    },
  )

  it('that is accepted leaves every screen of its unit answering', async () => {
    const random = new Random(`odd weigh-ins ${process.env['TARELINE_SEED'] ?? ''}`)
    const pressures = [-14, -1e-9, 0, 1e-9, 2e-9, 0.001, 0.4, 1, 1.5, 30, 30.000001, 31, 60, 150, 999, 2000]
    const weights = [0, 0.1, 1, 999, 12_000, 12_000.1, 13_000, 34_000, 399_999, 400_000]
    const pick = <T>(of: readonly T[]): T => of[Math.floor(random.next() * of.length)] as T
    let unit = ''
    for (let trial = 0; trial < (isNightly ? 2000 : 60); trial += 1) {
      // Some visits of one unit, then another that is new.
      if (trial % 3 === 0) unit = await freshUnit(`F-${trial}`, pick([null, 0, 0.1, 0.5, 50]))
      const points = Array.from(
        { length: 1 + Math.floor(random.next() * 4) },
        () => [pick(pressures), pick(weights)] as const,
      )
      const saved = await safe(
        client.weighIn.save(visit(unit, loads(unit, points, random.next() * 60), random.next() < 0.7)),
      )
      met[saved.isSuccess ? 'accepted' : 'refused'] += 1
      const told = saved.isSuccess || saved.isDefined ? 'told' : String(saved.error)
      const asked = await askScreens(unit, saved.data?.readings).then(
        () => 'answers',
        (fault: unknown) => String(fault),
      )
      if (told !== 'told' || asked !== 'answers') failed += 1
      expect([trial, points, told, asked]).toEqual([trial, points, 'told', 'answers'])
    }
    expect(Math.min(met.accepted, met.refused)).toBeGreaterThan(5)
    expect(app.reported).toEqual([])
  }, 1_800_000)
})

describe('two windows that save at the same moment', () => {
  it('one number of a ticket: the second is told so in a sentence', async () => {
    const ticket = { number: 'Z-twice', weighedAt: toStoredInstant(timeNow() - 60_000), localZone: null, grossLb: null }
    // Each has looked before the other saved.
    const save = () =>
      app.context.fleet.use(({ db }) =>
        db.transaction().execute((trx) =>
          saveWeighIn(
            trx,
            {
              scale: { id: 1, name: 'Salt Bend Yard' },
              unitIds: [1],
              tickets: [{ ...ticket, weights: [], together: [], driver: null, lane: null, reading: null }],
              readings: [],
              calibrations: [],
            },
            { by: 'Ada', at: toStoredInstant(timeNow()) },
          ),
        ),
      )
    await save()
    const error = await save().catch((fault: unknown) => fault)
    expect(faultDuringWork(error)).toMatchObject({
      code: 'exists',
      message: expect.stringMatching(/another window.*ticket.*Nothing of this was saved/s),
    })
  })

  it('anything else that is there once only, or belongs to what is gone', () => {
    const failed = (code: string, message: string) => faultDuringWork(Object.assign(new Error(message), { code }))
    expect(failed('SQLITE_CONSTRAINT_UNIQUE', 'UNIQUE constraint failed: sensor.serial')).toMatchObject({
      code: 'exists',
      message: expect.stringContaining('another window has just saved a sensor of this serial number'),
    })
    expect(failed('SQLITE_CONSTRAINT_UNIQUE', 'UNIQUE constraint failed: index ‘x’')).toMatchObject({ code: 'exists' })
    expect(failed('SQLITE_CONSTRAINT_FOREIGNKEY', 'FOREIGN KEY constraint failed')).toMatchObject({ code: 'gone' })
    expect(failed('SQLITE_CONSTRAINT_CHECK', 'CHECK constraint failed: psi')).toBeUndefined()
  })
})
