import { expect, it } from 'vitest'
import type { ForeignMapping } from '#core/foreign/mapping/mapping.ts'
import { listChanges } from '#core/store/change-log.ts'
import { listMappings, removeMapping, saveMapping } from '#core/store/mappings.ts'
import { lastStep, undoProblem, undoStep } from '#core/store/undo.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const hand = { by: 'M. Tarn', at: '2026-03-01T12:00:00.000Z' }
const mapping: ForeignMapping = {
  kind: 'tickets',
  delimiter: 'semicolon',
  encoding: 'windows-1252',
  skipLines: 1,
  dateOrder: 'day first',
  zone: 'Europe/Berlin',
  decimal: 'comma',
  thousands: 'point',
  weight: 'kg',
  pressure: 'bar',
  elevation: 'm',
  temperature: '°C',
  layout: 'long',
  place: 'circuit',
  fields: { ticket: { column: 'Schein' }, scale: { fixed: 'Salt Bend Yard' } },
  values: [],
}

it('a mapping is saved, renamed and removed by name, each told in the log and each undone', () =>
  withStore(async (store) => {
    const save = (id: number | null, name: string) =>
      store.db.transaction().execute((db) => saveMapping(db, { id, name, mapping }, hand))
    const names = async () => (await listMappings(store.db)).map(({ name }) => name)
    const undo = async () => {
      const step = await lastStep(store.db)
      if (!step) throw new Error('there is nothing to undo')
      expect(undoProblem(step)).toBeNull()
      await store.db.transaction().execute((db) => undoStep(db, step.revision, hand))
    }
    const id = await save(null, 'Bridge')
    expect(await listMappings(store.db)).toEqual([{ id, name: 'Bridge', mapping }])
    await expect(save(null, 'Bridge')).rejects.toMatchObject({ code: 'taken', field: 'name' })
    await save(id, 'Bridge north')
    await store.db.transaction().execute((db) => removeMapping(db, id, hand))
    expect(await names()).toEqual([])
    await expect(save(id, 'Bridge')).rejects.toMatchObject({ code: 'gone' })
    await expect(store.db.transaction().execute((db) => removeMapping(db, id, hand))).rejects.toMatchObject({
      code: 'gone',
    })
    expect(
      (await listChanges(store.db, { subject: 'mapping' }, { limit: 9 })).map(({ action, subject_key }) => [
        action,
        subject_key,
      ]),
    ).toEqual([
      ['removed', 'Bridge north'],
      ['changed', 'Bridge'],
      ['added', 'Bridge'],
    ])
    await undo()
    expect(await names()).toEqual(['Bridge north'])
    await undo()
    expect(await names()).toEqual(['Bridge'])
    await undo()
    expect(await names()).toEqual([])
  }))

it('a mapping that a later version wrote is left where it is and not offered', () =>
  withStore(async (store) => {
    await store.db.insertInto('mapping').values({ name: 'Later', settings: '{"kind":"photos"}' }).execute()
    expect(await listMappings(store.db)).toEqual([])
  }))
