import {
  type Catalogue,
  type Language,
  type Speech,
  english,
  languages,
  offeredLanguages,
  speech,
} from '#core/words/phrase.ts'
import { remember } from '#core/words/remember.ts'

/** Where the sentences of each language lie; each is fetched when somebody speaks it. */
const catalogues: Readonly<Record<Exclude<Language, 'en'>, () => Promise<{ default: Catalogue }>>> = {
  es: () => import('#core/words/languages/es.json', { with: { type: 'json' } }),
  'fr-CA': () => import('#core/words/languages/fr-CA.json', { with: { type: 'json' } }),
}

const baseOf = (tag: string) => tag.split('-', 1)[0]?.toLowerCase()

/** The language that comes nearest to what a person prefers, by tags such as es-MX, the dearest first. */
export const nearestLanguage = (tags: readonly string[]): Language =>
  tags
    .map((tag) => offeredLanguages.find((language) => baseOf(language) === baseOf(tag)))
    .find((language) => language !== undefined) ?? 'en'

/** Whether a text is the tag of a locale that numbers can be written in. */
function isLocale(text: string): boolean {
  try {
    return Intl.NumberFormat.supportedLocalesOf(text).length > 0
  } catch {
    return false
  }
}

/**
 * How somebody is spoken to who chose a language and whose window is of a locale. English words go with the numbers of
 * any locale; those of other languages with their own.
 */
export async function speechIn(language: Language, windowLocale: string): Promise<Speech> {
  const fits = isLocale(windowLocale) && (language === 'en' || baseOf(windowLocale) === baseOf(language))
  const locale = fits ? windowLocale : languages[language].locale
  if (language === 'en') return locale === english.locale ? english : { ...english, locale }
  return { language, locale, catalogue: (await catalogues[language]()).default }
}

const languageNamed = (text: string | undefined): Language =>
  offeredLanguages.find((language) => language === text) ?? 'en'

/** The header in which a call carries how its window is spoken to, and its text: `es;es-MX`. */
export const speechHeader = 'tareline-speech'
export const speechTag = ({ language, locale }: Speech): string => `${language};${locale}`

/** What a window sends along, so that what the core says to it is in its own language. */
export const speechHeaders = () => ({ [speechHeader]: speechTag(speech()) })

/** Of the tags that came last: a window has one, and nobody has many. */
const known = remember<Promise<Speech>>(100)

/** The speech that such a text names; what it does not name is English. */
export async function speechOfTag(tag: string | null): Promise<Speech> {
  if (tag === null) return english
  const [language, locale = ''] = tag.slice(0, 60).split(';')
  return known(`${language};${locale}`, () => speechIn(languageNamed(language), locale))
}
