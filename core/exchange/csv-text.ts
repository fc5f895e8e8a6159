/** One cell as RFC 4180 writes it: in quotes where it holds a comma, a quote or a line break. */
const csvCell = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)

export const csvRow = (cells: readonly string[]): string => `${cells.map(csvCell).join(',')}\n`
