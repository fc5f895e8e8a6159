import { type SheetVisit, seatOf } from '#core/exchange/documents/bench-sheet.ts'
import { csvRow } from '#core/exchange/csv-text.ts'
import { asText } from '#core/fleet/formula-text.ts'

const columns = [
  'yard',
  'day',
  'until_day',
  'unit',
  'planned_visit',
  'kind',
  'place',
  'serial',
  'cell',
  'what',
  'due_on',
  'days_late',
  'minutes',
] as const

/**
 * The planned work as CSV, one row a thing to do. Unlike the fleet folder it is for reading, not for bringing in again.
 */
export function benchCsv(visits: readonly SheetVisit[]): string {
  const rows = visits.flatMap(({ yard, day, untilDay, unit, plannedOn, lateDays, items }) =>
    items.map((item) => [
      yard ?? '',
      day,
      untilDay,
      unit,
      plannedOn ?? '',
      item.kind,
      seatOf(item),
      item.serial ?? '',
      item.cell ?? '',
      item.what,
      item.dueOn,
      String(lateDays),
      String(item.minutes),
    ]),
  )
  return [csvRow(columns), ...rows.map((row) => csvRow(row.map(asText)))].join('')
}
