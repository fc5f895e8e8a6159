import type { RowProblemView } from '#core/api/import-contract.ts'
import { asText } from '#core/fleet/formula-text.ts'

const columns = ['file', 'line', 'column', 'value', 'accepted', 'message'] as const
/**
 * A field of a CSV file (RFC 4180): quoted where it must be, and never a formula, as values come from whoever made the
 * folder.
 */
function field(typed: string): string {
  const text = asText(typed)
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

/** An import's problems as a CSV file, one line each. */
export const problemsAsCsv = (problems: readonly RowProblemView[]): string =>
  [
    columns.join(','),
    ...problems.map((problem) => columns.map((column) => field(String(problem[column] ?? ''))).join(',')),
  ]
    .join('\r\n')
    .concat('\r\n')

/** An import's problems as lines to paste into a message. */
export const problemsAsText = (problems: readonly RowProblemView[]): string =>
  problems.map(({ message }) => message).join('\n')
