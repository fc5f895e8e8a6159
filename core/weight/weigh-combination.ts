import {
  type ScaleLookup,
  divisionOf,
  scaleGainUncertainty,
  ticketUncertaintyLb,
  toleranceOf,
} from '#core/evidence/calibrate.ts'
import type { GroupFacts } from '#core/evidence/history.ts'
import { liftOfUnit } from '#core/evidence/lift.ts'
import { combinationLimitLb, groupLimitLb } from '#core/evidence/limits.ts'
import { type BridgeSet, bridgeSets } from '#core/weight/bridge.ts'
import { exactWeight } from '#core/weight/correlated.ts'
import { type GroupPlace, type Ruler, type UnitPlace, placeAxles } from '#core/weight/ruler.ts'
import { type SteerFacts, type SteerModel, estimateSteer, steerModel } from '#core/weight/steer.ts'
import {
  type GroupWeighing,
  type PreparedGroup,
  type WeighedGroup,
  type WeightAndU,
  type WeightSource,
  weighGroup,
  withU,
} from '#core/weight/weigh.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import { type Result, refuse } from '#core/words/problem.ts'
import type { WhyUnweighed } from '#core/words/sentences/unweighed.ts'
import type { LiftState } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

/** A unit of a combination with how each group's weight is come by. */
export interface UnitToWeigh extends UnitPlace {
  readonly groups: readonly (GroupPlace & Pick<GroupFacts, 'measuredBy'>)[]
}

/** A reading of a whole combination. pressures by group, as read, in the order of the group's circuits. */
export interface CombinationReading {
  readonly takenAt: number
  readonly elevationFt: number | null
  /** Of the air, as noted. */
  readonly temperatureF: number | null
  readonly lift: LiftState | null
  readonly pressures: ReadonlyMap<number, readonly (number | null)[]>
  /** The ticket it belongs to: weights by group, for groups that nothing else weighs. */
  readonly ticket: { readonly scaleId: number; readonly weightsLb: ReadonlyMap<number, number> } | null
}

/** What the plan of a combination is made from. prepared: its sensed groups; steer: the facts by tractor or truck. */
export interface PlanFacts {
  readonly units: readonly UnitToWeigh[]
  readonly prepared: ReadonlyMap<number, PreparedGroup>
  readonly steer: ReadonlyMap<number, SteerFacts>
  readonly scaleOf: ScaleLookup
  readonly rules: HouseRules
}

interface PlannedGroup {
  readonly unitId: number
  readonly name: string
  readonly place: UnitToWeigh['groups'][number]
  readonly limitLb: number
  readonly prepared: PreparedGroup | null
  /** Of a steer group without a circuit: the unit's one drive group that has one, which its estimate follows. */
  readonly driveGroupId: number | null
  readonly isEstimate: boolean
}

/**
 * A combination made ready once for all its readings; what depends on the lift state is worked out at its first use.
 */
export interface CombinationPlan {
  /** Unit by unit, in coupling order. */
  readonly groups: readonly PlannedGroup[]
  readonly grossLimitLb: number
  /** Units with a lift axle on record. */
  readonly liftUnits: ReadonlySet<number>
  readonly bridge: (lift: LiftState | null) => { readonly ruler: Ruler; readonly sets: readonly BridgeSet[] }
  readonly steer: (unitId: number, lift: LiftState | null) => Result<SteerModel>
  readonly scaleOf: ScaleLookup
  readonly rules: HouseRules
}

function remember<T>(
  work: (unitId: number, lift: LiftState | null) => T,
): (unitId: number, lift: LiftState | null) => T {
  const known = new Map<string, T>()
  return (unitId, lift) => {
    const key = `${unitId} ${lift}`
    let value = known.get(key)
    if (value === undefined) {
      value = work(unitId, lift)
      known.set(key, value)
    }
    return value
  }
}

function plannedGroup(unit: UnitToWeigh, place: PlannedGroup['place'], { prepared, rules }: PlanFacts): PlannedGroup {
  const drives = unit.groups.filter(({ role }) => role === 'drive')
  const drive = drives.length === 1 ? drives[0] : undefined
  const own = prepared.get(place.groupId) ?? null
  const isEstimate = own === null && place.role === 'steer' && place.measuredBy !== 'ticket'
  return {
    unitId: unit.unitId,
    name: `${unit.unit} ${place.group}`,
    place,
    limitLb: groupLimitLb(place, rules),
    prepared: own,
    isEstimate,
    driveGroupId: isEstimate && drive !== undefined && prepared.has(drive.groupId) ? drive.groupId : null,
  }
}

/**
 * Readies a combination: limits, ruler and bridge sets, the steer model of its tractor or truck. Units in coupling
 * order.
 */
export function planCombination(facts: PlanFacts): CombinationPlan {
  const { units, scaleOf, rules } = facts
  const grossLimitLb = combinationLimitLb(units.find(({ kind }) => kind !== 'trailer')?.grossLimitLb ?? null, rules)
  const groups = units.flatMap((unit) => unit.groups.map((place) => plannedGroup(unit, place, facts)))
  const bridge = remember((_, lift) => {
    const ruler = placeAxles(units, lift)
    return { ruler, sets: bridgeSets(ruler, { ...rules, grossLimitLb }) }
  })
  return {
    groups,
    grossLimitLb,
    liftUnits: new Set(groups.filter(({ place }) => place.role === 'lift').map(({ unitId }) => unitId)),
    scaleOf,
    rules,
    bridge: (lift) => bridge(0, lift),
    steer: remember((unitId, lift) => {
      const steer = facts.steer.get(unitId)
      return steer
        ? steerModel(steer, lift, scaleOf, rules)
        : refuse({
            code: 'no-ticket',
            field: 'ticket',
            value: '0',
            accepted: phrase('a ticket with steer and drive weights'),
            message: phrase('The steer weight cannot be estimated: no ticket carries the steer and the drive weight.'),
          })
    }),
  }
}

/** A weight that no line of the group gave. */
const weighed = (
  groupId: number,
  source: WeightSource,
  best: WeightAndU,
  byLine: WeightAndU | null,
  { isThin, isOddPressure, isProvisional }: Pick<WeighedGroup, 'isThin' | 'isOddPressure' | 'isProvisional'>,
): WeighedGroup => ({
  weighed: true,
  groupId,
  source,
  ...best,
  byLine,
  isThin,
  isOddPressure,
  isProvisional,
  psi: null,
  uPsi: null,
  line: null,
})

/** A weight that is the same whatever is known of lines. */
export const surelyWeighed = (groupId: number, source: 'ticket' | 'raised', best: WeightAndU): WeighedGroup =>
  weighed(groupId, source, best, best, { isThin: false, isOddPressure: false, isProvisional: false })

/** A weight from the reading's own ticket, for a group that nothing else weighs. */
function fromTicket(
  { scaleOf, rules }: CombinationPlan,
  groupId: number,
  { ticket }: CombinationReading,
): WeighedGroup | undefined {
  const weightLb = ticket?.weightsLb.get(groupId)
  if (ticket === null || weightLb === undefined) return undefined
  const scale = scaleOf(ticket.scaleId)
  const u = ticketUncertaintyLb(divisionOf(scale, rules), rules.ticketRepeatabilityLb)
  const gain = scaleGainUncertainty(toleranceOf(scale, rules))
  return surelyWeighed(
    groupId,
    'ticket',
    withU({
      weightLb,
      ownVarLb2: u * u,
      gains: [{ scaleId: ticket.scaleId, lb: gain * weightLb }],
      follows: null,
    }),
  )
}

const noPressures: readonly (number | null)[] = []

function weighSensed(
  group: PlannedGroup,
  prepared: PreparedGroup,
  { takenAt, elevationFt, temperatureF, pressures }: CombinationReading,
  lift: LiftState | null,
): GroupWeighing {
  const psi = pressures.get(group.place.groupId) ?? noPressures
  return weighGroup(prepared, { takenAt, elevationFt, temperatureF, lift, psi })
}

function estimated(
  plan: CombinationPlan,
  group: PlannedGroup,
  drive: GroupWeighing | undefined,
  lift: LiftState | null,
): GroupWeighing {
  const { name } = group
  const { groupId } = group.place
  const without = (why: WhyUnweighed): GroupWeighing => ({
    weighed: false,
    groupId,
    reason: 'no estimate',
    why,
  })
  if (drive === undefined) return without(['no drive group', { name }])
  if (!drive.weighed) return without(['drive unweighed', { name }])
  const model = plan.steer(group.unitId, lift)
  if (!model.ok) return without(['no estimate', { name, why: model.problem.message }])
  const { weight, byLine } = drive
  return weighed(
    groupId,
    'estimate',
    withU(estimateSteer(model.value, weight)),
    byLine && withU(estimateSteer(model.value, byLine.weight)),
    drive,
  )
}

function unmeasured({ place, name }: PlannedGroup): GroupWeighing {
  return { weighed: false, groupId: place.groupId, reason: 'not measured', why: ['no circuit', { name }] }
}

/**
 * Weighs every group of a combination from one reading, in the order of the plan:
 * - a lift axle that is raised weighs nothing; a sensed group goes through its line and its life (`weighGroup`);
 * - a steer group without a circuit is estimated from its drive group (`estimateSteer`);
 * - what remains takes the weight of the reading's own ticket, or says why it has none.
 */
export function weighCombination(plan: CombinationPlan, reading: CombinationReading): GroupWeighing[] {
  const liftOf = ({ unitId }: PlannedGroup) =>
    liftOfUnit(reading.lift, plan.liftUnits.has(unitId), plan.liftUnits.size > 0)
  const sensed = plan.groups.map((group) =>
    group.prepared === null ? undefined : weighSensed(group, group.prepared, reading, liftOf(group)),
  )
  return plan.groups.map((group, i) => {
    const { groupId, role } = group.place
    if (role === 'lift' && reading.lift === 'raised') return surelyWeighed(groupId, 'raised', withU(exactWeight(0)))
    const own = sensed[i]
    if (own) return own
    const drive =
      group.driveGroupId === null ? undefined : sensed.find((weighing) => weighing?.groupId === group.driveGroupId)
    const result = group.isEstimate ? estimated(plan, group, drive, liftOf(group)) : unmeasured(group)
    return result.weighed ? result : (fromTicket(plan, groupId, reading) ?? result)
  })
}
