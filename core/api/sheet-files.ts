import { basename } from 'node:path'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import {
  type SheetColumn,
  type SheetHead,
  makeSpreadsheet,
  mostPrintedRows,
  mostSpreadsheetRows,
  sheetPageDefinition,
} from '#core/exchange/documents/sheet.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { readZone } from '#core/store/zone.ts'
import { dayOf } from '#core/words/day.ts'
import { TarelineError } from '#core/words/problem.ts'
import { sayOfRules } from '#core/words/say.ts'
import { inFileName } from '#core/words/text.ts'
import { phrase } from '#core/words/phrase.ts'

/** What stands at the head of a table that leaves the program; asOf: ms UTC. */
export const sheetHead = async (
  store: Store,
  title: string,
  asOf: number,
  notes: readonly string[] = [],
): Promise<SheetHead> => ({ title, asOf: dayOf(asOf, await readZone(store.db)), file: basename(store.file), notes })

const fileName = ({ title, asOf }: SheetHead, ending: string): string => `${inFileName(title)}-${asOf}.${ending}`

function refuseTooMany(rows: number, most: number, format: 'spreadsheet' | 'pdf'): void {
  if (rows > most)
    throw new TarelineError(
      'too-many-rows',
      phrase(
        '{format, select, pdf {{rows, number} rows are too many for a PDF, which takes {most, number}.} other {{rows, number} rows are too many for a spreadsheet, which takes {most, number}.}} Narrow what is shown.',
        { format, rows, most },
      ),
    )
}

/** Rows as a spreadsheet in the measures in use, named by its title unless told. Errors: TarelineError `too-many-rows`. */
export async function spreadsheetFile<Row>(
  store: Store,
  columns: readonly SheetColumn<Row>[],
  rows: readonly Row[],
  head: SheetHead,
  name = fileName(head, 'xlsx'),
): Promise<File> {
  refuseTooMany(rows.length, mostSpreadsheetRows, 'spreadsheet')
  const bytes = await makeSpreadsheet(columns, rows, head, sayOfRules(await readHouseRules(store.db)))
  return new File([bytes], name, {
    type: 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet',
  })
}

/** The same rows to print. Errors: TarelineError `too-many-rows`. */
export async function printedFile<Row>(
  store: Store,
  columns: readonly SheetColumn<Row>[],
  rows: readonly Row[],
  head: SheetHead,
): Promise<File> {
  refuseTooMany(rows.length, mostPrintedRows, 'pdf')
  const page = sheetPageDefinition(columns, rows, head, sayOfRules(await readHouseRules(store.db)))
  return new File([await makePdf(page)], fileName(head, 'pdf'), { type: 'application/pdf' })
}
