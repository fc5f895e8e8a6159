import type { OrderByItemBuilder } from 'kysely'
import type { Reader } from '#core/store/open.ts'

/** Axle groups `g` on their units `u`. */
export const placedGroups = (db: Reader) => db.selectFrom('axle_group as g').innerJoin('unit as u', 'u.id', 'g.unit_id')

/** Circuits `c` in their groups `g` on their units `u`. */
export const placedCircuits = (db: Reader) => placedGroups(db).innerJoin('circuit as c', 'c.group_id', 'g.id')

/** Calibrations `k` of groups `g` on their units `u`. */
export const placedCalibrations = (db: Reader) => placedGroups(db).innerJoin('calibration as k', 'k.group_id', 'g.id')

/** Tickets `t` of scales `s`. */
export const scaleTickets = (db: Reader) => db.selectFrom('ticket as t').innerJoin('scale as s', 's.id', 't.scale_id')

/** How groups are ordered by their first axle: one whose place is unknown stands behind those that are known. */
export const frontToBack = (order: OrderByItemBuilder) => order.asc().nullsLast()
