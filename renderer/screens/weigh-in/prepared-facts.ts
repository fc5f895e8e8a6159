import { figuresFromText } from '#core/cells/fleet-figures.ts'
import type { PreparedWeighIn } from '#core/contracts/weigh-in.ts'
import { estimatesFromRules } from '#core/evidence/estimates.ts'
import type { WeighInFacts } from '#core/findings/weigh-in.ts'

/** What was told of some units, as the judgement of their weigh-ins takes it. */
export function factsOf({ histories, scales, rules, figures, units, headYardFt }: PreparedWeighIn): WeighInFacts {
  const learnt = figures === null ? undefined : figuresFromText(figures)
  return {
    histories,
    rules,
    scales: new Map(scales.map((scale) => [scale.scaleId, scale])),
    estimates: learnt?.estimates ?? estimatesFromRules(rules),
    heardUntil: learnt?.heardUntil,
    units,
    headYardFt,
  }
}
