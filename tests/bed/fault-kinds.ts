/** The kinds of trouble that the test bed plants, with the sizes that issue and design name. */
export const faultKinds = [
  'sensor-offset',
  'slope-change',
  'sensor-drift',
  'digits-transposed',
  'groups-swapped',
  'kpa-as-psi',
  'work-recorded',
  'work-unrecorded',
  'stale',
  'short-span',
  'side-imbalance',
  'sum-mismatch',
  'biased-scale',
] as const
export type FaultKind = (typeof faultKinds)[number] | 'offset-1000-lb'

/** `exact` says what is wrong; `fitting` also counts the codes that notice it without explaining it. */
interface Naming {
  readonly exact: readonly string[]
  readonly fitting: readonly string[]
}

const naming = (exact: readonly string[], alsoFitting: readonly string[] = []): Naming => ({
  exact,
  fitting: [...exact, ...alsoFitting],
})
const lineWentWrong = naming(['checks-drifting', 'check-missed'])

/** Which finding codes name a kind. */
export const fittingCodes: Readonly<Record<FaultKind, Naming>> = {
  'sensor-offset': lineWentWrong,
  'slope-change': lineWentWrong,
  'sensor-drift': lineWentWrong,
  'work-unrecorded': lineWentWrong,
  'offset-1000-lb': lineWentWrong,
  'digits-transposed': naming(['digits-transposed'], ['check-missed', 'ticket-sum-mismatch']),
  'groups-swapped': naming(['groups-swapped'], ['check-missed']),
  'kpa-as-psi': naming(['wrong-pressure-unit'], ['check-missed']),
  'work-recorded': naming(['event-since-calibration']),
  stale: naming(['age-over-limit']),
  'short-span': naming(['short-span']),
  'side-imbalance': naming(['side-imbalance']),
  'sum-mismatch': naming(['ticket-sum-mismatch']),
  'biased-scale': naming(['scale-biased']),
}

/** Lowest and highest size of each kind, either sign where a sign makes sense. */
export const faultSizes = {
  offsetPsi: [2, 4],
  slopeShare: [0.07, 0.12],
  driftPsiPerMonth: [0.5, 0.8],
  transposedAtLeastLb: 900,
  swappedAtLeastLb: 1_500,
  grossOffLb: [200, 2_000],
  /** Each side's pressure against the mean; the sides differ by twice as much. */
  sideShare: [0.1, 0.16],
  scaleGain: [0.006, 0.01],
  offsetWorthLb: 1_000,
} as const

export interface PlantedFault {
  readonly kind: FaultKind
  readonly unit: string | null
  readonly group: string | null
  readonly scale: string | null
  readonly ticket: string | null
  /** ISO 8601, UTC. */
  readonly startedAt: string
  /** In plain words with its size. */
  readonly what: string
}
