import { learnEstimates } from '#core/findings/assess-fleet.ts'
import { type GroupHistory, isSensed } from '#core/fleet/history.ts'
import type { HouseRules } from '#core/fleet/house-rules.ts'
import type { GroupRole, Measure, UnitKind } from '#core/fleet/vocabulary.ts'
import { readAssessmentState, readEstimates } from '#core/store/assessment.ts'
import { walk } from '#core/store/bulk.ts'
import { openRecord, readEvents, readGroups, readScales } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { learnSteerScatterLb, listSteerFacts } from '#core/store/steer-facts.ts'
import { readPointCalibrations } from '#core/store/point-calibrations.ts'
import { listPartners, listTareTickets } from '#core/store/tare-tickets.ts'
import { readWeighingState } from '#core/store/weighing-state.ts'
import type { PressureNoise } from '#core/weight/ready-group.ts'
import type { UnitToWeigh } from '#core/weight/weigh-combination.ts'
import type { WeighFacts } from '#core/weight/weigher.ts'

/** Later than anything on record: weighing goes by the whole of it, whatever day it is. */
const everything = Date.UTC(2200, 0, 1)

type UnitDraft = UnitToWeigh & { readonly groups: UnitToWeigh['groups'][number][] }

/** Units with their axle groups where they stand, front to back. */
export function listUnitsToWeigh({ db, raw }: Store, unitIds?: readonly number[]): UnitToWeigh[] {
  let query = db
    .selectFrom('unit as u')
    .leftJoin('axle_group as g', 'g.unit_id', 'u.id')
    .select([
      'u.id',
      'u.number',
      'u.kind',
      'u.gross_limit_lb',
      'u.fifth_wheel_ft',
      'g.id as group_id',
      'g.name',
      'g.role',
      'g.axles',
      'g.axle_spacing_ft',
      'g.limit_lb',
      'g.first_axle_ft',
      'g.measured_by',
    ])
    .orderBy('u.id')
    .orderBy('g.first_axle_ft')
    .orderBy('g.id')
  if (unitIds) query = query.where('u.id', 'in', unitIds)
  type Row = [
    number,
    string,
    UnitKind,
    number | null,
    number | null,
    number | null,
    string,
    GroupRole,
    number,
    number | null,
    number | null,
    number | null,
    Measure | null,
  ]
  const units: UnitDraft[] = []
  for (const [
    unitId,
    unit,
    kind,
    grossLimitLb,
    fifthWheelFt,
    groupId,
    group,
    role,
    axles,
    axleSpacingFt,
    limitLb,
    firstAxleFt,
    measuredBy,
  ] of walk<Row>(raw, query)) {
    let current = units.at(-1)
    if (current?.unitId !== unitId) {
      current = { unitId, unit, kind, grossLimitLb, fifthWheelFt, groups: [] }
      units.push(current)
    }
    if (groupId !== null)
      current.groups.push({ groupId, group, role, axles, axleSpacingFt, limitLb, firstAxleFt, measuredBy })
  }
  return units
}

function readHistories(store: Store, unitIds: readonly number[] | undefined): GroupHistory[] {
  const extent = unitIds ? { untilMs: everything, unitIds } : { untilMs: everything }
  const groups = readGroups(store, extent).filter(isSensed)
  const calibrations = readPointCalibrations(store, groups, unitIds)
  const events = readEvents(store, extent, groups)
  return groups.map((group) => ({
    ...group,
    observations: [],
    calibrations: calibrations.get(group.groupId) ?? [],
    events: events.get(group.groupId) ?? [],
  }))
}

/** What is learnt from the whole fleet: about its pressures, and by how much its steer weights scatter, lb. */
interface FleetFigures extends PressureNoise {
  readonly steerScatterLb: number
}

/** So many units tell what the fleet's pressures are like; of a larger fleet an even choice is read. */
const mostTeachers = 800

function teachersOf(units: readonly UnitToWeigh[]): { readonly unitIds?: readonly number[] } {
  const step = Math.ceil(units.length / mostTeachers)
  return step <= 1 ? {} : { unitIds: units.filter((_, i) => i % step === 0).map(({ unitId }) => unitId) }
}

/**
 * The fleet's figures from the stored assessment where it is of the record as it is now; otherwise learnt from the
 * record.
 */
async function learnFigures(store: Store, rules: HouseRules, units: readonly UnitToWeigh[]): Promise<FleetFigures> {
  const assessed = (await readAssessmentState(store.db))?.current === true ? await readEstimates(store.db) : undefined
  const { leveling, wander } =
    assessed ?? learnEstimates(openRecord(store, { untilMs: everything, ...teachersOf(units) }), rules)
  return {
    levelingPsi: leveling.value,
    wanderPsi: wander.value,
    steerScatterLb: learnSteerScatterLb(store, units, rules),
  }
}

/**
 * For some units: the figures behind the stored weights, so that all of these rest on the same; where none are stored,
 * learnt now.
 */
async function readFigures(store: Store, rules: HouseRules): Promise<FleetFigures> {
  const state = await readWeighingState(store.db)
  return state
    ? { levelingPsi: state.leveling_psi, wanderPsi: state.wander_psi, steerScatterLb: state.steer_scatter_lb }
    : learnFigures(store, rules, listUnitsToWeigh(store))
}

/** Which facts: of the whole fleet, or of some units; without the tare where only limits are asked about. */
export interface WantedFacts {
  readonly unitIds?: readonly number[]
  readonly tare: boolean
}

/**
 * Everything that weighing needs. With some units come those that lend them their tare. Takes seconds for a large
 * fleet: run it off the window's thread.
 */
export async function readWeighFacts(store: Store, { unitIds, tare }: WantedFacts): Promise<WeighFacts> {
  const stated = await readHouseRules(store.db)
  const wanted = unitIds && (tare ? [...new Set([...unitIds, ...listPartners(store, unitIds)])] : unitIds)
  const units = listUnitsToWeigh(store, wanted)
  const { steerScatterLb, ...noise } = unitIds
    ? await readFigures(store, stated)
    : await learnFigures(store, stated, units)
  const rules = { ...stated, steerScatterLb }
  return {
    units,
    rules,
    noise,
    histories: readHistories(store, unitIds),
    steer: listSteerFacts(store, unitIds ? units.filter(({ unitId }) => unitIds.includes(unitId)) : units, rules),
    scales: [...readScales(store).values()],
    tickets: tare ? listTareTickets(store, units, rules, unitIds) : [],
  }
}
