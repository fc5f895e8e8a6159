import { nearestLanguage, speechIn } from '#core/words/catalogues.ts'
import { type Language, offeredLanguages, speakBy, speech } from '#core/words/phrase.ts'
import { leaveOnDesk, readFromDesk } from '#renderer/client/desk.ts'

const key = 'tareline-language'
/** Under which the choice lies on the desk, for a browser that forgets. */
const deskName = 'language'

const offered = (text: string | null): Language | null => offeredLanguages.find((language) => language === text) ?? null

/**
 * Has the window speak the language chosen in it, else the nearest to what the browser prefers. Comes before anything
 * of the app is drawn: its tables of words are made once, in the language of the window.
 */
export async function speakChosen(): Promise<void> {
  const chosen = offered(localStorage.getItem(key)) ?? nearestLanguage(navigator.languages)
  const found = await speechIn(chosen, navigator.language).catch(
    // Without the file of a language there is still English.
    () => speechIn('en', navigator.language),
  )
  speakBy(() => found)
  document.documentElement.lang = found.language
}

function speakAnew(language: Language): void {
  localStorage.setItem(key, language)
  if (language !== speech().language) location.reload()
}

/** Keeps a language for this person and draws the window anew in it; what is typed and not saved lies in its draft. */
export async function chooseLanguage(text: string): Promise<void> {
  const language = offered(text)
  if (language === null) return
  await leaveOnDesk(deskName, language)
  speakAnew(language)
}

/** Speaks what the person chose before, where this browser does not know it. */
export async function recallLanguage(): Promise<void> {
  if (localStorage.getItem(key) !== null) return
  const language = offered(await readFromDesk(deskName))
  if (language !== null) speakAnew(language)
}
