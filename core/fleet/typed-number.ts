/**
 * A number as people type it: `33,940`, `82.5`, `82,5`. Commas before three digits part thousands, one comma before one
 * or two digits is the decimal sign; undefined for any other text.
 */
export function parseTypedNumber(text: string): number | undefined {
  const typed = text
    .trim()
    .replace(/^\u2212/, '-')
    .replace(/^([+-]?\d*),(?=\d{1,2}$)/, '$1.')
  if (!/^[+-]?(\d+|\d{1,3}(,\d{3})+)?(\.\d*)?$/.test(typed) || !/\d/.test(typed)) return undefined
  // Adding zero turns -0, which SQLite does not keep, into 0.
  return Number(typed.replaceAll(',', '')) + 0
}
