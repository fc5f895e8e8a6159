import { figures } from '#core/words/numbers.ts'
import { phrase } from '#core/words/phrase.ts'

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

/** A closed interval that a quantity must lie in, with the unit it is written in. */
export interface Range {
  readonly min: number
  readonly max: number
  readonly unit: string
}

/**
 * What a field accepts, wide enough for every real vehicle and for honest slips that a finding explains later
 * (kilopascals typed as psi), narrow enough to stop what cannot be a record. Used by schemas, folder and forms;
 * the database's checks repeat them.
 */
export const ranges = {
  elevationFt: { min: -1500, max: 20000, unit: 'ft' },
  jobsPerDay: { min: 1, max: 1000, unit: 'jobs' },
  cellsOnHand: { min: 0, max: 1_000_000, unit: 'cells' },
  cellDollars: { min: 0, max: 10_000, unit: '$' },
  modelYear: { min: 1900, max: 2100, unit: '' },
  grossLimitLb: { min: 1, max: 1_000_000, unit: 'lb' },
  fifthWheelFt: { min: -10, max: 60, unit: 'ft' },
  axles: { min: 1, max: 12, unit: 'axles' },
  firstAxleFt: { min: -20, max: 200, unit: 'ft' },
  axleSpacingFt: { min: 0, max: 60, unit: 'ft' },
  groupLimitLb: { min: 1, max: 400_000, unit: 'lb' },
  airSprings: { min: 1, max: 24, unit: 'air springs' },
  springAreaIn2: { min: 1, max: 400, unit: 'in²' },
  rideHeightIn: { min: 0, max: 60, unit: 'in' },
  lineLengthIn: { min: 0, max: 2000, unit: 'in' },
  rangePsi: { min: 1, max: 1000, unit: 'psi' },
  resolutionPsi: { min: 0, max: 50, unit: 'psi' },
  accuracyPsi: { min: 0, max: 100, unit: 'psi' },
  reportEveryS: { min: 1, max: 604_800, unit: 's' },
  divisionLb: { min: 0.1, max: 1000, unit: 'lb' },
  tolerancePercent: { min: 0, max: 10, unit: '%' },
  weightLb: { min: 0, max: 400_000, unit: 'lb' },
  grossLb: { min: 0, max: 1_000_000, unit: 'lb' },
  psi: { min: -15, max: 2000, unit: 'psi' },
  temperatureF: { min: -100, max: 200, unit: '°F' },
} as const satisfies Record<string, Range>

const tidy = figures({ maximumFractionDigits: 3 })

/** The accepted interval as a phrase for a person, such as `0 to 400,000 lb`. */
export function describeRange({ min, max, unit }: Range): string {
  if (unit === '') return phrase('{min} to {max}', { min, max })
  return phrase('{min} to {max} {unit}', { min: tidy(min), max: tidy(max), unit })
}
