import { figures, readNumber, sayEither, typedInLocale } from '#core/words/numbers.ts'
import { type Problem, type Result, ok, refuse } from '#core/words/problem.ts'
import type { Range } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * What the stored units (lb, psi, ft, in) are in others. Exact by definition: the international pound, foot and inch,
 * and standard gravity 9.806 65 m/s² for the pound-force in a psi. Source: NIST SP 811 (2008), appendix B.
 */
export const kgPerLb = 0.45359237
export const mPerFt = 0.3048
const cmPerIn = 2.54
export const kPaPerPsi = (kgPerLb * 9.80665) / (0.0254 * 0.0254) / 1000
export const barPerPsi = kPaPerPsi / 100

/** How one quantity is shown and typed: shown = stored × factor + offset. */
export interface Measure {
  readonly symbol: string
  readonly factor: number
  readonly offset: number
  /** Decimal places in which people write it. */
  readonly digits: number
  /** Smallest step that an estimate of this quantity is shown in, in shown units. */
  readonly honestStep: number
}

/** Quantities by what they are of; stored in lb, psi, lb/psi, ft, in, in², ft and °F. */
export type MeasuredKind = 'weight' | 'pressure' | 'slope' | 'length' | 'height' | 'area' | 'elevation' | 'temperature'
export type MeasureSet = Readonly<Record<MeasuredKind, Measure>>

const measure = (symbol: string, factor: number, digits: number, honestStep: number, offset = 0): Measure => ({
  symbol,
  factor,
  offset,
  digits,
  honestStep,
})

const pounds: MeasureSet = {
  weight: measure('lb', 1, 0, 10),
  pressure: measure('psi', 1, 1, 0.1),
  slope: measure('lb/psi', 1, 1, 0.1),
  length: measure('ft', 1, 1, 0.1),
  height: measure('in', 1, 1, 0.1),
  area: measure('in²', 1, 1, 0.1),
  elevation: measure('ft', 1, 0, 10),
  temperature: measure('°F', 1, 0, 1),
}

const kilograms = {
  weight: measure('kg', kgPerLb, 0, 5),
  length: measure('m', mPerFt, 2, 0.01),
  height: measure('cm', cmPerIn, 1, 0.1),
  area: measure('cm²', cmPerIn * cmPerIn, 0, 1),
  elevation: measure('m', mPerFt, 0, 5),
  temperature: measure('°C', 5 / 9, 0, 1, -160 / 9),
}

/** The measures a fleet can read, in the order of the House Rules' choices. */
export const measureSystems = ['lb, psi, ft', 'kg, kPa, m', 'kg, bar, m'] as const
export type MeasureSystem = (typeof measureSystems)[number]

export const measureSets: Readonly<Record<MeasureSystem, MeasureSet>> = {
  'lb, psi, ft': pounds,
  'kg, kPa, m': {
    ...kilograms,
    pressure: measure('kPa', kPaPerPsi, 0, 1),
    slope: measure('kg/kPa', kgPerLb / kPaPerPsi, 2, 0.01),
  },
  'kg, bar, m': {
    ...kilograms,
    pressure: measure('bar', barPerPsi, 2, 0.01),
    slope: measure('kg/bar', (100 * kgPerLb) / kPaPerPsi, 0, 1),
  },
}

/** Those of the store, of commands and of files of fixed format. */
export const storedMeasures: MeasureSet = pounds

/** Every measure of a quantity, in use or not, each once. */
export const measuresOf = (kind: MeasuredKind): readonly Measure[] => [
  ...new Map(Object.values(measureSets).map((set) => [set[kind].symbol, set[kind]])).values(),
]

/** The measures of the House Rules' value. */
export const measuresOfRule = (value: number): MeasureSet => measureSets[measureSystems[value] ?? measureSystems[0]]

export const toShown = (stored: number, { factor, offset }: Measure): number => stored * factor + offset
export const toStored = (shown: number, { factor, offset }: Measure): number =>
  factor === 1 && offset === 0 ? shown : (shown - offset) / factor + 0

/**
 * What is typed to this many places in other measures than the stored ones comes back digit for digit; in those, any
 * number does.
 */
const typedPlaces = 3
/** The smallest values are told to so many places at most. */
const mostPlaces = 6
const allDigits = figures({ maximumFractionDigits: mostPlaces })

/**
 * A stored value as the text of a field: the shortest that reads back as the same stored value, so that what was typed
 * stands there again digit for digit. A value that no such text gives, since it was stored in other measures, is
 * rounded to what people write; a form keeps the stored value while nobody changes that text.
 */
export function typedText(stored: number, { digits, ...measure }: Measure): string {
  const m = { digits, ...measure }
  const shown = toShown(stored, m)
  for (let places = 0; places <= typedPlaces; places += 1) {
    const text = shown.toFixed(places)
    // A bound may have been moved by the last digit of a double, see `readMeasure`.
    if (Math.abs(toStored(Number(text), m) - stored) <= 1e-12 * Math.abs(stored)) return typedInLocale(text)
  }
  if (m.factor === 1) return typedInLocale(String(stored))
  return typedInLocale(String(Number(shown.toFixed(placesFor(shown, m))) + 0))
}

/** As many places as people write, and more for a small value, so that four digits of it can be told. */
const placesFor = (shown: number, { digits }: Measure): number =>
  Math.min(mostPlaces, Math.max(digits, shown === 0 ? 0 : 3 - Math.floor(Math.log10(Math.abs(shown)))))

/** A bound as it is told: rounded inwards, so that it is accepted. */
function boundText(bound: number, m: Measure, inwards: (value: number) => number): string {
  const shown = toShown(bound, m)
  const unit = 10 ** placesFor(shown, m)
  const told = m.factor === 1 ? bound : inwards(Number((shown * unit).toPrecision(12))) / unit
  return allDigits(told + 0)
}

/** What a field of this quantity accepts, as a phrase. */
export const acceptedMeasure = ({ min, max }: Range, m: Measure): string =>
  phrase('{min} to {max}\u00a0{mSymbol}', {
    min: boundText(min, m, Math.ceil),
    max: boundText(max, m, Math.floor),
    mSymbol: m.symbol,
  })

/** A recorded or typed value with every digit that may tell it from another: `4,930.5 kg`. */
export function amountText(stored: number, m: Measure): string {
  const shown = Number(toShown(stored, m).toPrecision(7))
  return `${allDigits(shown)}\u00a0${m.symbol}`
}

/** `psi, kPa or bar` */
const symbolsText = (measures: readonly Measure[]): string =>
  [...new Set(measures.map(({ symbol }) => symbol))].join(', ').replace(/, (?=[^,]*$)/, phrase(' or '))
const plainUnit = (unit: string) => unit.replace('°', '').toLowerCase()

/**
 * Reads what was typed into the stored unit: a number in the measure in use, or one with the unit of any of `others`
 * behind it, such as `5.6 bar`. The problem's sentence has no field: it stands at its own.
 */
export function readMeasure(
  text: string,
  range: Range,
  inUse: Measure,
  others: readonly Measure[] = [],
): Result<number> {
  const accepted = acceptedMeasure(range, inUse)
  const problem = (code: string, what: string): Result<never> =>
    refuse<Problem>({
      code,
      field: '',
      value: text,
      accepted,
      message: phrase('{what}; {accepted} is accepted.', { what, accepted }),
    })
  const typed = text.trim()
  if (typed === '') return problem('empty', phrase('The value is empty'))
  // A longer text is no number, and would keep the pattern busy.
  const [, number = '', unit = ''] = (typed.length > 60 ? null : /^(.*?)\s*([a-z°/²]*)$/is.exec(typed)) ?? []
  const m = unit === '' ? inUse : [inUse, ...others].find(({ symbol }) => plainUnit(symbol) === plainUnit(unit))
  const shown = readNumber(number)
  if (typeof shown === 'object') return problem('ambiguous', sayEither(number, shown))
  if (m === undefined || shown === undefined)
    return problem(
      'not-a-number',
      phrase('“{typed}” is not a number in {symbolsText}', {
        typed: typed.slice(0, 60),
        symbolsText: symbolsText([inUse, ...others]),
      }),
    )
  const stored = toStored(shown, m)
  // A bound typed in other measures may miss the stored one by the last digit of a double.
  const near = Math.abs(toShown(range.max - range.min, { ...m, offset: 0 })) * 1e-12
  const kept =
    Math.abs(stored - range.min) <= near ? range.min : Math.abs(stored - range.max) <= near ? range.max : stored
  if (kept < range.min || kept > range.max)
    return problem('out-of-range', phrase('{stored} is out of range', { stored: amountText(stored, m) }))
  return ok(kept)
}
