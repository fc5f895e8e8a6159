/** One cell as RFC 4180 writes it: in quotes where it holds a comma, a quote or a line break. */
export const csvCell = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)

export const csvRow = (cells: readonly string[]): string => `${cells.map(csvCell).join(',')}\n`

/**
 * A text that a spreadsheet program takes for text: one that begins as a formula does gets an apostrophe in front. For files to
 * be read by people, not for the fleet folder. Source: the OWASP page on CSV injection (from memory).
 */
export const asText = (text: string): string => (/^[=+\-@\t\r\n]/.test(text) ? `'${text}` : text)
