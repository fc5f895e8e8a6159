import { describe, expect, it } from 'vitest'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import type { Store } from '#core/store/open.ts'
import { broughtOnDesk } from '#core/words/desk.ts'
import { type FleetFiles, smallFleet, withFleetFolder } from '#tests/exchange/small-fleet.ts'
import { wholeRecord } from '#tests/exchange/whole-record.ts'
import { withStore } from '#tests/store/temporary-store.ts'

/** Brings a folder in; answers the outcome, and the files whose rows were read on the way. */
async function bringAgain(store: Store, files: FleetFiles): Promise<{ outcome: ImportOutcome; read: string[] }> {
  const stages: string[] = []
  const outcome = await withFleetFolder(files, (folder) =>
    importFolder(store, folder, { onProgress: ({ stage }) => stages.push(stage) }),
  )
  // A file that is known is told once, as it is begun; one that is read is told again with each block.
  const read = stages.filter((stage, place) => stage.startsWith('Reading ') && stages.indexOf(stage) !== place)
  return { outcome, read: [...new Set(read)].map((stage) => stage.slice('Reading '.length)) }
}

/** Adds a column of another name, as a later version of a house's own list may have. */
const withStrangeColumn = (files: FleetFiles): FleetFiles => ({
  ...files,
  'yards.csv': (files['yards.csv'] ?? '').trimEnd().replaceAll('\n', ',\n').concat(',\n').replace(',\n', ',phone\n'),
})

const sums = (outcome: ImportOutcome) =>
  outcome.outcome === 'stored'
    ? Object.fromEntries(outcome.files.map(({ file, read, added, same }) => [file, [read, added, same]]))
    : outcome.problems.map(({ message }) => message)

describe('a file that comes again byte for byte', () => {
  it('is known by its digest and counted as the same, nothing written', () =>
    withStore(async (store) => {
      const first = await bringAgain(store, smallFleet())
      expect(first.read).toHaveLength(12)
      const before = wholeRecord(store)
      const second = await bringAgain(store, smallFleet())
      expect(second.read).toEqual([])
      expect(sums(second.outcome)).toEqual(
        Object.fromEntries(Object.entries(sums(first.outcome)).map(([file, [read]]) => [file, [read, 0, read]])),
      )
      expect(wholeRecord(store)).toEqual(before)
    }))

  it('is known beside another that has something new, and both are known from then on', () =>
    withStore(async (store) => {
      await bringAgain(store, smallFleet())
      const more = { ...smallFleet(), 'scales.csv': `${smallFleet()['scales.csv']}Tern Flat,20,,\n` }
      const { outcome, read } = await bringAgain(store, more)
      expect(read).toEqual(['scales.csv'])
      expect(sums(outcome)).toMatchObject({ 'scales.csv': [2, 1, 1], 'readings.csv': [16, 0, 16] })
      expect((await bringAgain(store, more)).read).toEqual([])
      expect((await bringAgain(store, smallFleet())).read).toEqual([])
    }))

  it('is read row by row once anything else was done, and refused where it contradicts that', () =>
    withStore(async (store) => {
      await bringAgain(store, smallFleet())
      store.raw.exec(
        'update ticket_weight set weight_lb = 10140 where id = 1; update ledger set revision = revision + 1',
      )
      const { outcome, read } = await bringAgain(store, smallFleet())
      expect(read).toContain('tickets.csv')
      expect(sums(outcome)).toEqual([
        'tickets.csv line 2, weight_lb: "10120" contradicts "10140", which is recorded already.',
      ])
    }))

  it('is read where one of its bytes is another', () =>
    withStore(async (store) => {
      await bringAgain(store, smallFleet())
      const { 'readings.csv': text = '' } = smallFleet()
      const { outcome, read } = await bringAgain(store, {
        ...smallFleet(),
        'readings.csv': text.replace('18.2', '18.3'),
      })
      expect(read).toEqual(['readings.csv'])
      expect(sums(outcome)).toEqual(['readings.csv line 2, psi: "18.3" contradicts "18.2", which is recorded already.'])
    }))

  it.each(['no JSON', '{"revision":1,"files":[]}\0 and more', '[]', '{"revision":"1","files":{}}'])(
    'is read row by row where the note of it says nothing: %j',
    (text) =>
      withStore(async (store) => {
        await bringAgain(store, smallFleet())
        store.raw.prepare('update desk set text = ? where name = ?').run(text, broughtOnDesk)
        const { outcome, read } = await bringAgain(store, smallFleet())
        expect(read).toHaveLength(12)
        expect(sums(outcome)).toMatchObject({ 'readings.csv': [16, 0, 16] })
      }),
  )

  it('has told something, and tells it again', () =>
    withStore(async (store) => {
      const files = withStrangeColumn(smallFleet())
      const notes = ['yards.csv: the column "phone" is not known and was passed over.']
      expect((await bringAgain(store, files)).outcome).toMatchObject({ outcome: 'stored', notes })
      expect((await bringAgain(store, files)).outcome).toMatchObject({ outcome: 'stored', notes })
    }))
})
