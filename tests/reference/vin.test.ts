import { describe, expect, it } from 'vitest'
import { readVin, tidyVin, vinCheckDigit } from '#core/words/vin.ts'
import vin from '#tests/reference/vin.json' with { type: 'json' }

const { data, published } = vin
const without = (text: string, position: number, character: string) =>
  text.slice(0, position) + character + text.slice(position + 1)

// Source: 49 CFR 565.15(c) and (d), see vin.json. The numbers are the regulation's sample, hypothetical ones and
// constructed ones.
describe('vehicle identification numbers', () => {
  it('have the check digit of the sample calculation: 411 divided by 11 leaves 4', () => {
    expect(published.sample_calculation.products.reduce((sum, product) => sum + product, 0) % 11).toBe(4)
    expect(vinCheckDigit(published.sample_calculation.vin)).toBe('4')
  })

  it.each([...published.valid, ...published.constructed_valid])('%s is as it should be', (number) => {
    expect(readVin(number, 2026).problem).toBeNull()
    expect(readVin(` ${number.slice(0, 3).toLowerCase()}-${number.slice(3)} `, 2026).problem).toBeNull()
  })

  it.each(published.invalid)('$vin is not: $why', ({ vin: number }) => {
    expect(readVin(number, 2026).problem).toMatch(/^(The check digit|This VIN has|“[IOQ]” does not stand)/)
  })

  it('notice every mistyped character but those of equal value', () => {
    const number = published.sample_calculation.vin
    const values: Record<string, number> = {
      ...data.assigned_values,
      ...Object.fromEntries(Array.from({ length: 10 }, (_, digit) => [String(digit), digit])),
    }
    for (let position = 0; position < number.length; position += 1) {
      if (position === 8) continue
      for (const [character, value] of Object.entries(values)) {
        const same = value === values[number[position] as string]
        expect(
          readVin(without(number, position, character), 2026).problem === null,
          `${character} at ${position + 1}`,
        ).toBe(same)
      }
    }
  })

  it('tell the model year by the code of the tenth character', () => {
    for (const [year, code] of Object.entries(data.model_year_code_position_10)) {
      expect(readVin(without('11111111111111111', 9, code), 2040).modelYears, `${code} for ${year}`).toContain(
        Number(year),
      )
    }
    for (const code of data.not_used_as_year_code)
      expect(readVin(without('11111111111111111', 9, code), 2040).modelYears).toEqual([])
    expect(readVin(published.sample_calculation.vin, 2026).modelYears).toEqual([2005])
    expect(readVin(without('11111111111111111', 9, 'T'), 2026).modelYears).toEqual([2026, 1996])
    expect(readVin(without('11111111111111111', 9, 'W'), 2026).modelYears).toEqual([1998])
  })

  it('are kept tidy', () => {
    expect(tidyVin(' 1zz ab9cd-5sp000101 ')).toBe('1ZZAB9CD5SP000101')
  })
})
