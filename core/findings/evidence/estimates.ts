import type { HouseRules } from '#core/fleet/house-rules.ts'

/** A figure that the fleet's own history gives, or the House Rules while it is too short. */
export interface FleetFigure {
  readonly value: number
  /** Standard uncertainty; null where the House Rules stand in. */
  readonly u: number | null
  /** How many check weighings it rests on. */
  readonly checks: number
}

/** Bias of a scale against the fleet as a relative gain (0.002 reads 0.2 % heavy), with its standard uncertainty. */
export interface ScaleEffect {
  readonly scaleId: number
  readonly gain: number
  readonly u: number
  readonly weighings: number
  readonly groups: number
  /** When the first weighing was made that it rests on, ms. */
  readonly since: number
}

/** Slope and intercept of the lines of one kind of hardware: median and robust standard deviation. */
export interface FamilyFigures {
  readonly lines: number
  readonly slope: { readonly median: number; readonly spread: number }
  readonly intercept: { readonly median: number; readonly spread: number }
}

/** What is learnt from all groups together and then used to judge each. */
export interface FleetEstimates {
  /** Leveling repeatability, psi. */
  readonly leveling: FleetFigure
  /** Wander of a line, psi per root month. */
  readonly wander: FleetFigure
  readonly scales: ReadonlyMap<number, ScaleEffect>
  readonly families: ReadonlyMap<string, FamilyFigures>
}

/** The estimates of a fleet that has no history yet. */
export function estimatesFromRules(rules: HouseRules): FleetEstimates {
  return {
    leveling: { value: rules.levelingPsi, u: null, checks: 0 },
    wander: { value: rules.wanderPsi, u: null, checks: 0 },
    scales: new Map(),
    families: new Map(),
  }
}

/** The estimates as one JSON text, for keeping beside an assessment. */
export function estimatesToText({ leveling, wander, scales, families }: FleetEstimates): string {
  return JSON.stringify({ leveling, wander, scales: [...scales], families: [...families] })
}

/** The estimates back from `estimatesToText`. */
export function estimatesFromText(text: string): FleetEstimates {
  const { leveling, wander, scales, families } = JSON.parse(text) as {
    leveling: FleetFigure; wander: FleetFigure; scales: [number, ScaleEffect][]; families: [string, FamilyFigures][]
  }
  return { leveling, wander, scales: new Map(scales), families: new Map(families) }
}
