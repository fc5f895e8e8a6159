import type { Kysely } from 'kysely'

/** Where a load was loaded, where the record says so: a word only, nothing is judged or weighed by it. */
export async function up(db: Kysely<unknown>): Promise<void> {
  for (const table of ['ticket', 'reading']) await db.schema.alterTable(table).addColumn('lane', 'text').execute()
}
