import { phrase } from '#core/words/phrase.ts'
import type { DateOrder, Encoding, ForeignMapping, ForeignQuantity } from '#core/foreign/mapping/mapping.ts'
import { localTimeAt } from '#core/words/day.ts'
import { barPerPsi, kPaPerPsi, kgPerLb, mPerFt } from '#core/words/measures.ts'
import { asText, beginsAsFormula } from '#core/words/text.ts'

/** Stored value (lb, psi, ft, °F) of a value in each unit. */
const toStored: Readonly<Record<ForeignQuantity, Readonly<Record<string, (value: number) => number>>>> = {
  weight: { lb: (v) => v, kg: (v) => v / kgPerLb, t: (v) => (v * 1000) / kgPerLb },
  pressure: { psi: (v) => v, kPa: (v) => v / kPaPerPsi, bar: (v) => v / barPerPsi },
  elevation: { ft: (v) => v, m: (v) => v / mPerFt },
  temperature: { '°F': (v) => v, '°C': (v) => (v * 9) / 5 + 32 },
}

/** Other ways in which the units are written, in small letters. */
const unitWords: ReadonlyMap<string, string> = new Map(
  Object.entries({
    lb: 'lb',
    lbs: 'lb',
    kg: 'kg',
    kgs: 'kg',
    t: 't',
    to: 't',
    psi: 'psi',
    psig: 'psi',
    kpa: 'kPa',
    bar: 'bar',
    ft: 'ft',
    m: 'm',
    '°f': '°F',
    f: '°F',
    '°c': '°C',
    c: '°C',
  }),
)

/** The unit of a quantity that a word names; undefined where it names none. */
export function unitNamed(quantity: ForeignQuantity, word: string): string | undefined {
  const unit = unitWords.get(word.toLowerCase())
  return unit !== undefined && Object.hasOwn(toStored[quantity], unit) ? unit : undefined
}

/**
 * Characters of the longest cell that can be a number, a date or a time. A pattern with two runs of blanks takes as
 * long as the square of a cell's length.
 */
export const longestCell = 100

type NumberSigns = Pick<ForeignMapping, 'decimal' | 'thousands'>
const spaces = '[ \\u00a0\\u2009\\u202f]'
const between = { none: null, comma: ',', point: '\\.', space: spaces, apostrophe: "['’]" } as const

const patterns = new Map<string, RegExp>()
function numberPattern({ decimal, thousands }: NumberSigns): RegExp {
  const key = `${decimal} ${thousands}`
  const known = patterns.get(key)
  if (known) return known
  const point = decimal === 'point' ? '\\.' : ','
  const group = between[thousands]
  const whole = group === null ? '\\d+' : `(?:\\d{1,3}(?:${group}\\d{3})+|\\d+)`
  const pattern = new RegExp(
    `^([+\\-\\u2212]?)(${whole})?(?:${point}(\\d*))?(?:${spaces}*(\\p{L}{1,4}|°[a-zA-Z]))?$`,
    'u',
  )
  patterns.set(key, pattern)
  return pattern
}

/**
 * The stored value of a number as the file writes it; a unit behind it comes before the mapping's. Undefined where the
 * text is not a number in these signs, they are not chosen yet, or it names a unit that the quantity does not have.
 */
export function readForeignNumber(
  text: string,
  quantity: ForeignQuantity,
  mapping: NumberSigns & Readonly<Record<ForeignQuantity, string>>,
): number | undefined {
  const number = text.trim()
  const match = mapping.decimal === null || number.length > longestCell ? null : numberPattern(mapping).exec(number)
  if (!match) return undefined
  const [, sign = '', whole = '', fraction = '', word] = match
  if (whole === '' && fraction === '') return undefined
  const unit = word === undefined ? mapping[quantity] : unitNamed(quantity, word)
  const convert = unit === undefined ? undefined : toStored[quantity][unit]
  if (!convert) return undefined
  const value = Number(`${whole.replaceAll(/\D/g, '')}.${fraction}0`)
  return convert(sign === '-' || sign === '\u2212' ? -value : value) + 0
}

/** A number in words, for an error sentence. */
export function acceptedNumber({ decimal, thousands }: NumberSigns, unit: string): string {
  const point = decimal === 'point' ? '.' : ','
  const sign = { none: '', comma: ',', point: '.', space: ' ', apostrophe: '’' }[thousands]
  return phrase('a number in {unit} such as 12{sign}340{point}5', { unit, sign, point })
}

const months = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec']
const datePattern = /^(\d{1,4}|\p{L}{3,9})\s*[./\-\s]\s*(\d{1,2}|\p{L}{3,9})\.?\s*[./\-,\s]\s*(\d{1,4})(?=$|[T,\s])/u
const packedDate = /^(\d{4})(\d{2})(\d{2})(?=$|[T,\s])/
const timePattern =
  /^(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,](\d{1,9}))?)?\s*([ap]\.?m\.?)?\s*(Z|UTC|GMT|[+-]\d{2}(?::?\d{2})?)?$/i

/** A date and time as written: the wall clock as if it were UTC, and the offset where the text has one, minutes. */
interface WallTime {
  readonly wallMs: number
  readonly offsetMinutes: number | null
}

const monthOf = (text: string): number | undefined => {
  const at = months.indexOf(text.slice(0, 3).toLowerCase())
  return /^\d+$/.test(text) ? Number(text) : at < 0 ? undefined : at + 1
}

function dayParts(
  text: string,
  order: DateOrder,
): { year: number; month: number; day: number; length: number } | undefined {
  const packed = order === 'year first' ? packedDate.exec(text) : null
  const match = packed ?? datePattern.exec(text)
  if (!match) return undefined
  const [all, a = '', b = '', c = ''] = match
  // A month in words stands where it stands, whatever the order.
  const named = /^\p{L}/u.test(a) ? 'month first' : /^\p{L}/u.test(b) && order !== 'year first' ? 'day first' : order
  const [y, m, d] = named === 'year first' ? [a, b, c] : named === 'day first' ? [c, b, a] : [c, a, b]
  const month = monthOf(m)
  if (month === undefined || !/^\d{2}$|^\d{4}$/.test(y) || !/^\d{1,2}$/.test(d)) return undefined
  return { year: y.length === 2 ? 2000 + Number(y) : Number(y), month, day: Number(d), length: all.length }
}

/** Reads the written date and time; undefined where they are none, or name a day or hour that does not exist. */
function readWallTime(date: string, time: string, order: DateOrder): WallTime | undefined {
  const text = date.trim()
  const day = text.length > longestCell ? undefined : dayParts(text, order)
  if (!day) return undefined
  const rest = text.slice(day.length).replace(/^[T,\s]+/, '')
  const clock = time.trim()
  // The midnight that some programs write behind a day is no time beside one with a column of its own.
  const alone = clock === '' || /^0?0:00(?::00)?$/.test(rest) ? clock || rest : rest === '' ? clock : undefined
  const match = alone === undefined || alone.length > longestCell ? null : timePattern.exec(alone)
  if (!match) return undefined
  const [, h = '', m = '', s = '0', fraction = '', half, zone] = match
  if (half !== undefined && (Number(h) < 1 || Number(h) > 12)) return undefined
  const hour = half === undefined ? Number(h) : (Number(h) % 12) + (/^p/i.test(half) ? 12 : 0)
  const { year, month, day: date1 } = day
  if (year < 1900 || year > 2199 || month < 1 || month > 12 || hour > 23 || Number(m) > 59 || Number(s) > 59)
    return undefined
  const wallMs = Date.UTC(
    year,
    month - 1,
    date1,
    hour,
    Number(m),
    Number(s),
    Math.floor(Number(`0.${fraction}0`) * 1000),
  )
  if (date1 < 1 || new Date(wallMs).getUTCDate() !== date1) return undefined
  if (zone === undefined) return { wallMs, offsetMinutes: null }
  if (/^[a-z]/i.test(zone)) return { wallMs, offsetMinutes: 0 }
  const [hours, minutes] = [Number(zone.slice(1, 3)), zone.length > 3 ? Number(zone.slice(-2)) : 0]
  if (hours > 14 || minutes > 59) return undefined
  return { wallMs, offsetMinutes: (zone.startsWith('-') ? -1 : 1) * (hours * 60 + minutes) }
}

const quarterMs = 15 * 60_000

/**
 * Offsets by zone and quarter of an hour of the wall clock: every change of a clock falls on one, and asking for each
 * row of a long file takes too long. Undefined: the clocks leave that quarter out.
 */
const offsets = new Map<string, Map<number, number | undefined>>()

/**
 * The time of a wall clock in a zone, ms UTC. An hour that the clocks show twice is its first; one that they leave out
 * is undefined.
 */
function zonedTime(wallMs: number, zone: string): number | undefined {
  const known = offsets.get(zone) ?? new Map<number, number | undefined>()
  offsets.set(zone, known)
  const quarter = Math.floor(wallMs / quarterMs)
  if (!known.has(quarter)) {
    const start = quarter * quarterMs
    const time = localTimeAt(start, zone)
    if (known.size > 100_000) known.clear()
    known.set(quarter, time.occurs === 'never' ? undefined : start - (time.occurs === 'once' ? time.at : time.first))
  }
  const offset = known.get(quarter)
  return offset === undefined ? undefined : wallMs - offset
}

/** The time of a date and a time as the file writes them, ms UTC; undefined where they are none. */
export function readForeignTime(
  date: string,
  time: string,
  { dateOrder, zone }: Pick<ForeignMapping, 'dateOrder' | 'zone'>,
): number | undefined {
  const wall = readWallTime(date, time, dateOrder)
  if (!wall) return undefined
  return wall.offsetMinutes === null ? zonedTime(wall.wallMs, zone) : wall.wallMs - wall.offsetMinutes * 60_000
}

const exampleTimes = {
  'year first': '2026-03-21 14:30',
  'day first': '21.03.2026 14:30',
  'month first': '03/21/2026 2:30 PM',
} as const

/** A date and time in words, for an error sentence. */
export const acceptedTime = ({ dateOrder }: Pick<ForeignMapping, 'dateOrder'>): string =>
  phrase(
    '{dateOrder, select, year_first {a date with its time, year first} day_first {a date with its time, day first} other {a date with its time, month first}} such as {example}',
    { dateOrder: dateOrder.replace(' ', '_'), example: exampleTimes[dateOrder] },
  )

/** Whether a text is a formula's, be it behind apostrophes. */
const needsGuard = (text: string): boolean => beginsAsFormula(text.replace(/^'+/, ''))

/**
 * A cell of a file of rows to mend, which a spreadsheet program opens and the app reads again: what begins as a formula
 * gets an apostrophe as `asText` gives it, and so does what has one already, so that `readMendCell` always tells what
 * stood there.
 */
export const mendCell = (text: string): string =>
  needsGuard(text) && !beginsAsFormula(text) ? `'${text}` : asText(text)

export const readMendCell = (text: string): string =>
  text.startsWith("'") && needsGuard(text.slice(1)) ? text.slice(1) : text

/**
 * Windows-1252 where it is not Latin-1: the characters of the bytes 0x80 to 0x9f, a space where there is none. Source:
 * the WHATWG encoding standard, index windows-1252 (from memory).
 */
const high = '€ ‚ƒ„…†‡ˆ‰Š‹Œ Ž  ‘’“”•–—˜™š›œ žŸ'
const highBytes = new Map(
  [...high].flatMap((sign, at): [string, number][] => (sign === ' ' ? [] : [[sign, 0x80 + at]])),
)

function singleBytes(text: string): number[] {
  return Array.from(text, (sign) => {
    const code = sign.codePointAt(0) ?? 0
    // What the encoding does not have can only come from our own sentences.
    return highBytes.get(sign) ?? (code < 256 ? code : 0x3f)
  })
}

/** The bytes of a text in an encoding that `TextDecoder` reads back; UTF-8 is what a file of text is made of anyway. */
export function encodeText(text: string, encoding: Encoding): Uint8Array<ArrayBuffer> | string {
  if (encoding === 'utf-8') return `\ufeff${text}`
  if (encoding === 'windows-1252') return Uint8Array.from(singleBytes(text))
  const bytes = new Uint8Array(2 * text.length + 2)
  for (const [at, unit] of [
    0xfeff,
    ...Array.from({ length: text.length }, (_, index) => text.charCodeAt(index)),
  ].entries()) {
    bytes[2 * at] = unit & 0xff
    bytes[2 * at + 1] = unit >> 8
  }
  return bytes
}
