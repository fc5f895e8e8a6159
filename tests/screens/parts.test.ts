import { expect, test } from '@playwright/test'
import { ranges } from '#core/words/vocabulary.ts'
import { hrefOf, parseAddress } from '#renderer/parts/address.ts'
import { feetSpan } from '#renderer/parts/feet-scale.tsx'
import { measuresFor, typedQuantity } from '#renderer/parts/format.ts'
import { columnLabel, recordLabel, valueText } from '#renderer/parts/record-text.ts'
import { timesIn } from '#renderer/parts/times.ts'
import { problemsAsCsv } from '#renderer/screens/folder/import-outcome.tsx'
import { naturalKey } from '#renderer/screens/roster/roster-view.ts'
import { placeGroup, spreadLabels } from '#renderer/screens/unit/ruler/axle-ruler.tsx'

test('an address survives the round trip, whatever a unit is called', () => {
  for (const unit of ['T-104', 'a/b?c#d', 'Größe 7 %', '../x']) {
    const { screen, subject, params } = parseAddress(hrefOf('unit', unit, { group: 'drive & lift', view: null }))
    expect([screen, subject, params.get('group'), params.has('view')]).toEqual(['unit', unit, 'drive & lift', false])
  }
  expect(parseAddress('').screen).toBe('roster')
  expect(parseAddress('#/unit/%E0%A4%A').subject).toBe('%E0%A4%A')
})

test('unit numbers sort as people count', () => {
  const sorted = ['T-10', 'T-9', 't-2b', 'T-2', 'A-100'].sort((a, b) => (naturalKey(a) < naturalKey(b) ? -1 : 1))
  expect(sorted).toEqual(['A-100', 'T-2', 't-2b', 'T-9', 'T-10'])
})

test('due dates are counted in days of the fleet around the day asked about', () => {
  const { away } = timesIn('UTC')
  expect(away('2026-03-01', '2026-03-01T23:59:59.000Z')).toBe('today')
  expect(away('2026-03-11', '2026-03-01T00:00:00.000Z')).toBe('in 10\u00a0d')
  expect(away('2026-02-27', '2026-03-01T12:00:00.000Z')).toBe('2\u00a0d ago')
  expect(timesIn('America/Denver').away('2026-03-01', '2026-03-02T02:00:00.000Z')).toBe('today')
})

test('times are written in the zone of the fleet, whatever the computer says', () => {
  const denver = timesIn('America/Denver')
  expect(denver.day('2026-11-26T02:00:00.000Z')).toBe('2026-11-25')
  expect(denver.moment('2026-11-26T02:00:00.000Z')).toBe('2026-11-25 19:00\u00a0MST')
  expect(timesIn('Europe/Berlin').day('2026-11-25T23:30:00.000Z')).toBe('2026-11-26')
  expect(denver.daysFrom('2026-11-25T06:59:00.000Z', '2026-11-25T07:01:00.000Z')).toBe(1)
})

test('a typed time that comes twice is asked about, and one that never comes is refused', () => {
  const { read, typed } = timesIn('America/Denver')
  expect(read('2026-11-25T19:00')).toEqual({ ok: true, value: '2026-11-26T02:00:00.000Z' })
  expect(read('2026-11-01T01:30')).toEqual({
    ok: false,
    message: '2026-11-01 01:30 comes twice that night: choose the first or the second.',
  })
  expect(read('2026-11-01T01:30-06:00')).toEqual({ ok: true, value: '2026-11-01T07:30:00.000Z' })
  expect(read('2026-11-01T01:30-07:00')).toEqual({ ok: true, value: '2026-11-01T08:30:00.000Z' })
  expect(read('2026-03-08T02:30')).toMatchObject({ ok: false, message: expect.stringContaining('is left out') })
  expect(read('soon')).toMatchObject({ ok: false, message: expect.stringContaining('is not a date and time') })
  for (const stored of ['2026-11-01T07:30:00.000Z', '2026-11-01T08:30:00.000Z', '2026-11-26T02:00:00.000Z'])
    expect(read(typed(stored))).toEqual({ ok: true, value: stored })
})

test('labels of the ruler never overlap and stay in the frame', () => {
  const lefts = spreadLabels([10, 60, 890], 196, 900)
  expect(lefts[0]).toBe(0)
  for (let i = 1; i < lefts.length; i += 1) expect((lefts[i] ?? 0) - (lefts[i - 1] ?? 0)).toBeGreaterThanOrEqual(196)
  expect((lefts.at(-1) ?? 0) + 196).toBeLessThanOrEqual(900)
})

test('the ruler shows what is known and says what is not', () => {
  const group = { id: 1, name: 'drive', role: 'drive', axles: 2, firstAxleFt: 17, axleSpacingFt: null } as Parameters<
    typeof placeGroup
  >[0]
  expect(placeGroup(group)).toMatchObject({ axlesFt: [17], unknown: 'spacing unknown, first axle shown' })
  expect(placeGroup({ ...group, firstAxleFt: null })).toMatchObject({ axlesFt: [], unknown: 'position unknown' })
  expect(feetSpan(placeGroup({ ...group, axleSpacingFt: 4.3 }).axlesFt)).toMatchObject({ fromFt: -2, toFt: 25 })
})

test('a quantity is read where it may stand empty, in any of its units', () => {
  const psi = (text: string) => typedQuantity(text, ranges.psi, measuresFor(0, 'UTC').pressure)
  expect(psi('  ')).toEqual({ kind: 'empty' })
  expect(psi('82,5 psi')).toEqual({ kind: 'value', value: 82.5 })
  expect(typedQuantity('5.6', ranges.psi, measuresFor(2, 'UTC').pressure)).toEqual(psi('5.6 bar'))
  expect(psi('5o')).toMatchObject({ kind: 'problem' })
})

test('a problem report quotes what CSV must quote (RFC 4180)', () => {
  const csv = problemsAsCsv([
    { file: 'units.csv', line: 3, column: 'kind', value: 'a,"b"', accepted: 'tractor', message: 'no' },
  ])
  expect(csv).toBe('file,line,column,value,accepted,message\r\nunits.csv,3,kind,"a,""b""",tractor,no\r\n')
})

test('the log tells a change in the words of the forms and the measures in use', () => {
  expect([
    columnLabel('circuit', 'ride_height_in'),
    columnLabel('reading', 'elevation_ft'),
    columnLabel('ticket', 'gross_lb'),
    columnLabel('house rule', ''),
  ]).toEqual(['Ride height', 'Elevation', 'Gross', ''])
  expect(valueText('ride_height_in', 9.25, measuresFor(0, 'UTC'))).toBe('9.25\u00a0in')
  expect(valueText('limit_lb', 34_000, measuresFor(1, 'UTC'))).toBe('15422\u00a0kg')
  expect(
    valueText('', '[{"file":"yards.csv","read":2,"same":0},{"circuit_id":3,"psi":60.5}]', measuresFor(0, 'UTC')),
  ).toBe('yards.csv, read 2; psi 60.5')
  expect(valueText('tickets', '["30600","30601"]', measuresFor(0, 'UTC'))).toBe('30600; 30601')
  expect([
    valueText('note', '[{ not parts', measuresFor(0, 'UTC')),
    valueText('plate', null, measuresFor(0, 'UTC')),
  ]).toEqual(['[{ not parts', '–'])
  expect(recordLabel('house rule', 'maximumAgeDays')).toBe('Oldest calibration that still counts')
})
