import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ByName, nameKey, tidyName } from '#core/words/names.ts'

const plain = fc.string({ unit: 'grapheme-ascii' })
const odd = fc.string({
  unit: fc.constantFrom(
    'T',
    '1',
    '-',
    ' ',
    'é',
    'e',
    '\u0301',
    '\u200b',
    '\ufeff',
    '\u202e',
    'Ｔ',
    '１',
    '–',
    'Т',
    'ﬁ',
    'Å',
    '\u00ad',
  ),
})

describe('a name', () => {
  it('of the plain keyboard is left as it is, but for blanks around it', () => {
    fc.assert(
      fc.property(plain, (name) => {
        expect([tidyName(name), nameKey(name)]).toEqual([name.trim(), name.trim()])
      }),
    )
  })

  it('is tidy once it was tidied, and compared alike before and after', () => {
    fc.assert(
      fc.property(fc.oneof(odd, fc.string({ unit: 'binary' })), (name) => {
        const tidy = tidyName(name)
        expect(tidyName(tidy)).toBe(tidy)
        expect(nameKey(tidy)).toBe(nameKey(name))
        expect(nameKey(nameKey(name))).toBe(nameKey(name))
      }),
      { numRuns: 2000 },
    )
  })

  it.each([
    ['T-1\u200b01', 'T-101'],
    ['\ufeffT-101', 'T-101'],
    ['T\u00ad-101', 'T-101'],
    ['T-101\u202c', 'T-101'],
    ['Jose\u0301 Yard', 'José Yard'],
    ['Señor 5', 'Señor 5'],
    ['Ｔ-101', 'Ｔ-101'],
    ['\u200b', ''],
  ])('%j is stored as %j', (typed, stored) => {
    expect(tidyName(typed)).toBe(stored)
  })

  it.each(['Ｔ-１０１', 'T–101', 'T‑101', 'T−101', 'Т-101', 'Τ-101', 'T-101\u2060'])('%j looks like T-101', (name) => {
    expect(nameKey(name)).toBe('T-101')
  })

  it.each(['t-101', 'T-1O1', 'T-102', 'T101', 'Ж-101'])('%j does not', (name) => {
    expect(nameKey(name)).not.toBe('T-101')
  })
})

it('a map by names finds the very spelling before one that looks the same', () => {
  const found = new ByName([
    ['T-101', 1],
    ['Т-101', 2],
    ['Señor', 3],
  ])
  expect(['T-101', 'Т-101', 'Ｔ-101', 'T-101\u200b', 'Sen\u0303or', 'T-102'].map((name) => found.get(name))).toEqual([
    1,
    2,
    1,
    1,
    3,
    undefined,
  ])
  expect([found.has('Ｔ-101'), found.has('X')]).toEqual([true, false])
})

it('a map by names knows nothing of a row without a name, whatever was asked for and put in before it', () => {
  const found = new ByName([['T-101', 1]])
  const nameless = undefined as unknown as string
  expect([found.get('T-101'), found.set('T-102', 2).get(nameless)]).toEqual([1, undefined])
})
