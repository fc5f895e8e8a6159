/**
 * Whether a spreadsheet program could take a text for a formula when it opens a CSV file: also behind blanks, and in
 * the wide letters of East Asian keyboards.
 */
export const beginsAsFormula = (text: string): boolean => /^\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|^[\t\r\n]/.test(text)

/**
 * A text that a spreadsheet program takes for text: one that begins as a formula does gets an apostrophe in front. For
 * files to be read by people. A fleet folder is for bringing in again, where an apostrophe more would be another name:
 * it keeps every text as it is, and whoever writes one out is told of such texts. Source: the OWASP page on CSV
 * injection (from memory).
 */
export const asText = (text: string): string => (beginsAsFormula(text) ? `'${text}` : text)
