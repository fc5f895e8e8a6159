/** A number as people type it, with or without commas between thousands; undefined for any other text. */
export function parseTypedNumber(text: string): number | undefined {
  const typed = text.trim().replace(/^\u2212/, '-')
  if (!/^[+-]?(\d+|\d{1,3}(,\d{3})+)?(\.\d*)?$/.test(typed) || !/\d/.test(typed)) return undefined
  // Adding zero turns -0, which SQLite does not keep, into 0.
  return Number(typed.replaceAll(',', '')) + 0
}
