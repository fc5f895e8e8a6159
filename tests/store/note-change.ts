import { recordChanges } from '#core/store/change-log.ts'
import type { Store } from '#core/store/open.ts'

/** Takes down that units were changed, as every writer of the program does: for a test that writes rows by itself. */
export const noteChange = ({ db }: Store, unitIds: readonly number[]): Promise<number> =>
  db.transaction().execute((trx) =>
    recordChanges(
      trx,
      { by: 'a test', at: '2025-12-01T00:00:00.000Z' },
      unitIds.map((unitId) => ({
        unitId,
        subject: 'unit',
        key: `unit ${unitId}`,
        action: 'changed',
        recordId: unitId,
      })),
    ),
  )
