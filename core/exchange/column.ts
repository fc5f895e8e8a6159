import { phrase } from '#core/words/phrase.ts'
import { acceptedInstant, parseInstant, toStoredInstant } from '#core/words/instant.ts'
import { tidyName } from '#core/words/names.ts'
import { type Range, describeRange } from '#core/words/vocabulary.ts'
import { acceptedHolidays, acceptedWeekdays, readHolidays, readWeekdays } from '#core/words/work-days.ts'

export type Cell = string | number

/** How the text of a cell becomes a stored value and back, and what is accepted in words for an error sentence. */
export interface CellType<T extends Cell = Cell> {
  readonly accepted: string
  /** The stored value of a text that is not empty, or undefined when it is not accepted. */
  readonly parse: (text: string) => T | undefined
  readonly write: (value: Cell) => string
}

/**
 * When a cell must be filled: `always`; `once`, in at least one row of its record, unless the record is stored already;
 * or never (`optional`).
 */
export type Need = 'always' | 'once' | 'optional'

export interface Column<T extends Cell = Cell, N extends Need = Need> {
  readonly need: N
  readonly type: CellType<T>
  /** Came after the format was fixed: written only where a record has something to say in it. */
  readonly late?: true
}

export const always = <T extends Cell>(type: CellType<T>): Column<T, 'always'> => ({ need: 'always', type })
export const once = <T extends Cell>(type: CellType<T>): Column<T, 'once'> => ({ need: 'once', type })
export const optional = <T extends Cell>(type: CellType<T>): Column<T, 'optional'> => ({ need: 'optional', type })
export const late = <T extends Cell>(type: CellType<T>): Column<T, 'optional'> => ({ ...optional(type), late: true })

// biome-ignore lint/suspicious/noControlCharactersInRegex: those are what must not be in a name
const control = /[\u0000-\u001f\u007f]/
// biome-ignore lint/suspicious/noControlCharactersInRegex: all but tab and line breaks
const controlInProse = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]/

/** A name, number or plate as people write it on one line. */
export const line: CellType<string> = {
  get accepted() {
    return phrase('up to 200 characters on one line')
  },
  parse: (text) => (text.length <= 200 && !control.test(text) ? text : undefined),
  write: String,
}

/**
 * A name that is a key, such as a unit's number. It is looked up as it is written, since an older file may hold it so,
 * and tidied where it is stored.
 */
export const name: CellType<string> = {
  get accepted() {
    return line.accepted
  },
  write: line.write,
  parse: (text) => (tidyName(text) === '' ? undefined : line.parse(text)),
}

/** A remark, line breaks included. */
export const prose: CellType<string> = {
  get accepted() {
    return phrase('up to 10,000 characters of text')
  },
  parse: (text) => (text.length <= 10_000 && !controlInProse.test(text) ? text : undefined),
  write: String,
}

const plainNumber = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)$/

/** The shortest decimal text that reads back as the same number, without an exponent. */
export function plainDecimal(value: number): string {
  const text = String(value)
  const [digits = '', exponent] = text.split('e')
  if (exponent === undefined) return text
  const sign = digits.startsWith('-') ? '-' : ''
  const [whole = '', fraction = ''] = digits.replace('-', '').split('.')
  const point = whole.length + Number(exponent)
  const all = whole + fraction
  if (point <= 0) return `${sign}0.${'0'.repeat(-point)}${all}`
  return point >= all.length ? sign + all.padEnd(point, '0') : `${sign}${all.slice(0, point)}.${all.slice(point)}`
}

/** A plain decimal number in a range, stored as the nearest double. */
export const quantity = (range: Range): CellType<number> => ({
  get accepted() {
    return phrase('a plain number from {range}', { range: describeRange(range) })
  },
  parse: (text) => {
    if (!plainNumber.test(text)) return undefined
    // Adding zero turns -0, which SQLite does not keep, into 0.
    const value = Number(text) + 0
    return value >= range.min && value <= range.max ? value : undefined
  },
  write: (value) => plainDecimal(Number(value)),
})

export const wholeNumber = (range: Range): CellType<number> => {
  const plain = quantity(range)
  return {
    get accepted() {
      return phrase('a whole number from {range}', { range: describeRange(range) })
    },
    parse: (text) => {
      const value = plain.parse(text)
      return value !== undefined && Number.isInteger(value) ? value : undefined
    },
    write: (value) => plainDecimal(Number(value)),
  }
}

/** The days of the week on which a bench works. */
export const weekdays: CellType<string> = {
  get accepted() {
    return acceptedWeekdays()
  },
  parse: readWeekdays,
  write: String,
}

/** The days on which it is closed. */
export const holidays: CellType<string> = {
  get accepted() {
    return acceptedHolidays()
  },
  parse: readHolidays,
  write: String,
}

/** One word of a closed list; capitals, and `_` or `-` in place of a space, make no difference. */
export function word<T extends string>(words: readonly T[]): CellType<T> {
  const known = new Map<string, T>(words.map((each) => [each, each]))
  return {
    get accepted() {
      const last = words.at(-1) ?? ''
      return words.length > 1 ? phrase('{others} or {last}', { others: words.slice(0, -1).join(', '), last }) : last
    },
    parse: (text) => known.get(text) ?? known.get(text.toLowerCase().replaceAll(/[_\s-]+/g, ' ')),
    write: String,
  }
}

const wholeSecondUtc = /^(?:19|20|21)\d\d-(?:0[1-9]|1[0-2])-(?:0[1-9]|1\d|2[0-8])T(?:[01]\d|2[0-3]):[0-5]\d:[0-5]\dZ$/

/** A time in the stored form `YYYY-MM-DDTHH:MM:SS.mmmZ`. */
export const instant: CellType<string> = {
  get accepted() {
    return acceptedInstant()
  },
  parse: (text) => {
    // The commonest form is already the stored one but for its milliseconds, which spares a million conversions.
    if (wholeSecondUtc.test(text)) return `${text.slice(0, 19)}.000Z`
    const ms = parseInstant(text)
    if (ms === undefined) return undefined
    const stored = toStoredInstant(ms)
    return stored.startsWith('+') || stored.startsWith('-') ? undefined : stored
  },
  write: (value) => String(value).replace('.000Z', 'Z'),
}
