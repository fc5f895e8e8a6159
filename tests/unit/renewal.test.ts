import { expect, it } from 'vitest'
import { renewedBy } from '#renderer/client/renewal.ts'
import { procedureList, shapeOf } from '#tests/api/procedure-list.ts'

/** Whoever changes the record signs it; who has a form open is named too, and has changed nothing. */
const signed = procedureList.filter(
  ({ name, input }) => name !== 'desk.present' && input && JSON.stringify(shapeOf(input)).includes('"by":'),
)
/** What changes the open file or its copies as a whole. */
const unsigned = ['file.open', 'file.openDemo', 'folder.bringIn', 'copies.keep', 'copies.restore', 'copies.startEmpty']
const table: Readonly<Record<string, readonly string[]>> = renewedBy

it('says of every procedure of the contract, and of no other, what has to be asked again after it', () => {
  expect(Object.keys(table).sort()).toEqual(procedureList.map(({ name }) => name).sort())
})

it('has something asked again after every change, the change log first of all where it is signed', () => {
  expect(signed.length).toBeGreaterThan(15)
  expect(signed.filter(({ name }) => !table[name]?.includes('log')).map(({ name }) => name)).toEqual([])
  expect(unsigned.filter((name) => (table[name] ?? []).length === 0)).toEqual([])
})
