/** One cell as RFC 4180 writes it: in quotes where it holds the delimiter, a quote or a line break. */
export const csvCell = (text: string, delimiter = ','): string =>
  text.includes(delimiter) || /["\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text

export const csvRow = (cells: readonly string[]): string => `${cells.map((cell) => csvCell(cell)).join(',')}\n`
