/** What a vehicle identification number says about itself. */
export interface VinReading {
  /**
   * Why it is not a number as 49 CFR 565 makes them, as a sentence; null when it is. A warning: older and foreign
   * numbers exist.
   */
  readonly problem: string | null
  /** Model years that its tenth character can stand for, the likeliest first; none where it tells nothing. */
  readonly modelYears: readonly number[]
}

// 49 CFR 565.15(c), table III: letters count as the digits 1 to 9, without I, O and Q.
const letterValues: Readonly<Record<string, number>> = {
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
// Table IV: the weight of each position; the ninth holds the check digit itself.
const weights = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2] as const
const length = weights.length
const checkPosition = 8

/**
 * 49 CFR 565.15(d), table VII: the codes of thirty model years from 1980 on, then over again; I, O, Q, U, Z and 0 are
 * never used.
 */
export const yearCodes = 'ABCDEFGHJKLMNPRSTVWXY123456789'
const firstYear = 1980
const yearPosition = 9

const characterValue = (character: string): number | undefined =>
  /^\d$/.test(character) ? Number(character) : letterValues[character]

/** A number as it is kept: capitals, without spaces and hyphens. */
export const tidyVin = (typed: string): string => typed.toUpperCase().replaceAll(/[\s-]/g, '')

/**
 * The check digit that a number of 17 characters ought to have: the remainder of the weighted sum divided by 11, X for
 * 10. Undefined where a character is not allowed or their number is another. Source: 49 CFR 565.15(c) (ISO 3779 leaves
 * it open).
 */
export function vinCheckDigit(vin: string): string | undefined {
  if (vin.length !== length) return undefined
  let sum = 0
  for (const [position, weight] of weights.entries()) {
    const value = characterValue(vin[position] as string)
    // The check digit counts nothing, but must be one that can stand there.
    if (value === undefined) return undefined
    sum += weight * value
  }
  const remainder = sum % 11
  return remainder === 10 ? 'X' : String(remainder)
}

/** Model years up to the one after `thisYear` that the tenth character stands for, newest first. */
function modelYears(vin: string, thisYear: number): number[] {
  const place = yearCodes.indexOf(vin[yearPosition] ?? '')
  if (place < 0) return []
  const years: number[] = []
  for (let year = firstYear + place; year <= thisYear + 1; year += yearCodes.length) years.unshift(year)
  return years
}

/** Reads a vehicle identification number, typed with or without spaces. `thisYear`: the calendar year of today. */
export function readVin(typed: string, thisYear: number): VinReading {
  const vin = tidyVin(typed)
  if (vin === '') return { problem: null, modelYears: [] }
  const bad = [...vin].find((character) => characterValue(character) === undefined)
  if (bad !== undefined)
    return {
      problem: `“${bad}” does not stand in a VIN: digits and the letters A to Z without I, O and Q do.`,
      modelYears: [],
    }
  if (vin.length !== length)
    return { problem: `This VIN has ${vin.length} characters; those made since 1981 have ${length}.`, modelYears: [] }
  const expected = vinCheckDigit(vin)
  const years = modelYears(vin, thisYear)
  return vin[checkPosition] === expected
    ? { problem: null, modelYears: years }
    : {
        problem:
          `The check digit (9th character) is ${vin[checkPosition]} and by 49 CFR 565 would be ${expected}: ` +
          'a character may be mistyped. Older and foreign numbers have none.',
        modelYears: years,
      }
}
