import { estimatesFromRules } from '#core/evidence/estimates.ts'
import type { CalibrationFacts, FleetRecord, GroupHistory, MountFacts, Observation } from '#core/evidence/history.ts'
import type { WeighingTerms } from '#core/weight/weigh.ts'
import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'
import { circuitFacts, groupFacts, mountFacts, observationFacts, scaleFacts } from '#tests/fleet/facts.ts'

export const dayMs = 86_400_000
export const spring = Date.UTC(2026, 2, 1)

export const scale = scaleFacts({ scaleId: 1, name: 'North', elevationFt: 600 })

export const mount = (over: Partial<MountFacts> = {}): MountFacts =>
  mountFacts({ accuracyPsi: 0.5, mountedAt: 0, ...over })

export const observation = (over: Partial<Observation> = {}): Observation =>
  observationFacts({
    takenAt: spring,
    elevationFt: scale.elevationFt,
    lift: 'none',
    scaleId: scale.scaleId,
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
export const driveGroup = (over: Partial<GroupHistory> = {}): GroupHistory =>
  groupFacts({
    groupId: 2,
    circuits: [circuitFacts({ circuitId: 1, airSprings: 8, springAreaIn2: null, mounts: [mount()] })],
    calibrations: [calibration(spring, pointsAt(spring))],
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

/** Standard normal numbers (Box and Muller) from a uniform source. */
export const normalFrom = (next: () => number) => (): number =>
  Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next())
