import fc from 'fast-check'
import { expect, it } from 'vitest'
import { ByteText } from '#core/exchange/documents/byte-text.ts'

const written = (write: (out: ByteText) => void): string => {
  const out = new ByteText()
  write(out)
  return Buffer.from(out.slice()).toString()
}

it('writes numbers as JSON reads them, rounded to so many places, without zeros at the end', () => {
  fc.assert(
    fc.property(fc.double({ min: -1e9, max: 1e9, noNaN: true }), fc.integer({ min: 0, max: 6 }), (value, places) => {
      const text = written((out) => out.number(value, places))
      const unit = 10 ** places
      expect(Math.abs(JSON.parse(text) - value)).toBeLessThanOrEqual(0.5 / unit + 1e-6)
      expect(text).toMatch(/^(0|-?[1-9]\d*|-?\d+\.\d*[1-9])$/)
    }),
  )
})

it.each([
  [0, 1, '0'],
  [-0.04, 1, '0'],
  [-0.05, 1, '-0.1'],
  [33_999.96, 1, '34000'],
  [0.000_004, 6, '0.000004'],
  [1, 6, '1'],
  [0.999_999_7, 6, '1'],
  [12_345.6, 1, '12345.6'],
  [10.05, 2, '10.05'],
  [100, 2, '100'],
])('writes %d to %i places as %s', (value, places, text) => {
  expect(written((out) => out.number(value, places))).toBe(text)
})

it('grows as it is written to, whatever is written', () => {
  const texts = Array.from({ length: 3000 }, (_, i) => `Zähler ${i} — ≤ ${'x'.repeat(i % 700)}`)
  expect(
    written((out) =>
      texts.forEach((text, i) => {
        if (i % 3 === 0) out.bytes(Buffer.from(text))
        else out.text(text)
        out.number(i, 0)
      }),
    ),
  ).toBe(texts.map((text, i) => `${text}${i}`).join(''))
})

it('serves again after it was cleared', () => {
  const out = new ByteText()
  out.text('first')
  out.clear()
  out.text('then')
  expect([out.length, Buffer.from(out.slice()).toString(), Buffer.from(out.slice(1, 3)).toString()]).toEqual([
    4,
    'then',
    'he',
  ])
})
