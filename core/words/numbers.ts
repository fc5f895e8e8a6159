import { languages, phrase, speech } from '#core/words/phrase.ts'
import { remember } from '#core/words/remember.ts'

const writers = remember<Intl.NumberFormat>(1000)
const writerIn = (locale: string, options: Intl.NumberFormatOptions): Intl.NumberFormat =>
  writers(`${locale} ${JSON.stringify(options)}`, () => new Intl.NumberFormat(locale, options))

/** Writes numbers as the locale of whoever is spoken to does: 12,340.5 or 12 340,5. */
export const figures =
  (options: Intl.NumberFormatOptions = {}) =>
  (value: number): string =>
    writerIn(speech().locale, options).format(value)

/** Names of days and months, which stand among words and so are of their language. */
export const namesOfDays =
  (options: Intl.DateTimeFormatOptions) =>
  (ms: number): string =>
    new Intl.DateTimeFormat(languages[speech().language].locale, { ...options, timeZone: 'UTC' }).format(ms)

/** Names in a row with the language's own `and`. */
export const listText = (names: readonly string[]): string =>
  new Intl.ListFormat(languages[speech().language].locale).format(names)

interface Signs {
  readonly decimal: string
  /** What parts thousands; a locale that parts them by a blank takes every blank. */
  readonly group: string
}

const signs = remember<Signs>(100)
const signsOf = (locale: string): Signs => signs(locale, () => readSigns(locale))

function readSigns(locale: string): Signs {
  const parts = new Intl.NumberFormat(locale, { useGrouping: 'always' }).formatToParts(12_345.6)
  const sign = (kind: string, usual: string) => parts.find(({ type }) => type === kind)?.value ?? usual
  return { decimal: sign('decimal', '.'), group: sign('group', ',').replace(/\s/, ' ') }
}

/** The text of a field, a plain number with a point, as the locale types it. */
export const typedInLocale = (plain: string): string => plain.replace('.', signsOf(speech().locale).decimal)

/** A typed number; what can be meant by one that can be read in two ways; undefined for a text that is none. */
export type TypedNumber = number | { readonly either: readonly [number, number] } | undefined

/**
 * A number as people type it where the locale of whoever is spoken to parts thousands and decimals by its own signs:
 * `33,940`, `82.5`, in Germany `33.940`, `82,5`. Either of point and comma is the decimal sign before one or two last
 * digits, since no thousands stand there. Before three last digits the locale decides; where it does not use the sign,
 * or uses a comma for its decimals, nobody can tell what is meant.
 */
export function readNumber(text: string): TypedNumber {
  const { decimal, group } = signsOf(speech().locale)
  let typed = text.trim().replace(/^\u2212/, '-')
  if (group === ' ') typed = typed.replace(/(?<=\d)\s(?=\d{3}(?!\d))/gu, '')
  const other = decimal === ',' ? '.' : ','
  const lone = new RegExp(`^([+-]?\\d{0,})\\${other}(\\d{1,2})$`).exec(typed)
  if (lone) return Number(`${lone[1]}.${lone[2]}`) + 0
  const odd = /^([+-]?[1-9]\d{0,2})([.,])(\d{3})$/.exec(typed)
  if (odd && decimal === ',' && (odd[2] === decimal || group !== odd[2]))
    return { either: [Number(`${odd[1]}.${odd[3]}`), Number(`${odd[1]}${odd[3]}`)] }
  const whole = group === ' ' ? '\\d+' : `\\d{1,3}(\\${group}\\d{3})+`
  const number = new RegExp(`^[+-]?(\\d+|${whole})?(\\${decimal}\\d*)?$`)
  if (!number.test(typed) || !/\d/.test(typed)) return undefined
  // Adding zero turns -0, which SQLite does not keep, into 0.
  return Number(typed.replaceAll(group, '').replace(decimal, '.')) + 0
}

/** What to do about a number that can be meant in two ways, as a phrase: each of them typed so that it is plain. */
export const sayEither = (typed: string, { either: [one, other] }: Exclude<TypedNumber, number | undefined>): string =>
  phrase('“{typed}” can be {one} or {other}: type it as one of these', {
    typed: typed.trim(),
    one: typedInLocale(String(one)),
    other: String(other),
  })

/** The text of a field with all its digits, the whole ones in threes. */
export const grouped = (text: string): string =>
  text.replace(/^(-?)(\d{4,})/, (_, sign: string, whole: string) => `${sign}${figures()(Number(whole))}`)
