import { freshAssessment } from '#core/api/freshen.ts'
import { procedures } from '#core/api/procedures.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { listRoster } from '#core/store/roster.ts'

export const rosterHandlers = {
  list: procedures.roster.list.handler(({ context }) =>
    context.fleet.use(async (store) => {
      const asOf = await freshAssessment(store, Date.now(), context.report)
      return { asOf: toStoredInstant(asOf), rows: listRoster(store) }
    }),
  ),
}
