import { nearestLanguage, speechIn } from '#core/words/catalogues.ts'
import { type Language, languages, offeredLanguages, speakBy } from '#core/words/phrase.ts'

const key = 'tareline-language'

/** The language chosen in this browser; null: none, and the browser's own preference counts. */
function chosenLanguage(): Language | null {
  const kept = localStorage.getItem(key)
  return offeredLanguages.find((language) => language === kept) ?? null
}

/**
 * Has the window speak the language chosen in it, else the nearest to what the browser prefers. Comes before anything
 * of the app is loaded: its tables of words are made once, in the language of the window.
 */
export async function speakChosen(): Promise<void> {
  const speech = await speechIn(chosenLanguage() ?? nearestLanguage(navigator.languages), navigator.language).catch(
    // Without the file of a language there is still English.
    () => speechIn('en', navigator.language),
  )
  speakBy(() => speech)
  document.documentElement.lang = speech.language
}

/** Keeps a language for this browser and draws the window anew in it; what is typed and not saved lies in its draft. */
export function chooseLanguage(language: Language): void {
  localStorage.setItem(key, language)
  location.reload()
}

/** What a person can choose from, each by its own name. */
export const languageChoices = offeredLanguages.map((language) => ({
  value: language,
  label: languages[language].name,
}))
