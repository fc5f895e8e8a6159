/** Names that nothing has to be done about: signs of the plain keyboard alone. */
const plain = /^[ -~]*$/
/** What no screen shows: joiners, marks of direction, fillers, and the second set of controls. */
const unseen = /[\p{Default_Ignorable_Code_Point}\u0080-\u009f]/gu

/**
 * A name as it is stored: without signs that cannot be seen, accents in their composed form, no blanks around. Names of
 * units, sensors, yards, scales and tickets are keys, so that two of them that read alike must be one.
 */
export const tidyName = (typed: string): string =>
  plain.test(typed) ? typed.trim() : typed.replaceAll(unseen, '').normalize('NFC').trim()

/** Letters of other alphabets that are drawn as ours are, in pairs of theirs and ours. */
const twins = new Map(
  [
    ['АВЕЅІЈКМНОРСТХУаеѕіјорсху', 'ABESIJKMHOPCTXYaesijopcxy'],
    ['ΑΒΕΖΗΙΚΜΝΟΡΤΥΧο', 'ABEZHIKMNOPTYXo'],
  ].flatMap(([theirs = '', ours = '']) => Array.from(theirs, (letter, at) => [letter, ours.charAt(at)] as const)),
)

/**
 * What names are compared by: the same for two that look alike, as in wide letters, with another dash, or with letters
 * of another alphabet among them. A plain name is its own.
 */
export function nameKey(name: string): string {
  if (plain.test(name)) return name.trim()
  const folded = tidyName(name)
    .normalize('NFKC')
    .replaceAll(/[\p{Dash_Punctuation}\u2212]/gu, '-')
  const ours = Array.from(folded, (letter) => twins.get(letter) ?? letter).join('')
  return ours.replaceAll(unseen, '').normalize('NFKC').trim()
}

/** A map by names, which finds a name by another that looks the same where it has none of the very spelling. */
export class ByName<V> extends Map<string, V> {
  /** Spellings by what they are compared by: the first of each. */
  #spellings = new Map<string, string>()
  /**
   * What was asked for last: rows that follow each other mostly name the same, and to compare is quicker than to look.
   */
  #last: string | undefined
  #found: V | undefined

  constructor(entries: Iterable<readonly [string, V]> = []) {
    super()
    for (const [name, value] of entries) this.set(name, value)
  }

  #known(name: string): string {
    // A faulty row of a file comes without the name that its type promises.
    return !name || super.has(name) ? name : (this.#spellings.get(nameKey(name)) ?? name)
  }

  override get(name: string): V | undefined {
    if (name !== this.#last) {
      this.#found = super.get(name) ?? super.get(this.#known(name))
      this.#last = name
    }
    return this.#found
  }

  override has(name: string): boolean {
    return super.has(this.#known(name))
  }

  override set(name: string, value: V): this {
    const key = nameKey(name || '')
    if (!this.#spellings.has(key)) this.#spellings.set(key, name)
    this.#last = undefined
    this.#found = undefined
    return super.set(name, value)
  }
}

/** Text whose plain order is the order people expect of unit numbers: T-9 before T-10. */
export const naturalKey = (text: string): string =>
  text.toLowerCase().replace(/\d+/g, (digits) => digits.padStart(12, '0'))
