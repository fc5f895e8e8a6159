import type { Reader } from '#core/store/open.ts'

/** Every scale with the number of its tickets, by name. */
export function listScales(db: Reader) {
  return db
    .selectFrom('scale as s')
    .leftJoin('ticket as t', 't.scale_id', 's.id')
    .select(({ fn }) => [
      's.id',
      's.name',
      's.division_lb',
      's.tolerance_percent',
      's.elevation_ft',
      fn.count<number>('t.id').as('tickets'),
    ])
    .groupBy('s.id')
    .orderBy('s.name')
    .execute()
}

/** The stored findings about scales alone. */
export function listScaleFindings(db: Reader) {
  return db
    .selectFrom('finding')
    .select(['id', 'scale_id', 'message', 'next_step'])
    .where('code', '=', 'scale-biased')
    .execute()
}
