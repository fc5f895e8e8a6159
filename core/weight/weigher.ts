import type { FleetEstimates } from '#core/evidence/estimates.ts'
import { type FleetRecord, type FleetSource, sourceOf } from '#core/evidence/history.ts'
import { type SteerCheck, type SteerFacts, compareWithStatics } from '#core/weight/steer.ts'
import { type Tare, type TareTicket, type TareUnit, tareBook, tareOf } from '#core/weight/tare.ts'
import { type CombinationPlan, type UnitToWeigh, planCombination } from '#core/weight/weigh-combination.ts'
import { type PreparedGroup, readyGroup } from '#core/weight/weigh.ts'
import type { HouseRules } from '#core/words/house-rules.ts'
import type { Result } from '#core/words/problem.ts'

/** Everything that weighing needs: of a whole fleet, or of the units of one combination. */
export interface WeighSource {
  readonly units: readonly UnitToWeigh[]
  /** The sensed groups with their calibrations, events and weighings; other readings are not needed. */
  readonly record: FleetSource
  /** Of every unit whose steer weight is estimated. */
  readonly steer: readonly (SteerFacts & { readonly unitId: number })[]
  /** Tickets light enough to be empty ones, in any order. */
  readonly tickets: readonly TareTicket[]
  readonly estimates: FleetEstimates
  /** With the fleet's own steer scatter in place of the stated one. */
  readonly rules: HouseRules
}

/** The same as plain data, which another process can be sent. */
export interface WeighFacts extends Omit<WeighSource, 'record'> {
  readonly record: FleetRecord
}

/** A combination made ready to weigh. */
export interface ReadyCombination {
  /** In coupling order. */
  readonly units: readonly UnitToWeigh[]
  readonly plan: CombinationPlan
  /** What it weighs empty, as its tickets up to a time (ms UTC) say. */
  readonly tareAt: (at: number) => Result<Tare>
  /** The tickets' steer line against fifth-wheel statics, of each unit where both are known. */
  readonly steerChecks: ReadonlyMap<number, SteerCheck>
}

/** Weighs the combinations of a fleet: what they share is made ready once. */
export interface Weigher {
  /** Units in coupling order; units that are not among the facts are left out. */
  ready(unitIds: readonly number[]): ReadyCombination
}

/**
 * A fleet of changing pairs has many combinations; beyond these the oldest are forgotten and made anew when asked for.
 */
const mostCombinations = 8000

/**
 * Every unit that stood on a two-unit ticket with another: through them a unit without an empty ticket of its own gets
 * its tare.
 */
function partnersByUnit(
  tickets: readonly TareTicket[],
  unitOf: (unitId: number) => TareUnit | undefined,
): Map<number, TareUnit[]> {
  const partners = new Map<number, Set<number>>()
  for (const { unitIds } of tickets) {
    const [one, other] = unitIds
    if (unitIds.length !== 2 || one === undefined || other === undefined) continue
    for (const [own, its] of [
      [one, other],
      [other, one],
    ] as const) {
      const known = partners.get(own)
      if (known) known.add(its)
      else partners.set(own, new Set([its]))
    }
  }
  return new Map(
    Array.from(partners, ([unitId, others]) => [unitId, [...others].map(unitOf).filter((unit) => unit !== undefined)]),
  )
}

/** The first place in a sorted list whose time is later. */
function placeAfter(times: readonly number[], at: number): number {
  let low = 0
  let high = times.length
  while (low < high) {
    const middle = (low + high) >> 1
    if ((times[middle] ?? Number.POSITIVE_INFINITY) <= at) low = middle + 1
    else high = middle
  }
  return low
}

/** Readies one combination, or a few, from plain data. */
export const weigherOf = (facts: WeighFacts): Weigher => weigher({ ...facts, record: sourceOf(facts.record) })

/**
 * Readies a fleet, or one combination, to weigh any number of readings. Lines are fitted and lives followed when first
 * needed.
 */
export function weigher({ units, record, steer, tickets, estimates, rules }: WeighSource): Weigher {
  const unitById = new Map(units.map((unit) => [unit.unitId, unit]))
  const { scales } = record
  const scaleOf = (scaleId: number) => scales.get(scaleId)
  const steerOf = new Map(steer.map((facts) => [facts.unitId, facts]))
  const book = tareBook(tickets)
  const partners = partnersByUnit(tickets, (unitId) => unitById.get(unitId))
  const ticketTimes = new Map<number, number[]>()
  for (const { unitIds, weighedAt } of tickets) {
    for (const unitId of unitIds) {
      const times = ticketTimes.get(unitId)
      if (times) times.push(weighedAt)
      else ticketTimes.set(unitId, [weighedAt])
    }
  }

  const readyGroups = new Map<number, PreparedGroup>()
  const groupOf = (groupId: number): PreparedGroup | undefined => {
    const known = readyGroups.get(groupId)
    const history = known ? undefined : record.historyOf(groupId)
    if (!history) return known
    const group = readyGroup(history, { rules, scales, tickets: record.tickets, estimates })
    readyGroups.set(groupId, group)
    return group
  }

  /**
   * The tare only changes when one of the tickets behind it is weighed, so each stretch between them is worked out
   * once.
   */
  const tareOver = (own: readonly UnitToWeigh[], grossLimitLb: number): ReadyCombination['tareAt'] => {
    const others = [...new Set(own.flatMap(({ unitId }) => partners.get(unitId) ?? []))]
    const times = [...own, ...others].flatMap(({ unitId }) => ticketTimes.get(unitId) ?? []).sort((a, b) => a - b)
    const known = new Map<number, Result<Tare>>()
    return (at) => {
      const place = placeAfter(times, at)
      const tare = known.get(place) ?? tareOf(own, { book, scaleOf, rules, grossLimitLb, until: at }, others)
      known.set(place, tare)
      return tare
    }
  }

  const readyCombination = (unitIds: readonly number[]): ReadyCombination => {
    const own = unitIds.map((unitId) => unitById.get(unitId)).filter((unit) => unit !== undefined)
    const prepared = new Map<number, PreparedGroup>()
    for (const { groups } of own) {
      for (const { groupId } of groups) {
        const group = groupOf(groupId)
        if (group) prepared.set(groupId, group)
      }
    }
    const plan = planCombination({ units: own, prepared, steer: steerOf, scaleOf, rules })
    const checks = own.flatMap(({ unitId }): [number, SteerCheck][] => {
      const facts = steerOf.get(unitId)
      const check = facts?.statics && compareWithStatics(facts, facts.statics, scaleOf, rules)
      return check ? [[unitId, check]] : []
    })
    return { units: own, plan, tareAt: tareOver(own, plan.grossLimitLb), steerChecks: new Map(checks) }
  }

  const combinations = new Map<string, ReadyCombination>()
  return {
    ready: (unitIds) => {
      const key = unitIds.join(' ')
      const known = combinations.get(key)
      if (known) return known
      if (combinations.size >= mostCombinations) combinations.clear()
      const ready = readyCombination(unitIds)
      combinations.set(key, ready)
      return ready
    },
  }
}
