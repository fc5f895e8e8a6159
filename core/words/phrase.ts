import { type FormatXMLElementFn, IntlMessageFormat } from 'intl-messageformat'
import { remember } from '#core/words/remember.ts'

/**
 * The languages of the program by their tags, as each calls itself, and the locale that writes its numbers where the
 * window's own is of another language.
 */
export const languages = {
  en: { name: 'English', locale: 'en-US' },
  es: { name: 'español', locale: 'es-US' },
  'fr-CA': { name: 'français (Canada)', locale: 'fr-CA' },
} as const
export type Language = keyof typeof languages

/** Those that a person can choose: the ones whose catalogue has every sentence, as a test holds. */
export const offeredLanguages: readonly Language[] = ['en', 'es', 'fr-CA']

/** The sentences of a language, by the English one that stands in the source. */
export type Catalogue = Readonly<Record<string, string>>

/** In what somebody is spoken to: the language of the words, and the locale of the numbers. */
export interface Speech {
  readonly language: Language
  readonly locale: string
  readonly catalogue: Catalogue
}

/** What the source says; commands and files of fixed format are always in it. */
export const english: Speech = { language: 'en', locale: 'en-US', catalogue: {} }

let speechNow = (): Speech => english

/** Who tells in what a sentence is said just now: a window its own language, the service that of the call. */
export function speakBy(source: () => Speech): void {
  speechNow = source
}
export const speech = (): Speech => speechNow()

export type Values = Readonly<Record<string, unknown>>
/** A piece of a sentence: text, or what a value or a tag stands for. */
type Part = string | object

/** Texts that mean themselves in ICU's format. */
const isPlain = (text: string) => !/[{}<>#|']/.test(text)

/** All sentences in each language, and those of a screen in a few locales more. */
const read = remember<IntlMessageFormat>(10_000)
const readMessage = (text: string, locale: string): IntlMessageFormat =>
  read(`${locale} ${text}`, () => new IntlMessageFormat(text, locale))

/**
 * A sentence in pieces: an English one in ICU's message format, with tags for what is set apart in it, its values by
 * name and its tags as functions of their words. What a catalogue has no words for is said in English. Errors: one of
 * the library for a text that is no message, or for a value that is missing, a programmer's mistake.
 */
export function phraseParts<T extends Part>(
  { catalogue, locale, language }: Speech,
  text: string,
  values: Values,
): (string | T)[] {
  const known = catalogue[text]
  const words = known ?? text
  if (isPlain(words)) return [words]
  // Words and their plurals go by the language that they are in, which is the locale's but for what is said in English.
  const spoken = known === undefined && language !== 'en' ? english.locale : locale
  const said = readMessage(words, spoken).format<T>(values as Record<string, T | FormatXMLElementFn<T, (string | T)[]>>)
  return Array.isArray(said) ? said : [said]
}

/** The same in one text, where no value is more than text. */
export const phraseIn = (spoken: Speech, text: string, values: Values = {}): string =>
  phraseParts<never>(spoken, text, values).join('')

/** A sentence in the language of whoever is spoken to; see `phraseParts`. */
export const phrase = (text: string, values: Values = {}): string => phraseIn(speechNow(), text, values)

/** Marks an English sentence of a table for the catalogues; `spoken` has it said. */
export const phraseLater = (text: string): string => text

/**
 * A table that is made before anybody is spoken to: its texts of these names (left out: all of them), at any depth, are
 * said anew each time they are read, in the language of whoever reads them.
 */
export function spoken<T extends object>(table: T, names?: readonly string[]): T {
  for (const [name, value] of Object.entries(table)) {
    if (typeof value === 'string' && (names === undefined || names.includes(name)))
      Object.defineProperty(table, name, { get: () => phrase(value), enumerable: true })
    else if (typeof value === 'object' && value !== null && !Array.isArray(value)) spoken(value, names)
  }
  return table
}
