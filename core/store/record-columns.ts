import type {
  CalibrationFacts,
  CommonWeight,
  EventFacts,
  FleetSource,
  GroupFacts,
  Observation,
  ScaleFacts,
  SharedWeight,
  TicketBook,
  TicketFacts,
} from '#core/evidence/history.ts'
import { liftOfUnit } from '#core/evidence/lift.ts'
import { type UnitOnScale, isCompleteTicket } from '#core/evidence/whole-ticket.ts'
import { type LiftState, liftStates } from '#core/words/vocabulary.ts'

/** Columns hold NaN for what is not known. */
export const knownOrNull = (value: number): number | null => (Number.isNaN(value) ? null : value)

/**
 * Places of items grouped by a key of 0 to size - 1: those of key k are order[start[k]] to order[start[k + 1] - 1], in
 * order.
 */
export interface Grouping {
  readonly start: Int32Array
  readonly order: Int32Array
}

/** Tickets by rising id; their weights apart, each with the place of its ticket. */
export interface TicketColumns {
  readonly id: Float64Array
  readonly number: readonly string[]
  readonly scaleId: Float64Array
  readonly weighedAt: Float64Array
  readonly grossLb: Float64Array
  readonly weight: {
    readonly ticket: Int32Array
    readonly unitId: Float64Array
    readonly groupId: Float64Array
    readonly lb: Float64Array
  }
  readonly ofTicket: Grouping
  readonly ofGroup: Grouping
  /** The weights of two groups on one platform, by the places of their tickets. */
  readonly together: ReadonlyMap<number, readonly CommonWeight[]>
}

/**
 * The record of some groups as it was read: plain data, its columns in memory that threads share, so that it costs
 * little to hand it to another one.
 */
export interface RecordColumns {
  /** The sensed ones: what is grouped by group is so by their places. */
  readonly groups: readonly GroupFacts[]
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly tickets: TicketColumns
  readonly units: ReadonlyMap<number, UnitOnScale>
  /** Those units of the groups that have a lift axle. */
  readonly liftUnits: ReadonlySet<number>
  /** By rising id. */
  readonly readings: {
    readonly id: Float64Array
    readonly takenAt: Float64Array
    readonly elevationFt: Float64Array
    readonly elevationAssumed: Uint8Array
    readonly temperatureF: Float64Array
    readonly lift: Uint8Array
    readonly withLift: Uint8Array
    readonly ticket: Int32Array
  }
  readonly pressures: {
    readonly reading: Int32Array
    readonly circuit: Int32Array
    readonly psi: Float64Array
    readonly ofGroup: Grouping
  }
  readonly calibrations: {
    readonly id: Float64Array
    readonly at: Float64Array
    readonly by: readonly (string | null)[]
    readonly ticketId: Float64Array
    readonly readingId: Float64Array
    readonly ofGroup: Grouping
  }
  readonly events: ReadonlyMap<number, readonly EventFacts[]>
}

/** Place of an id in a rising list, or -1. */
export function placeOf(ids: Float64Array, id: number): number {
  let low = 0
  let high = ids.length - 1
  while (low <= high) {
    const middle = (low + high) >> 1
    const found = ids[middle] as number
    if (found === id) return middle
    if (found < id) low = middle + 1
    else high = middle - 1
  }
  return -1
}

/** The tickets by id, each made when it is asked for. */
function ticketBook(columns: TicketColumns, units: ReadonlyMap<number, UnitOnScale>): TicketBook {
  const { id, weight, ofTicket } = columns
  const make = (place: number): TicketFacts => {
    const unitIds: number[] = []
    const groupIds: number[] = []
    const weightsLb: number[] = []
    const together = columns.together.get(place) ?? []
    for (let i = ofTicket.start[place] as number; i < (ofTicket.start[place + 1] as number); i += 1) {
      const item = ofTicket.order[i] as number
      const unitId = weight.unitId[item] as number
      if (!unitIds.includes(unitId)) unitIds.push(unitId)
      if ((weight.groupId[item] as number) < 0) continue
      groupIds.push(weight.groupId[item] as number)
      weightsLb.push(weight.lb[item] as number)
    }
    return {
      ticketId: id[place] as number,
      number: columns.number[place] as string,
      scaleId: columns.scaleId[place] as number,
      weighedAt: columns.weighedAt[place] as number,
      grossLb: knownOrNull(columns.grossLb[place] as number),
      unitIds,
      groupIds,
      weightsLb,
      together,
      complete: isCompleteTicket(
        unitIds.map((unitId) => units.get(unitId)),
        { alone: groupIds.length, together: together.length },
      ),
    }
  }
  return {
    get: (ticketId) => {
      const place = placeOf(id, ticketId)
      return place < 0 ? undefined : make(place)
    },
    *values() {
      for (let place = 0; place < id.length; place += 1) yield make(place)
      return undefined
    },
  }
}

export const codeOfLift = (state: LiftState | null): number => (state === null ? 0 : liftStates.indexOf(state) + 1)
const liftOfCode = (code: number): LiftState | null => liftStates[code - 1] ?? null

function byTime(a: Observation, b: Observation): number {
  return a.takenAt - b.takenAt || a.readingId - b.readingId
}

/** A record as the assessment reads it: the history of each group is made of the columns when it is asked for. */
export function columnSource(columns: RecordColumns): FleetSource {
  const { groups, scales, tickets, readings, pressures, calibrations, events } = columns
  const sensed = new Map(groups.map(({ groupId }, place) => [groupId, place]))

  const weightsOf = (place: number): Map<number, number> => {
    const weights = new Map<number, number>()
    for (let i = tickets.ofGroup.start[place] as number; i < (tickets.ofGroup.start[place + 1] as number); i += 1) {
      const item = tickets.ofGroup.order[i] as number
      weights.set(tickets.weight.ticket[item] as number, tickets.weight.lb[item] as number)
    }
    return weights
  }

  /** What the tickets' common weights are for one of their groups. */
  const shared = new Map<number, Map<number, SharedWeight>>()
  for (const [ticket, each] of tickets.together) {
    for (const { groupIds, weightLb } of each) {
      for (const [i, groupId] of groupIds.entries()) {
        const place = sensed.get(groupId)
        if (place === undefined) continue
        const own = shared.get(place) ?? new Map<number, SharedWeight>()
        shared.set(place, own)
        own.set(ticket, {
          ticketId: tickets.id[ticket] as number,
          scaleId: tickets.scaleId[ticket] as number,
          withGroupId: groupIds[1 - i] as number,
          weightLb,
        })
      }
    }
  }

  const observationsOf = (
    place: number,
    { unitId, circuits }: { unitId: number; circuits: number },
    weights: ReadonlyMap<number, number>,
  ): Observation[] => {
    const observations: Observation[] = []
    let current = -1
    let psi: (number | null)[] = []
    for (let i = pressures.ofGroup.start[place] as number; i < (pressures.ofGroup.start[place + 1] as number); i += 1) {
      const item = pressures.ofGroup.order[i] as number
      const reading = pressures.reading[item] as number
      if (reading !== current) {
        current = reading
        psi = circuits === 1 ? [pressures.psi[item] as number] : new Array<number | null>(circuits).fill(null)
        const ticket = readings.ticket[reading] as number
        const weightLb = ticket < 0 ? null : (weights.get(ticket) ?? null)
        const withLift = readings.withLift[reading] === 1
        const together = weightLb === null ? shared.get(place)?.get(ticket) : undefined
        observations.push({
          readingId: readings.id[reading] as number,
          takenAt: readings.takenAt[reading] as number,
          elevationFt: knownOrNull(readings.elevationFt[reading] as number),
          elevationAssumed: readings.elevationAssumed[reading] === 1,
          temperatureF: knownOrNull(readings.temperatureF[reading] as number),
          lift: liftOfUnit(
            liftOfCode(readings.lift[reading] as number),
            withLift && columns.liftUnits.has(unitId),
            withLift,
          ),
          psi,
          ticketId: weightLb === null ? null : (tickets.id[ticket] as number),
          scaleId: weightLb === null ? null : (tickets.scaleId[ticket] as number),
          weightLb,
          ...(together && { together }),
        })
      }
      psi[pressures.circuit[item] as number] = pressures.psi[item] as number
    }
    for (let i = 1; i < observations.length; i += 1) {
      if (byTime(observations[i - 1] as Observation, observations[i] as Observation) > 0)
        return observations.sort(byTime)
    }
    return observations
  }

  const calibrationsOf = (
    place: number,
    observations: readonly Observation[],
    weights: ReadonlyMap<number, number>,
  ): CalibrationFacts[] => {
    const from = calibrations.ofGroup.start[place] as number
    const to = calibrations.ofGroup.start[place + 1] as number
    if (from === to) return []
    const asked = new Set<number>()
    for (const item of calibrations.ofGroup.order.subarray(from, to)) asked.add(calibrations.readingId[item] as number)
    const byReading = new Map<number, Observation>()
    for (const observation of observations)
      if (asked.has(observation.readingId)) byReading.set(observation.readingId, observation)
    type Made = CalibrationFacts & { points: Observation[] }
    const made: Made[] = []
    for (let i = from; i < to; i += 1) {
      const item = calibrations.ofGroup.order[i] as number
      let current = made.at(-1) as Made
      if (current?.calibrationId !== calibrations.id[item]) {
        current = {
          calibrationId: calibrations.id[item] as number,
          calibratedAt: calibrations.at[item] as number,
          calibratedBy: calibrations.by[item] as string | null,
          points: [],
        }
        made.push(current)
      }
      const observation = byReading.get(calibrations.readingId[item] as number)
      if (!observation) continue
      const ticketId = calibrations.ticketId[item] as number
      const ticket = placeOf(tickets.id, ticketId)
      // A ticket that did not weigh this group stays, without a weight: the calibration is refused for it, not bent by
      // losing a point.
      const weightLb = weights.get(ticket) ?? null
      const scaleId = weightLb === null ? null : (tickets.scaleId[ticket] as number)
      current.points.push(
        observation.ticketId === ticketId ? observation : { ...observation, ticketId, scaleId, weightLb },
      )
    }
    return made
  }

  return {
    groups,
    scales,
    tickets: ticketBook(tickets, columns.units),
    historyOf: (groupId) => {
      const place = sensed.get(groupId)
      if (place === undefined) return undefined
      const group = groups[place] as GroupFacts
      const weights = weightsOf(place)
      const observations = observationsOf(place, { unitId: group.unitId, circuits: group.circuits.length }, weights)
      return {
        ...group,
        observations,
        calibrations: calibrationsOf(place, observations, weights),
        events: events.get(groupId) ?? [],
      }
    },
  }
}
