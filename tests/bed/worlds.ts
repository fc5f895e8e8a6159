import type { WithheldColumn } from '#demo/simulation/folder-writer.ts'
import type { Noise } from '#demo/simulation/weighing.ts'

/** What a fleet is like, and how often it is weighed. */
export interface WorldSettings {
  readonly noise: Partial<Noise>
  /** Days between two check weighings. */
  readonly checkEveryDays?: readonly [fewest: number, most: number]
  /** What nobody of the fleet notes. */
  readonly withheld?: readonly WithheldColumn[]
}

/**
 * Worlds other than the simulator's own: what a fleet may be like that nobody thought of when the bounds were chosen.
 */
export const worlds = {
  ordinary: { noise: {} },
  /** One settling in twenty is 3.5 times as wild as the rest. */
  heavy: { noise: { tailShare: 0.05, tailScale: 3.5 } },
  /** Every sensor follows the weather. */
  weather: { noise: { psiPerDegree: 0.03 } },
  /** Loose leveling, lines that wander, coarse scales known to 0.4 %, some wild settlings, some weather. */
  rough: {
    noise: {
      levelingPsi: 0.6,
      wanderPsi: 0.12,
      scaleTolerancePercent: 0.4,
      divisionLb: 50,
      repeatabilityLb: 60,
      tailShare: 0.02,
      psiPerDegree: 0.012,
    },
  },
  /** Weighed once in five weeks. */
  seldom: { noise: {}, checkEveryDays: [25, 45] },
  /** Sensors follow the weather a little, and neither it nor springs, sensors or scales are on record. */
  bare: {
    noise: { psiPerDegree: 0.012 },
    withheld: [
      'readings.temperature_f',
      'circuits.air_springs',
      'circuits.spring_area_in2',
      'sensors.range_psi',
      'sensors.resolution_psi',
      'sensors.accuracy_psi',
      'scales.division_lb',
      'scales.tolerance_percent',
    ],
  },
} as const satisfies Record<string, WorldSettings>

export type World = keyof typeof worlds
export const worldNames = Object.keys(worlds) as World[]
