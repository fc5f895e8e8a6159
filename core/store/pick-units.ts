import type { Reader } from '#core/store/open.ts'

/** Units in service to be put together, with how many of their groups have a circuit, by number. */
export function listPickUnits(db: Reader) {
  return db
    .selectFrom('unit as u')
    .leftJoin('yard as y', 'y.id', 'u.yard_id')
    .select((eb) => [
      'u.id',
      'u.number',
      'u.kind',
      'y.name as yard',
      eb
        .selectFrom('axle_group as g')
        .whereRef('g.unit_id', '=', 'u.id')
        .select(({ fn }) => fn.countAll<number>().as('groups'))
        .as('groups'),
      eb
        .selectFrom('axle_group as g')
        .innerJoin('circuit as c', 'c.group_id', 'g.id')
        .whereRef('g.unit_id', '=', 'u.id')
        .select(({ fn }) => fn.count<number>('g.id').distinct().as('sensed'))
        .as('sensed'),
    ])
    .where('u.service_state', '=', 'in service')
    .orderBy('u.number')
    .execute()
}

/** The weighing that each unit last led a combination in and its day, by unit; null for one that never did. */
export function listLastLed(db: Reader) {
  return db
    .selectFrom('unit as u')
    .where('u.kind', '!=', 'trailer')
    .select((eb) => {
      const led = eb.selectFrom('weighed_unit as w').whereRef('w.unit_id', '=', 'u.id').where('w.leads', '=', 1)
      return [
        'u.id as unit_id',
        led.select('w.weighing').orderBy('w.weighed_on', 'desc').orderBy('w.weighing', 'desc').limit(1).as('weighing'),
        led.select(({ fn }) => fn.max('w.weighed_on').as('day')).as('weighed_on'),
      ]
    })
    .execute()
}
