import { recordChanges } from '#core/store/change-log.ts'
import { addRecord, editRecord, lastHand } from '#core/store/edit-record.ts'
import type { Reader, Writer } from '#core/store/open.ts'
import type { Change, Hand } from '#core/words/change.ts'
import { ConflictError } from '#core/words/problem.ts'

/** Cells of a type that lie at a yard; yardId null: those for units without one. */
export interface CellStock {
  readonly yardId: number | null
  readonly cell: string
  readonly onHand: number
}

export async function readCellStock(db: Reader): Promise<CellStock[]> {
  const rows = await db.selectFrom('cell_stock').selectAll().orderBy('id').execute()
  return rows.map(({ yard_id, cell, on_hand }) => ({ yardId: yard_id, cell, onHand: on_hand }))
}

/** What a cell of a type costs, dollars, where it was typed. */
export async function readCellPrices(db: Reader): Promise<Map<string, number>> {
  const rows = await db.selectFrom('cell_price').selectAll().execute()
  return new Map(rows.map(({ cell, dollars }) => [cell, dollars]))
}

/** A figure as the person saw it and as it is typed; null: none is kept. */
interface Typed {
  readonly was: number | null
  readonly typed: number | null
}

interface Figure extends Typed {
  readonly subject: 'cell stock' | 'cell price'
  readonly key: string
  readonly column: 'on_hand' | 'dollars'
  readonly stored: { readonly id: number; readonly value: number } | undefined
  /** What a new row has beside the figure. */
  readonly row: Readonly<Record<string, string | number | null>>
  readonly remove: (id: number) => Promise<unknown>
}

/**
 * Keeps, changes or takes away one figure, and takes that down. Errors: ConflictError where another value is stored by
 * now.
 */
async function keepFigure(db: Writer, hand: Hand, figure: Figure): Promise<void> {
  const { subject, key, column, stored, was, typed, row, remove } = figure
  const present = stored?.value ?? null
  if (present === typed) return
  if (present !== was)
    throw new ConflictError(
      key,
      [{ field: column, was, stored: present, typed }],
      stored && (await lastHand(db, subject, stored.id)),
    )
  const place = { subject, key, unitId: null }
  const changes: Change[] = []
  if (stored === undefined) changes.push((await addRecord(db, place, { ...row, [column]: typed })).change)
  else if (typed === null) {
    await remove(stored.id)
    changes.push({ ...place, action: 'removed', recordId: stored.id, old: { ...row, [column]: stored.value } })
  } else
    changes.push(
      ...(await editRecord(db, { ...place, id: stored.id, was: { [column]: was }, now: { [column]: typed } })),
    )
  await recordChanges(db, hand, changes)
}

/** Says how many cells of a type lie at a yard. Errors: those of `keepFigure`. */
export async function keepCellStock(
  db: Writer,
  { yardId, yard, cell, ...typed }: Typed & { yardId: number | null; yard: string | null; cell: string },
  hand: Hand,
): Promise<void> {
  const stored = await db
    .selectFrom('cell_stock')
    .select(['id', 'on_hand as value'])
    .where('yard_id', 'is', yardId)
    .where('cell', '=', cell)
    .executeTakeFirst()
  await keepFigure(db, hand, {
    ...typed,
    subject: 'cell stock',
    key: `${cell} at ${yard ?? 'no yard'}`,
    column: 'on_hand',
    stored,
    row: { yard_id: yardId, cell },
    remove: (id) => db.deleteFrom('cell_stock').where('id', '=', id).execute(),
  })
}

/** Says what a cell of a type costs. Errors: those of `keepFigure`. */
export async function keepCellPrice(
  db: Writer,
  { cell, ...typed }: Typed & { cell: string },
  hand: Hand,
): Promise<void> {
  const stored = await db
    .selectFrom('cell_price')
    .select(['id', 'dollars as value'])
    .where('cell', '=', cell)
    .executeTakeFirst()
  await keepFigure(db, hand, {
    ...typed,
    subject: 'cell price',
    key: cell,
    column: 'dollars',
    stored,
    row: { cell },
    remove: (id) => db.deleteFrom('cell_price').where('id', '=', id).execute(),
  })
}
