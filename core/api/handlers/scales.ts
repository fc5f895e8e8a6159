import { freshAssessment } from '#core/api/freshen.ts'
import { procedures } from '#core/api/procedures.ts'
import { estimatesFromRules } from '#core/findings/evidence/estimates.ts'
import { viewDismissals } from '#core/api/unit-view.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { readEstimates } from '#core/store/assessment.ts'
import { listDismissals } from '#core/store/dismissals.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { listScaleFindings, listScales } from '#core/store/scales.ts'

export const scalesHandlers = {
  list: procedures.scales.list.handler(({ context }) =>
    context.fleet.use(async (store) => {
      const { db } = store
      const asOf = await freshAssessment(store, Date.now(), context.report)
      const estimates = (await readEstimates(db)) ?? estimatesFromRules(await readHouseRules(db))
      const found = new Map((await listScaleFindings(db)).map((finding) => [finding.scale_id, finding]))
      const scales = (await listScales(db)).map(
        ({ id, name, division_lb, tolerance_percent, elevation_ft, tickets }) => {
          const effect = estimates.scales.get(id)
          const finding = found.get(id)
          return {
            scale: name,
            divisionLb: division_lb,
            tolerancePercent: tolerance_percent,
            elevationFt: elevation_ft,
            tickets,
            biasPercent: effect ? 100 * effect.gain : null,
            uPercent: effect ? 100 * effect.u : null,
            weighings: effect?.weighings ?? 0,
            groups: effect?.groups ?? 0,
            since: effect ? toStoredInstant(effect.since) : null,
            finding: finding ? { id: finding.id, message: finding.message, nextStep: finding.next_step } : null,
          }
        },
      )
      return {
        asOf: toStoredInstant(asOf),
        scales,
        setAside: viewDismissals(await listDismissals(db, null)),
        leveling: estimates.leveling,
        wander: estimates.wander,
      }
    }),
  ),
}
