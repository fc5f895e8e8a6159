/**
 * The closed lists of words that records may use. Each list is the one source for the Zod schemas, the fleet
 * folder, the database's checks and the screens; its order is the order in which people are offered the words.
 */
export const unitKinds = ['tractor', 'trailer', 'truck'] as const
export type UnitKind = (typeof unitKinds)[number]

export const groupRoles = ['steer', 'drive', 'trailer', 'lift'] as const
export type GroupRole = (typeof groupRoles)[number]

/** How a group's weight is come by: its own circuit's pressure, an estimate from another group, or tickets only. */
export const measures = ['circuit', 'estimate', 'ticket'] as const
export type Measure = (typeof measures)[number]

export const pressureReferences = ['gauge', 'absolute'] as const
export type PressureReference = (typeof pressureReferences)[number]

/** Where the lift axles of a combination stood: off the road, on it, or there are none. */
export const liftStates = ['raised', 'lowered', 'none'] as const
export type LiftState = (typeof liftStates)[number]
/** The state that a word names; null for any other text. */
export const liftStateOf = (text: string): LiftState | null => liftStates.find((state) => state === text) ?? null

export const batteryReasons = ['new', 'scheduled', 'low', 'dead'] as const
export type BatteryReason = (typeof batteryReasons)[number]

/** Whether a tapped line held its pressure after a sensor was put on. */
export const leakChecks = ['tight', 'leaking', 'not done'] as const
export type LeakCheck = (typeof leakChecks)[number]

export const eventKinds = [
  'valve replaced',
  'height set',
  'spring replaced',
  'sensor swapped',
  'air line repaired',
  'axle work',
  'body work',
  'other',
] as const
export type EventKind = (typeof eventKinds)[number]

/** Work after which a calibration line no longer describes the group; the rest changes tare or leaks, not the line. */
export const lineBreakingEvents: ReadonlySet<EventKind> = new Set([
  'valve replaced',
  'height set',
  'spring replaced',
  'sensor swapped',
  'axle work',
])

export const serviceStates = ['in service', 'retired'] as const
export type ServiceState = (typeof serviceStates)[number]
