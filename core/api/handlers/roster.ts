import { procedures } from '#core/api/procedures.ts'
import { dayOf, toStoredInstant } from '#core/fleet/instant.ts'
import { readAssessmentState, reassessFleet } from '#core/store/assessment.ts'
import type { Store } from '#core/store/open.ts'
import { listRoster } from '#core/store/roster.ts'

/** Judges the fleet anew when the stored outcome is of another day or of an older record. */
async function freshen(store: Store, now: number): Promise<number> {
  const state = await readAssessmentState(store.db)
  if (state?.current === true && dayOf(state.asOf) === dayOf(now)) return state.asOf
  await reassessFleet(store, now)
  return now
}

export const rosterHandlers = {
  list: procedures.roster.list.handler(({ context }) => context.fleet.use(async (store) => {
    const asOf = await freshen(store, Date.now())
    return { asOf: toStoredInstant(asOf), rows: listRoster(store) }
  })),
}
