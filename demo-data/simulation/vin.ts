const values: Readonly<Record<string, number>> = {
  A: 1,
  B: 2,
  C: 3,
  D: 4,
  E: 5,
  F: 6,
  G: 7,
  H: 8,
  J: 1,
  K: 2,
  L: 3,
  M: 4,
  N: 5,
  P: 7,
  R: 9,
  S: 2,
  T: 3,
  U: 4,
  V: 5,
  W: 6,
  X: 7,
  Y: 8,
  Z: 9,
}
const weights = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2]
const yearCodes = 'ABCDEFGHJKLMNPRSTVWXY123456789'

/** The check digit (position 9) of a 17-character VIN whatever stands there now. Source: 49 CFR 565.15(c). */
export function vinCheckDigit(vin: string): string {
  let sum = 0
  for (let i = 0; i < 17; i += 1) {
    const character = vin[i] as string
    sum += (weights[i] as number) * (values[character] ?? Number(character))
  }
  const rest = sum % 11
  return rest === 10 ? 'X' : String(rest)
}

/**
 * A VIN that belongs to no vehicle: the invented maker code 1ZZ and `TARE` where a maker describes the model, with the
 * right check digit and year code (2010 to 2039; 49 CFR 565.15(d)).
 */
export function fictitiousVin(model: string, year: number, serial: number): string {
  const blank = `1ZZTARE${model}0${yearCodes[year - 2010]}T${String(serial).padStart(6, '0')}`
  return blank.slice(0, 8) + vinCheckDigit(blank) + blank.slice(9)
}
