import { vinCheckDigit, yearCodes } from '#core/words/vin.ts'

/**
 * A VIN that belongs to no vehicle: the invented maker code 1ZZ and `TARE` where a maker describes the model, with the
 * right check digit and year code (2010 to 2039; 49 CFR 565.15(d)).
 */
export function fictitiousVin(model: string, year: number, serial: number): string {
  const blank = `1ZZTARE${model}0${yearCodes[year - 2010]}T${String(serial).padStart(6, '0')}`
  return blank.slice(0, 8) + String(vinCheckDigit(blank)) + blank.slice(9)
}
