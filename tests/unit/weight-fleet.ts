import type {
  CalibrationFacts,
  EventFacts,
  GroupHistory,
  MountFacts,
  Observation,
  ScaleFacts,
} from '#core/evidence/history.ts'
import { estimatesFromRules } from '#core/evidence/estimates.ts'
import type { FleetRecord } from '#core/evidence/history.ts'
import type { WeighingTerms } from '#core/weight/weigh.ts'
import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'

export const dayMs = 86_400_000
export const spring = Date.UTC(2026, 2, 1)

export const scale: ScaleFacts = { scaleId: 1, name: 'North', divisionLb: 20, elevationFt: 600, tolerancePercent: 0.2 }

export const mount = (over: Partial<MountFacts> = {}): MountFacts => ({
  serial: 'S-1',
  reference: 'gauge',
  resolutionPsi: 0.1,
  accuracyPsi: 0.5,
  mountedAt: 0,
  removedAt: null,
  ...over,
})

export const observation = (over: Partial<Observation> = {}): Observation => ({
  readingId: 1,
  takenAt: spring,
  elevationFt: 600,
  temperatureF: null,
  lift: 'none',
  psi: [50],
  ticketId: 1,
  scaleId: 1,
  weightLb: 25_000,
  ...over,
})

export const calibration = (
  calibratedAt: number,
  points: readonly Observation[],
  calibrationId = 1,
): CalibrationFacts => ({
  calibrationId,
  calibratedAt,
  calibratedBy: 'Ada',
  points,
})

/** Points of a line weight = 1,000 + 480 psi, all taken at one time. */
export const pointsAt = (takenAt: number, over: Partial<Observation> = {}): Observation[] =>
  [20, 40, 66].map((psi, i) =>
    observation({ readingId: i + 1, ticketId: i + 1, takenAt, psi: [psi], weightLb: 1000 + 480 * psi, ...over }),
  )

/** A drive tandem on one circuit, calibrated in spring. */
export const driveGroup = (over: Partial<GroupHistory> = {}): GroupHistory => ({
  groupId: 2,
  unitId: 1,
  unit: 'T-1',
  unitKind: 'tractor',
  group: 'drive',
  role: 'drive',
  axles: 2,
  axleSpacingFt: 4.3,
  limitLb: 34_000,
  measuredBy: 'circuit',
  circuits: [{ circuitId: 1, name: 'main', airSprings: 8, springAreaIn2: null, mounts: [mount()] }],
  calibrations: [calibration(spring, pointsAt(spring))],
  observations: [],
  events: [] as EventFacts[],
  ...over,
})

export const terms = (over: Partial<WeighingTerms> & { rules?: HouseRules } = {}): WeighingTerms => ({
  rules: defaultHouseRules,
  scaleOf: (id) => (id === 1 ? scale : undefined),
  ...over,
})

/** Groups as a record without tickets: no slip is to be found among them. */
export const recordOf = (groups: readonly GroupHistory[]): FleetRecord => ({
  groups,
  scales: new Map([[scale.scaleId, scale]]),
  tickets: new Map(),
})

export const estimates = estimatesFromRules(defaultHouseRules)

/** mulberry32: the same numbers from the same seed on every machine, uniform in [0, 1). */
export function uniform(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let t = Math.imul(state ^ (state >>> 15), 1 | state)
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296
  }
}

/** Standard normal numbers (Box and Muller) from a uniform source. */
export const normalFrom = (next: () => number) => (): number =>
  Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next())
