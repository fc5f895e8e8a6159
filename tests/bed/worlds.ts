import type { Noise } from '#demo/simulation/weighing.ts'

/** What a fleet is like, and how often it is weighed. */
export interface WorldSettings {
  readonly noise: Partial<Noise>
  /** Days between two check weighings. */
  readonly checkEveryDays?: readonly [fewest: number, most: number]
}

/** Worlds other than the simulator's own: what a fleet may be like that nobody thought of when the bounds were chosen. */
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
} as const satisfies Record<string, WorldSettings>

export type World = keyof typeof worlds
export const worldNames = Object.keys(worlds) as World[]
