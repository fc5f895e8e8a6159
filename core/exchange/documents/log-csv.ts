import { csvRow } from '#core/exchange/csv-records.ts'
import { asText } from '#core/words/text.ts'

/** One value of one change as it leaves the app. */
export interface LogCsvRow {
  readonly at: string
  readonly by: string
  readonly unit: string | null
  readonly subject: string
  readonly key: string
  readonly action: string
  readonly fields: readonly {
    readonly name: string
    readonly old: string | number | null
    readonly new: string | number | null
  }[]
  readonly reason: string | null
}

const columns = [
  'changed_at',
  'changed_by',
  'unit',
  'subject',
  'record',
  'action',
  'field',
  'old',
  'new',
  'reason',
] as const

/** A number stays one; a text that begins as a formula does is marked as text. */
const cell = (value: string | number | null): string =>
  typeof value === 'number' ? String(value) : asText(value ?? '')

/**
 * The change log as CSV, in parts: a row a value that changed, or one where a change tells none. For reading, not for
 * the fleet folder.
 */
export async function* logCsv(stretches: AsyncIterable<readonly LogCsvRow[]>): AsyncGenerator<string> {
  yield csvRow(columns)
  for await (const rows of stretches) {
    yield rows
      .flatMap(({ at, by, unit, subject, key, action, fields, reason }) =>
        (fields.length === 0 ? [{ name: '', old: null, new: null }] : fields).map(({ name, old, new: now }) =>
          csvRow([at, by, unit, subject, key, action, name, old, now, reason].map(cell)),
        ),
      )
      .join('')
  }
}
