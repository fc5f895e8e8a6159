import { createHash } from 'node:crypto'
import type { FleetPlaces } from '#core/store/fleet-places.ts'
import type { Reader, Store } from '#core/store/open.ts'
import type { WeighFacts } from '#core/weight/weigher.ts'
import type { HouseRuleName } from '#core/words/house-rules.ts'

/** What the stored weights rest on and how far the record has been weighed; undefined before the first time. */
export function readWeighingState(db: Reader) {
  return db.selectFrom('weighing_state').selectAll().executeTakeFirst()
}
export type WeighingState = NonNullable<Awaited<ReturnType<typeof readWeighingState>>>

/**
 * The House Rules that weights and verdicts follow from; what they leave to the fleet's own figures is beside them in
 * the state.
 */
const rulesOfWeights: readonly HouseRuleName[] = [
  'ticketRepeatabilityLb',
  'pressureResolutionPsi',
  'scaleDivisionLb',
  'scaleTolerancePercent',
  'verdictConfidencePercent',
  'singleAxleLimitLb',
  'tandemLimitLb',
  'grossLimitLb',
]

/** The rules and scales behind every weight, as one text to compare. */
export const rulesText = ({ rules, scales }: WeighFacts): string =>
  JSON.stringify([
    rulesOfWeights.map((name) => rules[name]),
    rules.zone,
    scales.map(({ scaleId, divisionLb, tolerancePercent, elevationFt }) => [
      scaleId,
      divisionLb,
      tolerancePercent,
      elevationFt,
    ]),
  ])

/** How far the fleet's figures may move before stored weights are made anew: less than an uncertainty is known by. */
const drift = 0.02
const hasDrifted = (now: number, then: number): boolean => Math.abs(now - then) > drift * Math.max(now, then)

/** Whether the stored weights rest on other rules, scales or figures than those of today. */
export function restsOnOthers(state: WeighingState, facts: WeighFacts): boolean {
  const {
    noise: { levelingPsi, wanderPsi },
    rules: { steerScatterLb },
  } = facts
  return (
    state.rules !== rulesText(facts) ||
    hasDrifted(levelingPsi, state.leveling_psi) ||
    hasDrifted(wanderPsi, state.wander_psi) ||
    hasDrifted(steerScatterLb, state.steer_scatter_lb)
  )
}

/** What the weights of each unit follow from besides the readings and the fleet's figures, as one mark a unit. */
export function basisOfUnits({ units, histories, steer }: WeighFacts, places: FleetPlaces): Map<number, string> {
  const historiesOf = Map.groupBy(histories, ({ unitId }) => unitId)
  const steerOf = new Map(steer.map((facts) => [facts.unitId, facts]))
  return new Map(
    units.map((unit) => {
      const follows = [
        unit,
        places.units.get(unit.unitId)?.yardFt,
        historiesOf.get(unit.unitId),
        steerOf.get(unit.unitId),
      ]
      return [unit.unitId, createHash('sha1').update(JSON.stringify(follows)).digest('base64url')]
    }),
  )
}

/** The units whose stored mark is another than today's, or missing. */
export async function touchedUnits({ db }: Store, basis: ReadonlyMap<number, string>): Promise<number[]> {
  const stored = new Map(
    (await db.selectFrom('weighed_basis').selectAll().execute()).map(({ unit_id, basis: mark }) => [unit_id, mark]),
  )
  return [...basis].filter(([unitId, mark]) => stored.get(unitId) !== mark).map(([unitId]) => unitId)
}
