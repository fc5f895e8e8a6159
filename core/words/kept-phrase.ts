import { type Values, phrase } from '#core/words/phrase.ts'

/** What a kept sentence begins with, which no sentence of a person does. */
const head = '{"say":'

/**
 * A sentence for a note that is read another day: kept by its English (marked with `phraseLater`) and its values, so
 * that it is said in the language of whoever reads it.
 */
export const keepPhrase = (text: string, values: Readonly<Record<string, string | number>> = {}): string =>
  JSON.stringify({ say: text, with: values })

/** Says a kept sentence, and those among its values. A text that was kept as it was said, as once, stays as it is. */
export function sayKept(kept: string): string {
  if (!kept.startsWith(head)) return kept
  const { say, with: values } = JSON.parse(kept) as { say: string; with: Values }
  const said = Object.entries(values).map(([name, value]) => [name, typeof value === 'string' ? sayKept(value) : value])
  return phrase(say, Object.fromEntries(said))
}
