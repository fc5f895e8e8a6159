import { type SheetVisit, seatOf } from '#core/exchange/documents/bench-sheet.ts'
import { csvRow } from '#core/exchange/csv-text.ts'

const columns = ['yard', 'day', 'until_day', 'unit', 'planned_visit', 'kind', 'place', 'serial', 'cell', 'what', 'due_on', 'days_late', 'minutes'] as const

/**
 * A text that a spreadsheet program takes for text: one that begins as a formula does gets an apostrophe in front.
 * Source: the OWASP page on CSV injection (from memory).
 */
const asText = (text: string): string => (/^[=+\-@\t\r\n]/.test(text) ? `'${text}` : text)

/** The planned work as CSV, one row a thing to do. Unlike the fleet folder it is for reading, not for bringing in again. */
export function benchCsv(visits: readonly SheetVisit[]): string {
  const rows = visits.flatMap(({ yard, day, untilDay, unit, plannedOn, lateDays, items }) => items.map((item) =>
    [yard ?? '', day, untilDay, unit, plannedOn ?? '', item.kind, seatOf(item), item.serial ?? '', item.cell ?? '', item.what, item.dueOn, String(lateDays), String(item.minutes)]))
  return [csvRow(columns), ...rows.map((row) => csvRow(row.map(asText)))].join('')
}
