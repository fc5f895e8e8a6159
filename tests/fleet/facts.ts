import type { CircuitFacts, GroupHistory, MountFacts, Observation, ScaleFacts } from '#core/evidence/history.ts'

/**
 * The record of one sensed group as the engine reads it: a tractor's drive tandem on one circuit with a gauge sensor. A
 * test states what differs.
 */
export const mountFacts = (over: Partial<MountFacts> = {}): MountFacts => ({
  serial: 'S-1',
  reference: 'gauge',
  resolutionPsi: 0.1,
  rangePsi: null,
  accuracyPsi: 1,
  mountedAt: Date.UTC(2024, 0, 10, 8),
  removedAt: null,
  ...over,
})

export const circuitFacts = (over: Partial<CircuitFacts> = {}): CircuitFacts => ({
  circuitId: 100,
  name: 'main',
  airSprings: 4,
  springAreaIn2: 60,
  mounts: [mountFacts()],
  ...over,
})

export const scaleFacts = (over: Partial<ScaleFacts> = {}): ScaleFacts => ({
  scaleId: 1,
  name: 'Pit scale',
  divisionLb: 20,
  elevationFt: null,
  tolerancePercent: 0.2,
  ...over,
})

export const observationFacts = (over: Partial<Observation> = {}): Observation => ({
  readingId: 1,
  takenAt: Date.UTC(2025, 2, 1),
  elevationFt: null,
  temperatureF: null,
  lift: null,
  psi: [50],
  ticketId: 1,
  scaleId: 1,
  weightLb: null,
  ...over,
})

export const groupFacts = (over: Partial<GroupHistory> = {}): GroupHistory => ({
  groupId: 10,
  unitId: 1,
  unit: 'T-1',
  unitKind: 'tractor',
  group: 'drive',
  role: 'drive',
  axles: 2,
  axleSpacingFt: 4.3,
  limitLb: 34_000,
  measuredBy: 'circuit',
  circuits: [circuitFacts()],
  calibrations: [],
  observations: [],
  events: [],
  ...over,
})
