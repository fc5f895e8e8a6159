import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { readUnitSheet } from '#core/api/handlers/unit.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { readFigures } from '#core/store/books.ts'
import { catchUp } from '#core/store/catch-up.ts'
import type { Store } from '#core/store/open.ts'
import { simulateFleet } from '#tests/bed/simulate-fleet.ts'
import { openNewStore } from '#tests/store/temporary-store.ts'

describe('the Unit sheet of a fleet that has learnt its own leveling', () => {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-sheet-'))
  let store: Store
  let asOf: number

  beforeAll(async () => {
    const { lastDay } = simulateFleet({
      folder: join(folder, 'fleet'),
      seed: 'sheet',
      units: 40,
      months: 18,
      faults: {},
    })
    asOf = Date.parse(`${lastDay}T23:59:59.999Z`)
    store = await openNewStore(join(folder, 'fleet.tareline'))
    expect((await importFolder(store, join(folder, 'fleet'))).outcome).toBe('stored')
    await catchUp(store, asOf)
  })
  afterAll(async () => {
    await store.close()
    rmSync(folder, { recursive: true, force: true })
  })

  it('shows the very line that was judged and stored, uncertainties and all', async () => {
    expect((await readFigures(store.db))?.figures.estimates.leveling.u).not.toBeNull()
    const standings = await store.db
      .selectFrom('group_standing as s')
      .innerJoin('unit as u', 'u.id', 's.unit_id')
      .selectAll('s')
      .select('u.number')
      .orderBy('s.group_id')
      .limit(6)
      .execute()
    expect(standings.length).toBe(6)
    for (const standing of standings) {
      const { groups } = await readUnitSheet(store, standing.number, asOf)
      const shown = groups.find(({ id }) => id === standing.group_id)?.calibrations.find(({ current }) => current)
      expect(shown?.id).toBe(standing.calibration_id)
      expect(shown?.line).toEqual({
        a: standing.a,
        b: standing.b,
        uA: standing.u_a,
        uB: standing.u_b,
        covAB: standing.cov_ab,
      })
    }
  })
})
