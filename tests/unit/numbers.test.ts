import { afterEach, describe, expect, it } from 'vitest'
import { measureSets, readMeasure, typedText } from '#core/words/measures.ts'
import { figures, grouped, readNumber, sayEither } from '#core/words/numbers.ts'
import { english, speakBy } from '#core/words/phrase.ts'
import { ranges } from '#core/words/vocabulary.ts'

const speakIn = (locale: string) => speakBy(() => ({ ...english, locale }))
afterEach(() => speakIn('en-US'))

const pounds = measureSets['lb, psi, ft']

describe('a typed number', () => {
  it.each([
    ['en-US', '5.200', 5.2],
    ['en-US', '5,200', 5200],
    ['de-DE', '5.200', 5200],
    ['de-DE', '5200', 5200],
    ['de-DE', '33.940', 33_940],
    ['de-DE', '1.033.940,5', 1_033_940.5],
    ['de-DE', '82,5', 82.5],
    ['de-DE', '82.5', 82.5],
    ['de-DE', '0,125', 0.125],
    ['de-DE', '\u2212,25', -0.25],
    ['fr-CA', '33 940', 33_940],
    ['fr-CA', '33\u00a0940,5', 33_940.5],
    ['fr-CA', '82,5', 82.5],
    ['es-US', '33,940', 33_940],
    ['es-MX', '82.5', 82.5],
  ])('under %s %s is %d', (locale, text, value) => {
    speakIn(locale)
    expect(readNumber(text)).toBe(value)
  })

  it.each([
    ['de-DE', '5,200', [5.2, 5200]],
    ['fr-CA', '5,200', [5.2, 5200]],
    ['fr-CA', '5.200', [5.2, 5200]],
  ])('under %s %s is asked about', (locale, text, either) => {
    speakIn(locale)
    const read = readNumber(text)
    expect(read).toEqual({ either })
  })

  it('is asked about at its field, with both as they would be plain', () => {
    speakIn('de-DE')
    expect(sayEither('5,200', { either: [5.2, 5200] })).toBe('“5,200” can be 5,2 or 5200: type it as one of these')
    const read = readMeasure('5,200', ranges.grossLb, pounds.weight)
    expect(read.ok ? '' : read.problem.message).toMatch(/^“5,200” can be 5,2 or 5200/)
    expect(readMeasure('5.200', ranges.grossLb, pounds.weight)).toEqual({ ok: true, value: 5200 })
  })

  it.each(['en-US', 'de-DE', 'fr-CA', 'es-US', 'es-MX'])(
    'stands in its field again so that %s reads it back',
    (locale) => {
      speakIn(locale)
      for (const stored of [0, 12, 82.5, 5.2, 12_340, 33_940.25, -3.5, 0.125]) {
        const text = typedText(stored, pounds.pressure)
        expect(readMeasure(text, { min: -100, max: 1e6, unit: '' }, pounds.pressure), text).toEqual({
          ok: true,
          value: stored,
        })
      }
    },
  )

  it('is none where signs stand in no order', () => {
    speakIn('de-DE')
    expect(['1.2.3', '1,2,3', '5.20,0.0', '12.34.567'].map(readNumber)).toEqual([
      undefined,
      undefined,
      undefined,
      undefined,
    ])
  })
})

it('numbers are written as the locale does, also by what was made under another', () => {
  const whole = figures({ maximumFractionDigits: 0 })
  expect(whole(12_340)).toBe('12,340')
  speakIn('de-DE')
  expect(whole(12_340)).toBe('12.340')
  expect(grouped('12340,5')).toBe('12.340,5')
})
