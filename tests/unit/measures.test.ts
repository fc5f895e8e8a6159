import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  type Measure,
  type MeasuredKind,
  acceptedMeasure,
  measureSets,
  measureSystems,
  measuresOf,
  measuresOfRule,
  readMeasure,
  toShown,
  toStored,
  typedText,
} from '#core/words/measures.ts'
import { readNumber } from '#core/words/numbers.ts'
import { type Range, ranges } from '#core/words/vocabulary.ts'

const spans: readonly (readonly [MeasuredKind, Range])[] = [
  ['weight', ranges.grossLb],
  ['weight', ranges.divisionLb],
  ['pressure', ranges.psi],
  ['pressure', ranges.rangePsi],
  ['length', ranges.firstAxleFt],
  ['height', ranges.rideHeightIn],
  ['area', ranges.springAreaIn2],
  ['elevation', ranges.elevationFt],
  ['temperature', ranges.temperatureF],
]
const measures = measureSystems.flatMap((system) =>
  spans.map(([kind, range]): [Measure, Range] => [measureSets[system][kind], range]),
)
const anyMeasure = fc.constantFrom(...measures)
const readValue = (read: ReturnType<typeof readMeasure>) => (read.ok ? read.value : undefined)

describe('measures', () => {
  // Factors: NIST SP 811 (2008), appendix B.8 (rounded there to seven digits): lb to kg 4.535924E-01, psi to kPa
  // 6.894757, ft to m 3.048E-01, in to cm 2.54, in² to cm² 6.4516; °C = (°F - 32) / 1.8.
  it('convert by the published factors', () => {
    const metric = measureSets['kg, kPa, m']
    const bar = measureSets['kg, bar, m']
    expect(toShown(1, metric.weight)).toBeCloseTo(0.4535924, 7)
    expect(toShown(1, metric.pressure)).toBeCloseTo(6.894757, 6)
    expect(toShown(1, bar.pressure)).toBeCloseTo(0.06894757, 8)
    expect(toShown(1, metric.length)).toBe(0.3048)
    expect(toShown(1, metric.height)).toBe(2.54)
    expect(toShown(1, metric.area)).toBeCloseTo(6.4516, 12)
    expect([32, 212].map((f) => Math.round(toShown(f, metric.temperature) * 1e9) / 1e9)).toEqual([0, 100])
    expect(toShown(450, metric.slope)).toBeCloseTo((450 * 0.4535924) / 6.894757, 4)
  })

  it('give back digit for digit what was typed', () => {
    fc.assert(
      fc.property(
        anyMeasure,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.integer({ min: 0, max: 3 }),
        ([measure, range], share, places) => {
          const typed = (
            toShown(range.min, measure) +
            share * (toShown(range.max, measure) - toShown(range.min, measure))
          ).toFixed(places)
          const stored = readValue(readMeasure(typed, range, measure))
          if (stored === undefined) return
          expect(Number(typedText(stored, measure))).toBe(Number(typed) + 0)
        },
      ),
      { numRuns: 2000 },
    )
  })

  it('keep the stored value where the text of a field is read again that was typed in the same measures', () => {
    fc.assert(
      fc.property(anyMeasure, fc.integer({ min: 0, max: 10_000 }), ([measure, range], step) => {
        const shown = Number((toShown(range.min, measure) + step / 100).toFixed(2))
        const stored = toStored(shown, measure)
        fc.pre(stored >= range.min && stored <= range.max)
        expect(readValue(readMeasure(typedText(stored, measure), range, measure))).toBe(stored)
      }),
      { numRuns: 2000 },
    )
  })

  it('accept every value they name as a bound, and nothing beyond', () => {
    for (const [measure, range] of measures) {
      const [low = '', high = ''] = acceptedMeasure(range, measure)
        .replace(/\u00a0.*/, '')
        .split(' to ')
      for (const bound of [low, high])
        expect(readMeasure(bound, range, measure).ok, `${bound} ${measure.symbol}`).toBe(true)
      const beyond = toShown(range.max, measure) * 1.01 + 1
      expect(readMeasure(String(beyond), range, measure).ok).toBe(false)
    }
  })

  it('say at the field what is wrong, in the measures in use', () => {
    const { weight } = measuresOfRule(1)
    expect(readMeasure('', ranges.weightLb, weight)).toMatchObject({
      problem: { message: 'The value is empty; 0 to 181,436\u00a0kg is accepted.' },
    })
    expect(readMeasure('12 t', ranges.weightLb, weight)).toMatchObject({
      problem: { message: '“12 t” is not a number in kg; 0 to 181,436\u00a0kg is accepted.' },
    })
    expect(readMeasure('200000', ranges.weightLb, weight)).toMatchObject({
      problem: { message: '200,000\u00a0kg is out of range; 0 to 181,436\u00a0kg is accepted.' },
    })
  })

  it('are read with the unit of any of them behind the number', () => {
    const { pressure, temperature, slope, weight } = measuresOfRule(0)
    const psi = (text: string, inUse = pressure) => readMeasure(text, ranges.psi, inUse, measuresOf('pressure'))
    for (const [text, value] of [
      ['82', 82],
      [' 82.5 psi', 82.5],
      ['82,5', 82.5],
      ['+.5', 0.5],
      ['-3', -3],
      ['\u22123 PSI', -3],
      ['1 bar', 14.5037738],
      ['5,6bar', 81.2211332],
      ['100kPa', 14.5037738],
    ] as const) {
      expect(readValue(psi(text)), text).toBeCloseTo(value, 6)
    }
    expect(psi('5.6', measuresOfRule(2).pressure)).toEqual(psi('5.6 bar'))
    for (const text of ['5o', '1.2.3', '1,2,3', '40 mm', '9000', '-16', 'psi', '4 __proto__', '4 lb', '4 4 psi'])
      expect(psi(text).ok, text).toBe(false)
    expect(psi('5o')).toMatchObject({
      problem: { message: '“5o” is not a number in psi, kPa or bar; -15 to 2,000\u00a0psi is accepted.' },
    })
    expect(psi('9000 bar')).toMatchObject({
      problem: { message: '9,000\u00a0bar is out of range; -15 to 2,000\u00a0psi is accepted.' },
    })
    for (const text of ['20 °C', '20C', '20 c', '68'])
      expect(
        readValue(readMeasure(text, ranges.temperatureF, temperature, measuresOf('temperature'))),
        text,
      ).toBeCloseTo(68, 9)
    expect(readValue(readMeasure('15,400 kg', ranges.weightLb, weight, measuresOf('weight')))).toBeCloseTo(
      33_951.188,
      3,
    )
    expect(
      readValue(readMeasure('100 kg/bar', { min: 0, max: 1e4, unit: 'lb/psi' }, slope, measuresOf('slope'))),
    ).toBeCloseTo(15.2004, 3)
    expect(measuresOf('pressure').map(({ symbol }) => symbol)).toEqual(['psi', 'kPa', 'bar'])
  })

  it('tell a value that was stored in other measures in the digits people write, and small ones in more', () => {
    const metric = measuresOfRule(1)
    expect([typedText(34_000, metric.weight), typedText(0.4, metric.pressure), typedText(16.5, metric.length)]).toEqual(
      ['15422', '2.758', '5.029'],
    )
  })
})

describe('a typed number', () => {
  it('has commas before three digits for thousands, one before one or two digits for the decimal sign, and nothing else is guessed', () => {
    expect(
      [' 34,000 ', '1,033,940', '-.5', '+7.', '\u22123', '0', '-0', '82,5', '-,25', '1082,50'].map(readNumber),
    ).toEqual([34_000, 1_033_940, -0.5, 7, -3, 0, 0, 82.5, -0.25, 1082.5])
    expect(['1,2,3', '1e3', '0x10', '-', '.', 'NaN', '12 lb', '', '1,0000', '--1'].map(readNumber)).toEqual(
      Array.from({ length: 10 }, () => undefined),
    )
  })
})
