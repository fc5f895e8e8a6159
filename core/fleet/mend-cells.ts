import { asText, beginsAsFormula } from '#core/fleet/formula-text.ts'

/** Whether a text is a formula's, be it behind apostrophes. */
const needsGuard = (text: string): boolean => beginsAsFormula(text.replace(/^'+/, ''))

/**
 * A cell of a file of rows to mend, which a spreadsheet program opens and the app reads again: what begins as a formula
 * gets an apostrophe as `asText` gives it, and so does what has one already, so that `readMendCell` always tells what
 * stood there.
 */
export const mendCell = (text: string): string =>
  needsGuard(text) && !beginsAsFormula(text) ? `'${text}` : asText(text)

export const readMendCell = (text: string): string =>
  text.startsWith("'") && needsGuard(text.slice(1)) ? text.slice(1) : text
