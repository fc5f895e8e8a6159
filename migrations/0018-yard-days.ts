import { type Kysely, sql } from 'kysely'

/**
 * Each yard may have working days, holidays and jobs a day of its own, where the House Rules held for all; what cells
 * lie in stock at a yard, and what a cell type costs.
 */
export async function up(db: Kysely<unknown>): Promise<void> {
  await db.schema
    .alterTable('yard')
    .addColumn('working_days', 'text', (c) => c.check(sql`working_days <> ''`))
    .execute()
  await db.schema
    .alterTable('yard')
    .addColumn('holidays', 'text', (c) => c.check(sql`holidays <> ''`))
    .execute()
  await db.schema
    .alterTable('yard')
    .addColumn('jobs_per_day', 'integer', (c) => c.check(sql`jobs_per_day between 1 and 1000`))
    .execute()
  await db.schema
    .createTable('cell_stock')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    // Null: of units without a yard.
    .addColumn('yard_id', 'integer', (c) => c.references('yard.id'))
    // As `cellTypeOf` writes it.
    .addColumn('cell', 'text', (c) => c.notNull().check(sql`cell <> ''`))
    .addColumn('on_hand', 'integer', (c) => c.notNull().check(sql`on_hand between 0 and 1000000`))
    .modifyEnd(sql`strict`)
    .execute()
  await sql`create unique index one_cell_stock on cell_stock (ifnull(yard_id, 0), cell)`.execute(db)
  await db.schema
    .createTable('cell_price')
    .addColumn('id', 'integer', (c) => c.primaryKey())
    .addColumn('cell', 'text', (c) => c.notNull().unique().check(sql`cell <> ''`))
    .addColumn('dollars', 'real', (c) => c.notNull().check(sql`dollars between 0 and 10000`))
    .modifyEnd(sql`strict`)
    .execute()
}
