import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { beforeAll, describe, expect, it } from 'vitest'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { weighReading } from '#core/weight/combination-weights.ts'
import { weigherOf } from '#core/weight/weigher.ts'
import { openWindow } from '#tests/api/open-window.ts'
import type { Client } from '#tests/api/windows.ts'
import { heavyFleet } from '#tests/exchange/heavy-fleet.ts'
import { withFolder } from '#tests/exchange/small-fleet.ts'
import { bringBadly, wholeRecord } from '#tests/exchange/whole-record.ts'
import type { RunningApp } from '#tests/loopback/running-app.ts'
import { withStore } from '#tests/store/temporary-store.ts'
import { sayStored } from '#core/words/say.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { weighNow } from '#tests/fleet/typed.ts'
import { runAppOn } from '#tests/api/heavy-app.ts'

/** The heavy fleet with a trailer that has no sensor. */
function withBareTrailer(): Record<string, string> {
  const files = heavyFleet()
  return {
    ...files,
    'units.csv': `${files['units.csv']}V-300,trailer,,,,,,,,,\n`,
    'axle_groups.csv': `${files['axle_groups.csv']}V-300,tandem,trailer,2,40,4.1,34000,\n`,
  }
}

let app: RunningApp
let client: Client
beforeAll(async () => {
  const window = await openWindow(await runAppOn(withBareTrailer()), 'HTTP')
  ;({ app, client } = window)
  return window.end
})

const units = ['V-300', 'T-101']
const reading = {
  ...weighNow('2025-08-20T10:00:00-06:00', { 'T-101 drive main': 40 }, { elevationFt: 2640, lift: 'none' }),
  units,
}

describe('a unit that stood in a reading without a pressure of its own', () => {
  it('is kept with it: the gross is not known, never under', async () => {
    const { reading: name } = await client.weigh.save(reading)
    const { facts, unitIds, reading: stored } = await client.weigh.preview({ reading: name })
    const unitOf = new Map(facts.units.map(({ unitId, unit }) => [unitId, unit]))
    expect(unitIds.map((unitId) => unitOf.get(unitId))).toEqual(['T-101', 'V-300'])
    const { gross } = weighReading(weigherOf(facts).ready(unitIds), {
      takenAt: Date.parse(stored?.takenAt ?? ''),
      elevationFt: stored?.elevationFt ?? null,
      temperatureF: stored?.temperatureF ?? null,
      lift: stored?.lift ?? null,
      pressures: new Map(stored?.pressures.map(({ groupId, psi }) => [groupId, psi])),
      ticket: null,
    })
    expect(gross.judgement).toBeNull()
    expect(gross.missing.map(({ why }) => sayUnweighed(why, sayStored('UTC')))).toEqual([
      'V-300 tandem was not weighed: it has no circuit of its own; only a scale ticket gives its weight.',
    ])
    const verdicts = await app.context.fleet.use(({ db }) =>
      db
        .selectFrom('weighed_unit as w')
        .innerJoin('unit as u', 'u.id', 'w.unit_id')
        .select(['u.number', 'w.gross_verdict'])
        .where('w.weighed_on', '=', '2025-08-20')
        .orderBy('u.number')
        .execute(),
    )
    const known = await app.context.fleet.use(({ db }) =>
      db.selectFrom('weighed_unit').select('gross_verdict').distinct().execute(),
    )
    expect(verdicts.map(({ number }) => number)).toEqual(['T-101', 'V-300'])
    expect(new Set(verdicts.map(({ gross_verdict }) => gross_verdict)).size).toBe(1)
    expect(known.length).toBeGreaterThan(1)
    expect((await client.evidence.readings({ unit: 'V-300', limit: 10 })).rows.map((row) => row.reading)).toEqual([
      name,
    ])
  })

  it('travels in a fleet folder as a row of its unit alone, in any number of times', () =>
    withFolder((home) =>
      app.context.fleet.use(async (store) => {
        await exportFolder(store, join(home, 'out'))
        const rows = readFileSync(join(home, 'out', 'readings.csv'), 'utf8').split('\n')
        expect(rows.filter((row) => row.includes('V-300'))).toEqual([
          'W-20250820-1,2025-08-20T16:00:00Z,V-300,,,,,,2640,,none',
        ])
        await withStore(async (other) => {
          for (const [added, same] of [
            [true, false],
            [false, true],
          ]) {
            const outcome = await importFolder(other, join(home, 'out'))
            if (outcome.outcome === 'refused')
              throw new Error(outcome.problems.map(({ message }) => message).join('\n'))
            const counts = outcome.files.find(({ file }) => file === 'readings.csv')
            expect([(counts?.added ?? 0) > 0, (counts?.same ?? 0) > 0]).toEqual([added, same])
          }
          expect(wholeRecord(other)['reading_unit']).toHaveLength(1)
        })
      }),
    ))

  it('is told by all three cells of the pressure empty, not by some of them', async () => {
    const files = heavyFleet()
    await withStore(async (store) => {
      const problems = await bringBadly(store, {
        ...files,
        'readings.csv': `${files['readings.csv']}R-99,2025-08-20T16:00:00Z,T-101,drive,,40,,,2640,,none\n`,
      })
      expect(problems).toMatchObject({ problems: [{ file: 'readings.csv', column: 'circuit' }] })
    })
  })

  it('goes with the reading when its entry is undone', async () => {
    const { reading: name } = await client.weigh.save(reading)
    const { changes } = await app.context.fleet.use(async ({ db }) => ({
      changes: await db.selectFrom('change_log').select('revision').where('subject_key', '=', name).execute(),
    }))
    const revision = changes[0]?.revision ?? 0
    await client.log.undo({ revision, by: 'Ada' })
    const left = await app.context.fleet.use(({ db }) => db.selectFrom('reading_unit').selectAll().execute())
    expect(left).toHaveLength(1)
  })
})
