import type { Trust } from '#core/findings/finding.ts'
import type { Reader } from '#core/store/open.ts'

/** What a cab card says of units besides their tables, in the order of their numbers. */
export function listCardUnits(db: Reader, numbers: readonly string[]) {
  return db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select([
      'u.id',
      'u.number',
      'u.kind',
      'u.make',
      'u.model',
      'u.model_year',
      'u.gross_limit_lb',
      'y.name as yard',
      'y.elevation_ft as yard_ft',
    ])
    .where('u.number', 'in', numbers)
    .orderBy('u.number')
    .execute()
}

/** Trust in the groups of units and the days they are due, by group, as the stored assessment has them. */
export async function readStandings(
  db: Reader,
  unitIds: readonly number[],
): Promise<Map<number, { readonly trust: Trust; readonly dueOn: string | null }>> {
  const rows = await db
    .selectFrom('group_standing')
    .select(['group_id', 'trust', 'due_on'])
    .where('unit_id', 'in', unitIds)
    .execute()
  return new Map(rows.map(({ group_id, trust, due_on }) => [group_id, { trust, dueOn: due_on }]))
}
