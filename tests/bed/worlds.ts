import type { Noise } from '#demo/simulation/weighing.ts'

/** Worlds other than the simulator's own: what a fleet may be like that nobody thought of when the bounds were chosen. */
export const worlds = {
  ordinary: {},
  /** One settling in twenty is 3.5 times as wild as the rest. */
  heavy: { tailShare: 0.05, tailScale: 3.5 },
  /** Every sensor follows the weather. */
  weather: { psiPerDegree: 0.03 },
} as const satisfies Record<string, Partial<Noise>>

export type World = keyof typeof worlds
export const worldNames = Object.keys(worlds) as World[]
