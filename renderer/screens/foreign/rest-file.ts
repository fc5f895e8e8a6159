import type { ForeignOutcome } from '#core/api/foreign-contract.ts'
import { encodeText } from '#core/fleet/encode-text.ts'
import { saveFile } from '#renderer/parts/save-file.ts'

type Rest = NonNullable<Extract<ForeignOutcome, { outcome: 'stored' }>['rest']>

/** Saves the rows that were left out as a CSV file to mend. */
export const saveRest = (name: string, { text, encoding }: Rest): void =>
  saveFile(new File([encodeText(text, encoding)], `${name.replace(/\.[^.]*$/, '')}-to-mend.csv`, { type: 'text/csv' }))
