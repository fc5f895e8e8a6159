import type { Insertable } from 'kysely'
import type { Store } from '#core/store/open.ts'
import type { Schema } from '#core/store/schema.ts'

type Table = keyof Schema
type Row<T extends Table> = Partial<Insertable<Schema[T]>>

/** What a test need not say: a tractor's drive tandem on one circuit with a gauge sensor. */
const usual: { readonly [T in Table]?: Row<T> } = {
  unit: { kind: 'tractor' },
  axle_group: { name: 'drive', role: 'drive', axles: 2, measured_by: 'circuit' },
  circuit: { name: 'main', air_springs: 4 },
  sensor: { reference: 'gauge', range_psi: 150, resolution_psi: 0.1, accuracy_psi: 1 },
  finding: { severity: 'warn', numbers: '{}', variant: 'never', facts: '{}' },
}

/**
 * Adds a row of a table to the store as it is, without a line in the change log; a column that is not said is the usual
 * one, or empty. Answers its id.
 */
export function addRow<T extends Table>({ raw }: Pick<Store, 'raw'>, table: T, row: Row<T>): number {
  const values = { ...usual[table], ...row }
  const columns = Object.keys(values)
  const places = columns.map((column) => `@${column}`)
  return Number(
    raw.prepare(`insert into ${table} (${columns.join(', ')}) values (${places.join(', ')})`).run(values)
      .lastInsertRowid,
  )
}
