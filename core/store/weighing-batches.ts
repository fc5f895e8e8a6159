/** A weighing by its id, with its units in coupling order. */
export type Stood = readonly [id: number, unitIds: readonly number[]]

/** Weighings whose units, all together, are few enough to be held at once. */
export interface Batch {
  readonly unitIds: readonly number[]
  /** Those of one combination side by side. */
  readonly weighings: readonly Stood[]
}

/** What is known of a unit, made ready to weigh, takes some 100 kB. */
const unitsAtOnce = 200

interface Combination {
  readonly unitIds: readonly number[]
  readonly weighings: Stood[]
}

const leadOf = ({ unitIds }: Combination): number => unitIds[0] ?? 0
const lastOf = ({ unitIds }: Combination): number => unitIds.at(-1) ?? 0

/**
 * Cuts weighings into batches of few units, each made ready once for all of its weighings. A rig that stays together
 * stands in one batch. Where every tractor pulls every trailer, a batch is some tractors with some of their trailers,
 * so that what is held stays as little; a unit is then made ready more than once.
 *
 * A weighing of more than `most` units is a batch of its own.
 */
export function batchesOf(stood: Iterable<Stood>, most = unitsAtOnce): Batch[] {
  const combinations = new Map<string, Combination>()
  for (const [id, unitIds] of stood) {
    const key = unitIds.join(' ')
    const known = combinations.get(key)
    // One list of units serves all weighings of a combination.
    if (known) known.weighings.push([id, known.unitIds])
    else combinations.set(key, { unitIds, weighings: [[id, unitIds]] })
  }
  const ofLead = Map.groupBy(combinations.values(), leadOf)
  const leads = [...ofLead.keys()].sort((a, b) => a - b)
  const batches: Batch[] = []
  const leadsAtOnce = Math.max(1, Math.floor(most / 2))
  for (let from = 0; from < leads.length; from += leadsAtOnce) {
    const led = leads.slice(from, from + leadsAtOnce).flatMap((lead) => ofLead.get(lead) ?? [])
    let units = new Set<number>()
    let weighings: Stood[][] = []
    for (const { unitIds, weighings: own } of led.sort((a, b) => lastOf(a) - lastOf(b))) {
      const fresh = unitIds.filter((unitId) => !units.has(unitId))
      if (weighings.length > 0 && units.size + fresh.length > most) {
        batches.push({ unitIds: [...units], weighings: weighings.flat() })
        units = new Set()
        weighings = []
      }
      for (const unitId of unitIds) units.add(unitId)
      weighings.push(own)
    }
    batches.push({ unitIds: [...units], weighings: weighings.flat() })
  }
  return batches
}
