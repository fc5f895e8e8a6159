import type { RowProblemView } from '#core/api/contract.ts'

const columns = ['file', 'line', 'column', 'value', 'accepted', 'message'] as const
/** A field of a CSV file (RFC 4180): quoted where it must be. */
const field = (text: string) => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)

/** An import's problems as a CSV file, one line each. */
export const problemsAsCsv = (problems: readonly RowProblemView[]): string =>
  [columns.join(','), ...problems.map((problem) => columns.map((column) => field(String(problem[column] ?? ''))).join(','))].join('\r\n').concat('\r\n')

/** An import's problems as lines to paste into a message. */
export const problemsAsText = (problems: readonly RowProblemView[]): string => problems.map(({ message }) => message).join('\n')
