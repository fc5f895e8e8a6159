import type { EventKind, GroupRole, LiftState, Measure, PressureReference, UnitKind } from '#core/words/vocabulary.ts'

/**
 * The record as the assessment reads it: plain facts, one history a group, times in milliseconds UTC, everything in the
 * order of time and nothing later than the day that is asked about. `null` means unknown.
 */

/** A sensor while it sat on a circuit. */
export interface MountFacts {
  readonly serial: string
  readonly reference: PressureReference
  readonly rangePsi: number | null
  readonly resolutionPsi: number | null
  readonly accuracyPsi: number | null
  readonly mountedAt: number
  readonly removedAt: number | null
}

export interface CircuitFacts {
  readonly circuitId: number
  readonly name: string
  readonly airSprings: number | null
  readonly springAreaIn2: number | null
  /** Oldest first. */
  readonly mounts: readonly MountFacts[]
}

/** One weight of two groups of a unit that stood on one platform, lb; their ids rising. */
export interface CommonWeight {
  readonly groupIds: readonly [number, number]
  readonly weightLb: number
}

/** The same as one of the two groups sees it. */
export interface SharedWeight {
  readonly ticketId: number
  readonly scaleId: number
  readonly withGroupId: number
  /** Of both together, lb. */
  readonly weightLb: number
}

/** One look at a group: the pressures of its circuits and, where a ticket goes with them, the weight. */
export interface Observation {
  readonly readingId: number
  readonly takenAt: number
  readonly elevationFt: number | null
  /** Whether the elevation is only that of the yard, since nothing nearer says where the reading was taken. */
  readonly elevationAssumed?: boolean
  /** Of the air, as noted. */
  readonly temperatureF: number | null
  readonly lift: LiftState | null
  /** As read, in the order of the group's circuits; null where that circuit was not read. */
  readonly psi: readonly (number | null)[]
  readonly ticketId: number | null
  readonly scaleId: number | null
  readonly weightLb: number | null
  /** Where the group has no weight of its own, since it stood on one platform with another; see `sumTests`. */
  readonly together?: SharedWeight
}

/** A calibration as entered: its points are observations with a weight. Voided ones are not facts any more. */
export interface CalibrationFacts {
  readonly calibrationId: number
  readonly calibratedAt: number
  readonly calibratedBy: string | null
  readonly points: readonly Observation[]
}

export interface EventFacts {
  readonly happenedAt: number
  readonly kind: EventKind
  /** null: the whole group (or unit). */
  readonly circuitId: number | null
  readonly note: string | null
}

export interface GroupFacts {
  readonly groupId: number
  readonly unitId: number
  readonly unit: string
  readonly unitKind: UnitKind
  readonly group: string
  readonly role: GroupRole
  readonly axles: number
  readonly axleSpacingFt: number | null
  readonly limitLb: number | null
  readonly measuredBy: Measure | null
  readonly circuits: readonly CircuitFacts[]
}

export interface GroupHistory extends GroupFacts {
  readonly calibrations: readonly CalibrationFacts[]
  /** Every reading of the group, calibration points among them. */
  readonly observations: readonly Observation[]
  /** Events of the group, of its circuits and of the whole unit. */
  readonly events: readonly EventFacts[]
}

export interface ScaleFacts {
  readonly scaleId: number
  readonly name: string
  readonly divisionLb: number | null
  readonly elevationFt: number | null
  readonly tolerancePercent: number | null
}

/**
 * A ticket as printed. groupIds and weightsLb run in parallel, one entry for each group weighed alone; `together` are
 * the weights of two on one platform. `complete` says whether every axle group of the ticket's units is in one of
 * them, so that the weights ought to add up to gross.
 */
export interface TicketFacts {
  readonly ticketId: number
  readonly number: string
  readonly scaleId: number
  readonly weighedAt: number
  readonly grossLb: number | null
  readonly unitIds: readonly number[]
  readonly groupIds: readonly number[]
  readonly weightsLb: readonly number[]
  readonly together: readonly CommonWeight[]
  readonly complete: boolean
}

/** Tickets by id, in the order of their ids. */
export type TicketBook = Pick<ReadonlyMap<number, TicketFacts>, 'get' | 'values'>

/** Everything the assessment of a fleet, or of some of its units, reads. */
export interface FleetRecord {
  readonly groups: readonly GroupHistory[]
  readonly scales: ReadonlyMap<number, ScaleFacts>
  readonly tickets: TicketBook
}

/**
 * A record that makes the history of a group when it is asked for and keeps none: what a large fleet is judged from,
 * one group at a time. `groups` are the sensed ones.
 */
export interface FleetSource extends Omit<FleetRecord, 'groups'> {
  readonly groups: readonly GroupFacts[]
  historyOf(groupId: number): GroupHistory | undefined
}

/** A record that is in memory already, as a source. */
export function sourceOf({ groups, scales, tickets }: FleetRecord): FleetSource {
  const byId = new Map(groups.map((group) => [group.groupId, group]))
  return { groups, scales, tickets, historyOf: (groupId) => byId.get(groupId) }
}

/** A group whose weight comes from its own circuit: said so, or not said and it has one. */
export const isSensed = (group: Pick<GroupFacts, 'measuredBy' | 'circuits'>): boolean =>
  group.measuredBy === 'circuit' || (group.measuredBy === null && group.circuits.length > 0)
