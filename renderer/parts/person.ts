import { useLocalStorage } from '@mantine/hooks'

/** The name of whoever works at this computer, for the change log; remembered here, as nobody signs in. */
export const usePerson = () => useLocalStorage({ key: 'tareline-person', defaultValue: '', getInitialValueInEffect: false })

/** The longest name that is kept. */
const mostLetters = 200

/** What is wrong with a name, as a sentence; null when it will do. */
export function nameProblem(name: string): string | null {
  if (name.trim() === '') return 'Your name is empty; the change log keeps who did it.'
  return name.trim().length > mostLetters ? `Your name has ${name.trim().length} letters; ${mostLetters} at most are kept.` : null
}
