import type { StratumLaw } from '#core/cells/life-model.ts'
import type { FamilyFigures, FleetEstimates, FleetFigure, ScaleEffect } from '#core/evidence/estimates.ts'

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
