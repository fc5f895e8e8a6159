import type { StoredValues } from '#core/fleet/change.ts'
import type { UnitKind } from '#core/fleet/vocabulary.ts'

/** An axle group with its circuits, as most units of a kind have it; columns as stored. */
export interface UsualGroup {
  readonly group: StoredValues
  readonly circuits: readonly StoredValues[]
}

const steer: UsualGroup = {
  group: { name: 'steer', role: 'steer', axles: 1, first_axle_ft: 0, measured_by: 'estimate' },
  circuits: [],
}
const tandem = (name: string, role: 'drive' | 'trailer'): UsualGroup => ({
  group: { name, role, axles: 2, measured_by: 'circuit' },
  circuits: [{ name: 'main' }],
})

/**
 * What a new unit starts from, to be corrected where it is otherwise. Common trade practice: one circuit for a tandem
 * on air, a steer axle on steel.
 */
export const usualGroups: Readonly<Record<UnitKind, readonly UsualGroup[]>> = {
  tractor: [steer, tandem('drive', 'drive')],
  truck: [steer, tandem('drive', 'drive')],
  trailer: [tandem('tandem', 'trailer')],
}
