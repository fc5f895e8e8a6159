import { type RawBuilder, type SqlBool, sql } from 'kysely'

/** As SQLite's `lower` does it, which knows A to Z. */
const lower = (text: string) => text.replaceAll(/[A-Z]+/g, (capitals) => capitals.toLowerCase())

/**
 * Whether a text of the record contains a word; capitals of A to Z make no difference, and no sign is read as a
 * pattern.
 */
export const containsWord = (text: RawBuilder<string>, word: string) =>
  sql<SqlBool>`instr(lower(${text}), ${lower(word)}) > 0`

export const wordsOf = (text: string): string[] => text.split(/\s+/).filter(Boolean)
