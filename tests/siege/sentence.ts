/** What no person is to be told: the program's own words, its places, or a value that is none. */
const inner =
  /SQLITE|Sqlite|node_modules|\.ts\b|\n\s+at |\bundefined\b|\bNaN\b|\[object|\bE[A-Z]{4,}\b|fault in the program/

/** Whether a message is a sentence for a person. */
export const isSentence = (message: string): boolean =>
  message.length > 20 && /[.?]$/.test(message) && !inner.test(message)
