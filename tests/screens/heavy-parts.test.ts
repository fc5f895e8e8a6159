import { expect, test } from '@playwright/test'
import { share } from '#renderer/parts/format.ts'
import { lineAfter } from '#renderer/parts/line-keys.ts'
import { everyMonth } from '#renderer/screens/heavy/heavy-counts.ts'
import { filterInput, readHeavyView, sortParams } from '#renderer/screens/heavy/heavy-view.ts'

test('months without a weighing stand between those with some', () => {
  const month = (name: string) => ({ month: name, weighings: 4, over: 1, close: 0 })
  expect(
    everyMonth([month('2025-11'), month('2026-02')]).map(({ month: name, weighings }) => [name, weighings]),
  ).toEqual([
    ['2025-11', 4],
    ['2025-12', 0],
    ['2026-01', 0],
    ['2026-02', 4],
  ])
  expect(everyMonth([])).toEqual([])
})

test('an address becomes what is asked for, and what means nothing in it is left out', () => {
  const view = readHeavyView(
    new URLSearchParams(
      'unit=T-1&limit=bridge&from=2026-02-31x&to=2026-03-01&verdict=over&source=radio&sort=pOver&order=asc&decided=yes&changed=yes&part=nowhere',
    ),
  )
  expect(view).toMatchObject({
    part: 'log',
    from: null,
    to: '2026-03-01',
    source: null,
    sort: { column: 'pOver', descending: false },
  })
  expect(filterInput(view)).toEqual({
    unit: 'T-1',
    kinds: ['bridge'],
    to: '2026-03-01',
    verdicts: ['over'],
    superseded: true,
    changed: true,
  })
  expect(sortParams(view.sort)).toEqual({ sort: 'pOver', order: 'asc' })
  expect(sortParams(readHeavyView(new URLSearchParams()).sort)).toEqual({ sort: null, order: null })
})

test('keys stay within the list, from no line as well', () => {
  const after = (key: string, at: number) => lineAfter(key, { at, lines: 50, inSight: 11 })
  expect([after('ArrowDown', -1), after('ArrowUp', -1), after('PageDown', -1), after('End', -1)]).toEqual([
    0, 0, 10, 49,
  ])
  expect([
    after('ArrowUp', 0),
    after('ArrowDown', 49),
    after('PageUp', 3),
    after('PageDown', 45),
    after('Home', 20),
    after('x', 20),
  ]).toEqual([0, 49, 0, 49, 0, undefined])
})

test('a share that is not nothing is never shown as nothing', () => {
  expect([share(0), share(0.0001), share(0.0261), share(1)]).toEqual([
    '0.0\u00a0%',
    'under 0.1\u00a0%',
    '2.6\u00a0%',
    '100.0\u00a0%',
  ])
})
