import { expect, test } from '@playwright/test'
import { ranges } from '#core/words/vocabulary.ts'
import { screenHelp } from '#renderer/app/screen-help.ts'
import { screens } from '#renderer/app/screens.tsx'
import { hrefOf, parseAddress } from '#renderer/parts/address.ts'
import { feetSpan, feetTicks } from '#renderer/parts/feet-scale.tsx'
import { measuresFor, typedQuantity } from '#renderer/parts/format.ts'
import { changedText, columnLabel, recordLabel, valueText } from '#renderer/parts/record-text.ts'
import { problemsAsCsv } from '#renderer/screens/folder/import-outcome.tsx'
import { naturalKey } from '#core/words/names.ts'
import { placeGroup, spreadLabels } from '#renderer/screens/unit/ruler/axle-ruler.tsx'

test('an address survives the round trip, whatever a unit is called', () => {
  for (const unit of ['T-104', 'a/b?c#d', 'Größe 7 %', '../x']) {
    const { screen, subject, params } = parseAddress(hrefOf('unit', unit, { group: 'drive & lift', view: null }))
    expect([screen, subject, params.get('group'), params.has('view')]).toEqual(['unit', unit, 'drive & lift', false])
  }
  expect(parseAddress('').screen).toBe('today')
  expect(parseAddress('#/unit/%E0%A4%A').subject).toBe('%E0%A4%A')
})

test('every screen has help, and no help is of a screen that is not there', () => {
  expect(Object.keys(screenHelp).sort()).toEqual(Object.keys(screens).sort())
})

test('unit numbers sort as people count', () => {
  const sorted = ['T-10', 'T-9', 't-2b', 'T-2', 'A-100'].sort((a, b) => (naturalKey(a) < naturalKey(b) ? -1 : 1))
  expect(sorted).toEqual(['A-100', 'T-2', 't-2b', 'T-9', 'T-10'])
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
  expect(feetSpan(placeGroup({ ...group, axleSpacingFt: 4.3 }).axlesFt, measuresFor(0, 'UTC').length)).toEqual({
    fromFt: -2,
    toFt: 25,
  })
})

test('the ruler counts whole feet or whole meters, by what is shown', () => {
  const ticksIn = (measures: number, marksFt: readonly number[]) => {
    const { length } = measuresFor(measures, 'UTC')
    return feetTicks(feetSpan(marksFt, length), length)
  }
  expect(ticksIn(0, [17, 21.3]).numbered).toEqual([0, 5, 10, 15, 20, 25])
  expect(ticksIn(0, [17, 21.3]).all).toHaveLength(28)
  expect(ticksIn(0, [58]).numbered).toEqual([0, 10, 20, 30, 40, 50, 60])
  expect(ticksIn(2, [17, 21.3]).numbered).toEqual([-1, 0, 1, 2, 3, 4, 5, 6, 7, 8])
  expect(ticksIn(2, [58]).numbered).toEqual([0, 2, 4, 6, 8, 10, 12, 14, 16, 18])
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
  expect(valueText('limit_lb', 34_000, measuresFor(1, 'UTC'))).toBe('15,422\u00a0kg')
  expect(
    valueText('', '[{"file":"yards.csv","read":2,"same":0},{"circuit_id":3,"psi":60.5}]', measuresFor(0, 'UTC')),
  ).toBe('yards.csv, read 2; psi 60.5')
  expect(valueText('tickets', '["30600","30601"]', measuresFor(0, 'UTC'))).toBe('30600, 30601')
  expect([
    valueText('note', '[{ not parts', measuresFor(0, 'UTC')),
    valueText('plate', null, measuresFor(0, 'UTC')),
  ]).toEqual(['[{ not parts', '–'])
  expect(recordLabel('calibration', 'T-1 drive of 2026-11-25T20:30:00.000Z', measuresFor(0, 'UTC'))).toBe(
    'T-1 drive of 2026-11-25 20:30\u00a0UTC',
  )
  expect(columnLabel('ticket', 'T-101 drive_lb')).toBe('T-101 drive')
  const rule = (key: string, value: number, measures: number) =>
    changedText({ subject: 'house rule', key }, '', value, measuresFor(measures, 'UTC'))
  expect([rule('measures', 2, 0), rule('drivers', 1, 0), rule('maximumAgeDays', 1400, 0)]).toEqual([
    'kg, bar, m',
    'not named',
    '1,400\u00a0days',
  ])
  expect([rule('wanderPsi', 0.5, 0), rule('wanderPsi', 0.58, 1)]).toEqual([
    '0.5\u00a0psi per root month',
    '3.999\u00a0kPa per root month',
  ])
  expect(recordLabel('house rule', 'maximumAgeDays', measuresFor(0, 'UTC'))).toBe(
    'Oldest calibration that still counts',
  )
})
