import type { GroupRole, UnitKind } from '#core/words/vocabulary.ts'

/** A unit with the roles of its axle groups on record. */
export interface UnitOnScale {
  readonly kind: UnitKind
  readonly groups: readonly { readonly role: GroupRole }[]
}

/** How many axle groups a ticket weighs: alone, and two at a time on one platform. */
export interface GroupsWeighed {
  readonly alone: number
  readonly together: number
}

/**
 * Whether the weights of a ticket ought to add up to its gross: every axle group of every unit on it was weighed. A
 * tractor or truck whose steer axle is not on record is never complete, since that axle stands on the scale all the
 * same; nor is a unit that is not known (undefined).
 */
export const isCompleteTicket = (
  units: readonly (UnitOnScale | undefined)[],
  { alone, together }: GroupsWeighed,
): boolean => groupsOnScale(units) === alone + 2 * together

/** How many axle groups stand on the scale; undefined where that cannot be known. */
function groupsOnScale(units: readonly (UnitOnScale | undefined)[]): number | undefined {
  let count = 0
  for (const unit of units) {
    if (unit === undefined) return undefined
    if (unit.kind !== 'trailer' && !unit.groups.some(({ role }) => role === 'steer')) return undefined
    count += unit.groups.length
  }
  return count
}
