import { procedures } from '#core/api/procedures.ts'
import { assessInThread } from '#core/exchange/bring-in.ts'
import { findingKey, type FindingCode } from '#core/findings/finding.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { reassessUnits } from '#core/store/assessment.ts'
import { dismissFinding, findStoredFinding } from '#core/store/dismissals.ts'

export const findingHandlers = {
  dismiss: procedures.finding.dismiss.handler(({ input, context }) =>
    context.fleet.use(async (store) => {
      const found = await findStoredFinding(store.db, input.id)
      if (!found)
        throw new TarelineError(
          'no-such-finding',
          'This finding is no longer there: the record has changed meanwhile. Look at the newest findings.',
        )
      if (found.severity === 'stop')
        throw new TarelineError(
          'cannot-dismiss',
          'This finding asks for work and cannot be set aside: calibrate the group, and it goes.',
        )
      const now = Date.now()
      await store.db.transaction().execute((db) =>
        dismissFinding(db, found.unit_id, found.message, {
          findingKey: findingKey({
            code: found.code as FindingCode,
            unitId: found.unit_id,
            groupId: found.group_id,
            circuitId: found.circuit_id,
            scaleId: found.scale_id,
            ticketId: found.ticket_id,
          }),
          evidence: found.evidence,
          reason: input.reason,
          by: input.by,
          at: toStoredInstant(now),
        }),
      )
      if (found.unit_id === null) await assessInThread(store.file, now)
      else await reassessUnits(store, [found.unit_id])
      return { dismissed: true as const }
    }),
  ),
}
