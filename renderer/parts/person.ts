import { readLocalStorageValue, useLocalStorage } from '@mantine/hooks'
import { phrase } from '#core/words/phrase.ts'

const key = 'tareline-person'

/** The name of whoever works at this computer, for the change log; remembered here, where nobody signs in. */
export const usePerson = () => useLocalStorage({ key, defaultValue: '', getInitialValueInEffect: false })

/** The longest name that is kept. */
const mostLetters = 200

/** What is wrong with a name, as a sentence; null when it will do. */
export function nameProblem(name: string): string | null {
  if (name.trim() === '') return phrase('Your name is empty; the change log keeps who did it.')
  return name.trim().length > mostLetters
    ? phrase('Your name has {name} letters; {mostLetters} at most are kept.', { name: name.trim().length, mostLetters })
    : null
}

/** The name of whoever has signed in at a desk of a house; null where nobody signs in. */
let signedIn: string | null = null
export function setSignedIn(name: string | null): void {
  signedIn = name
}

type Asker = () => Promise<string | null>
let asker: Asker | null = null

/**
 * The frame answers for the name: `ask` shows its dialog and tells what was chosen there, or null. Returns how to stop.
 */
export function answerForPerson(ask: Asker): () => void {
  asker = ask
  return () => {
    if (asker === ask) asker = null
  }
}

/**
 * The name to save a change under. It is asked for where none is kept yet; null when the person would not say, and then
 * nothing is to be saved. Every form calls it when it saves, and has no field of its own for a name.
 */
export async function personNow(): Promise<string | null> {
  if (signedIn !== null) return signedIn
  const kept = readLocalStorageValue({ key, defaultValue: '' })
  return nameProblem(kept) === null ? kept.trim() : asker === null ? null : await asker()
}
