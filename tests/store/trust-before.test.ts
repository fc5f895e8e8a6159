import { expect, it } from 'vitest'
import { readToday } from '#core/api/today-view.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { smallFleet, withFleetFolder } from '#tests/exchange/small-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const day = 86_400_000
const first = Date.UTC(2025, 6, 20, 12)

it('a day that changed the trust of a group tells what it was before, however often the day is judged', () =>
  withStore(async (store) => {
    expect((await withFleetFolder(smallFleet(), (folder) => importFolder(store, folder))).outcome).toBe('stored')
    await catchUp(store, first)
    const trustOn = async (at: number) => (await readToday(store, {}, judgedAt(at, 'UTC'))).page.changed.trust
    expect(await trustOn(first)).toEqual({ total: 0, rows: [] })

    const later = first + 400 * day
    await catchUp(store, later)
    const moved = await trustOn(later)
    expect(moved.total).toBeGreaterThan(0)
    for (const { was, now, on } of moved.rows) {
      expect(was).not.toBe(now)
      expect(on).toBe('2025-07-20')
    }

    store.raw.exec("insert into behind_fleet (what, since) values ('judge', 0)")
    await catchUp(store, later)
    expect(await trustOn(later)).toEqual(moved)

    await catchUp(store, later + day)
    expect(await trustOn(later + day)).toEqual({ total: 0, rows: [] })
  }))
