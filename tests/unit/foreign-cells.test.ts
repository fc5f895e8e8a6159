import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { encodeText, mendCell, readForeignNumber, readForeignTime, readMendCell } from '#core/foreign/mapping/cells.ts'
import { guessMapping } from '#core/foreign/mapping/guess.ts'
import {
  type ForeignMapping,
  columnNames,
  decimalSigns,
  mendColumn,
  plainTitle,
  thousandsSigns,
  unitInTitle,
} from '#core/foreign/mapping/mapping.ts'
import { readMeasure, storedMeasures } from '#core/words/measures.ts'
import { beginsAsFormula } from '#core/words/text.ts'

const units = { weight: 'lb', pressure: 'psi', elevation: 'ft', temperature: '°F' } as const
type Signs = Pick<ForeignMapping, 'decimal' | 'thousands'>
const plain: Signs = { decimal: 'point', thousands: 'none' }
const comma: Signs = { decimal: 'comma', thousands: 'point' }

describe('a number of a foreign file', () => {
  it.each<[string, Signs, number | undefined]>([
    ['12340', plain, 12_340],
    ['12340.5', plain, 12_340.5],
    ['-3', plain, -3],
    ['\u22123', plain, -3],
    ['.5', plain, 0.5],
    ['12,340', plain, undefined],
    ['1 2', plain, undefined],
    ['', plain, undefined],
    ['.', plain, undefined],
    ['1e5', plain, undefined],
    ['0x10', plain, undefined],
    ['NaN', plain, undefined],
    ['٣', plain, undefined],
    ['12.340,5', comma, 12_340.5],
    ['12340,5', comma, 12_340.5],
    ['1.23', comma, undefined],
    ['1.2345,0', comma, undefined],
    ['12 340.5', { decimal: 'point', thousands: 'space' }, 12_340.5],
    ['12\u00a0340', { decimal: 'point', thousands: 'space' }, 12_340],
    ['12’340.5', { decimal: 'point', thousands: 'apostrophe' }, 12_340.5],
    ['12,340', { decimal: 'point', thousands: 'comma' }, 12_340],
    ['1,2,3', { decimal: 'point', thousands: 'comma' }, undefined],
    ['12 lbs', plain, 12],
    ['12 furlong', plain, undefined],
    ['12 psi', plain, undefined],
  ])('%j', (text, signs, value) => {
    expect(readForeignNumber(text, 'weight', { ...signs, ...units })).toBe(value)
  })

  // Exact by definition (NIST SP 811, appendix B): 1 lb is 0.45359237 kg, 1 psi 6.894757... kPa, 1 ft 0.3048 m.
  it('comes out in lb, psi, ft and °F; a unit in the cell comes before the mapping’s', () => {
    const metric = { ...plain, weight: 'kg', pressure: 'bar', elevation: 'm', temperature: '°C' } as const
    expect([
      readForeignNumber('0.45359237', 'weight', metric),
      readForeignNumber('1 t', 'weight', metric),
      readForeignNumber('0.3048', 'elevation', metric),
      readForeignNumber('100', 'temperature', metric),
    ]).toEqual([1, 1000 / 0.45359237, 1, 212])
    expect(readForeignNumber('100 kPa', 'pressure', metric)).toBeCloseTo(14.503_773_773, 8)
    expect(readForeignNumber('1', 'pressure', metric)).toBeCloseTo(14.503_773_773, 8)
  })

  it('reads back as it was written, in every pair of signs', () => {
    const sign = { comma: ',', point: '.', space: ' ', apostrophe: '’', none: '' }
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 9_999_999 }),
        fc.integer({ min: 0, max: 999 }),
        fc.constantFrom(...decimalSigns),
        fc.constantFrom(...thousandsSigns),
        (whole, part, decimal, thousands) => {
          if (decimal === thousands) return
          const text = `${String(whole).replace(/\B(?=(\d{3})+$)/g, sign[thousands])}${sign[decimal]}${String(part).padStart(3, '0')}`
          expect(readForeignNumber(text, 'weight', { decimal, thousands, ...units })).toBe(
            Number(`${whole}.${String(part).padStart(3, '0')}`),
          )
        },
      ),
    )
  })
})

const at = (date: string, time: string, dateOrder: ForeignMapping['dateOrder'], zone = 'America/Denver') => {
  const ms = readForeignTime(date, time, { dateOrder, zone })
  return ms === undefined ? undefined : new Date(ms).toISOString()
}

describe('a time of a foreign file', () => {
  it.each<[string, string, ForeignMapping['dateOrder'], string | undefined]>([
    ['2025-03-03 07:17', '', 'year first', '2025-03-03T14:17:00.000Z'],
    ['2025-03-03T07:17:30.25-07:00', '', 'month first', undefined],
    ['2025-03-03T07:17:30.25-07:00', '', 'year first', '2025-03-03T14:17:30.250Z'],
    ['20250303 07:17', '', 'year first', '2025-03-03T14:17:00.000Z'],
    ['03.04.2025', '07:17', 'day first', '2025-04-03T13:17:00.000Z'],
    ['03/04/2025', '7:17 PM', 'month first', '2025-03-05T02:17:00.000Z'],
    ['3/4/25 12:05 am', '', 'month first', '2025-03-04T07:05:00.000Z'],
    ['3 Mar 2025', '07.17', 'year first', undefined],
    ['3 Mar 2025', '07.17', 'day first', '2025-03-03T14:17:00.000Z'],
    ['March 3, 2025 07:17Z', '', 'day first', '2025-03-03T07:17:00.000Z'],
    ['2025-03-03 00:00:00', '07:17', 'year first', '2025-03-03T14:17:00.000Z'],
    ['2025-03-03', '', 'year first', undefined],
    ['2025-02-29 07:17', '', 'year first', undefined],
    ['31.04.2025 07:17', '', 'day first', undefined],
    ['13/13/2025 07:17', '', 'month first', undefined],
    ['2025-03-03 24:00', '', 'year first', undefined],
    ['2025-03-03 13:00 pm', '', 'year first', undefined],
    ['', '', 'year first', undefined],
    ['1775-03-03 07:17', '', 'year first', undefined],
  ])('%s %s, %s', (date, time, order, stored) => {
    expect(at(date, time, order)).toBe(stored)
  })

  // IANA time zone database: America/Denver leaves 02:00 to 03:00 of 9 March 2025 out and has 01:00 to 02:00 of 2
  // November 2025 twice.
  it('that the clocks leave out is none, one that they show twice is the first', () => {
    expect([
      at('2025-03-09 01:59', '', 'year first'),
      at('2025-03-09 02:30', '', 'year first'),
      at('2025-03-09 03:00', '', 'year first'),
    ]).toEqual(['2025-03-09T08:59:00.000Z', undefined, '2025-03-09T09:00:00.000Z'])
    expect([at('2025-11-02 01:30', '', 'year first'), at('2025-11-02 02:00', '', 'year first')]).toEqual([
      '2025-11-02T07:30:00.000Z',
      '2025-11-02T09:00:00.000Z',
    ])
  })

  it('is what the zone’s own clock shows, at any time of a hundred years', () => {
    const zones = ['America/Denver', 'Europe/Berlin', 'Australia/Lord_Howe', 'Asia/Kathmandu', 'UTC']
    fc.assert(
      fc.property(
        fc.date({ min: new Date('1971-01-01'), max: new Date('2070-01-01'), noInvalidDate: true }),
        fc.constantFrom(...zones),
        (time, timeZone) => {
          const minute = Math.floor(time.getTime() / 60_000) * 60_000
          const shown = new Intl.DateTimeFormat('sv-SE', { timeZone, dateStyle: 'short', timeStyle: 'medium' })
          const found = readForeignTime(shown.format(minute), '', { dateOrder: 'year first', zone: timeZone })
          // Of an hour that comes twice the first is taken, which shows the same.
          expect(found === undefined ? undefined : shown.format(found)).toBe(shown.format(minute))
          expect(found).toBeLessThanOrEqual(minute)
        },
      ),
    )
  })
})

it('cells to mend are no formulas and read back as what they were', () => {
  const hostile = fc.oneof(
    fc.string(),
    fc.string().map((text) => `=${text}`),
    fc.string().map((text) => `'=${text}`),
    fc.string().map((text) => `''  -${text}`),
  )
  fc.assert(
    fc.property(hostile, (text) => {
      expect(beginsAsFormula(mendCell(text))).toBe(false)
      expect(readMendCell(mendCell(text))).toBe(text)
    }),
  )
})

it('text reads back from its bytes in every encoding that has its signs', () => {
  const latin = Array.from(
    new TextDecoder('windows-1252').decode(Uint8Array.from({ length: 256 }, (_, at) => at)),
  ).join('')
  expect(new TextDecoder('windows-1252').decode(encodeText(latin, 'windows-1252') as Uint8Array<ArrayBuffer>)).toBe(
    latin,
  )
  fc.assert(
    fc.property(fc.string({ unit: fc.constantFrom('a', 'é', '€', '😀', '\n') }), (text) => {
      expect(new TextDecoder('utf-16le').decode(encodeText(text, 'utf-16') as Uint8Array<ArrayBuffer>)).toBe(text)
    }),
  )
})

it('columns have names of their own, whatever the header; the one that says what is wrong has none', () => {
  expect(columnNames(['A', ' A ', '', mendColumn, 'A'])).toEqual([
    'A',
    'A (column 2)',
    'column 3',
    null,
    'A (column 5)',
  ])
  fc.assert(
    fc.property(fc.array(fc.constantFrom('A', '', 'A (column 2)', 'column 1', 'B')), (header) => {
      const names = columnNames(header)
      expect(new Set(names).size).toBe(header.length)
    }),
  )
})

/** With a pattern that goes back over blanks each of these would take minutes, and the test would not end in time. */
it('a cell or title of a million blanks is no number, time or unit, and is read in one go', () => {
  const blanks = ' '.repeat(1_000_000)
  const mapping = { ...units, ...plain }
  expect(readForeignNumber(`1${blanks}x1`, 'weight', mapping)).toBeUndefined()
  expect(readMeasure(`1${blanks}x1`, { min: 0, max: 10, unit: 'lb' }, storedMeasures.weight).ok).toBe(false)
  for (const [date, time] of [
    [`12${blanks}x`, ''],
    ['2026-03-01', `12:30${blanks}x`],
    [`2026-03-01${blanks}x`, ''],
  ] as const)
    expect(readForeignTime(date, time, { dateOrder: 'year first', zone: 'UTC' })).toBeUndefined()
  const title = `weight (${blanks}x`
  expect([plainTitle(title), unitInTitle('weight', title)]).toEqual(['weight', undefined])
  const records = [
    ['truck', `note${blanks}`, 'weight lb'],
    ['T-1', `1${blanks}x1`, '33,940'],
  ]
  expect(guessMapping({ records, delimiter: 'comma', encoding: 'utf-8', skipLines: 0, zone: 'UTC' }).kind).toBe(
    'tickets',
  )
})
