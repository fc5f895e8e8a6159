import { phrase } from '#core/words/phrase.ts'

/** A password is long rather than odd: length is what guessing at the door has to get through. */
const passwordLetters = { least: 10, most: 200 } as const

/** What is hashed: the same letters typed on different keyboards are the same password. */
export const passwordText = (typed: string): string => typed.normalize('NFKC')

/** What is wrong with a password that somebody chooses, as a sentence; undefined when it will do. */
export function passwordProblem(typed: string, name: string): string | undefined {
  const password = passwordText(typed)
  const letters = [...password].length
  const { least, most } = passwordLetters
  if (letters < least)
    return phrase(
      'This password has {letters} letters; at least {least} are needed. Three or four words in a row will do.',
      { letters, least },
    )
  if (letters > most) return phrase('This password has {letters} letters; at most {most} are kept.', { letters, most })
  if (new Set(password.toLowerCase()).size < 4)
    return phrase('This password repeats the same few letters; three or four words in a row will do.')
  if (password.toLowerCase().trim() === passwordText(name).toLowerCase().trim())
    return phrase('This password is your name; take another one.')
  return undefined
}
