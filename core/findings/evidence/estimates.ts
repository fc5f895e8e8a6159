import type { StratumLaw } from '#core/battery/life-model.ts'
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

/**
 * What the fleet taught, as one JSON text, for keeping beside an assessment; `cellLaws` are those of its sensor cells.
 */
export function estimatesToText(
  { leveling, wander, scales, families }: FleetEstimates,
  cellLaws: readonly StratumLaw[],
): string {
  return JSON.stringify({ leveling, wander, scales: [...scales], families: [...families], cellLaws })
}

/** What `estimatesToText` kept. */
export function estimatesFromText(text: string): { estimates: FleetEstimates; cellLaws: readonly StratumLaw[] } {
  const { leveling, wander, scales, families, cellLaws } = JSON.parse(text) as {
    leveling: FleetFigure
    wander: FleetFigure
    scales: [number, ScaleEffect][]
    families: [string, FamilyFigures][]
    cellLaws?: StratumLaw[]
  }
  // A text of an earlier version has no laws of cells: then a unit's cells are judged within the fleet's.
  return {
    estimates: { leveling, wander, scales: new Map(scales), families: new Map(families) },
    cellLaws: cellLaws ?? [],
  }
}
