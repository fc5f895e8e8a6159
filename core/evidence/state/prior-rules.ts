import type { ChangePriors, LineNoise } from '#core/evidence/state/series.ts'
import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'

/** What the House Rules expect to go wrong with lines until the fleet has its own record. */
export function changePriorsOf({
  offsetsPerYear,
  slopesPerYear,
  driftsPerYear,
  offsetPsi,
  slopeShare,
  driftPsiPerMonth,
  wildShare,
  wildPsi,
}: HouseRules): ChangePriors {
  return { offsetsPerYear, slopesPerYear, driftsPerYear, offsetPsi, slopeShare, driftPsiPerMonth, wildShare, wildPsi }
}

/** How the House Rules expect a healthy line to behave until the fleet has its own record. */
export const lineNoiseOf = ({
  levelingPsi,
  wanderPsi,
  tailShare,
  tailScale,
  endsCorrelation,
}: HouseRules): LineNoise => ({ levelingPsi, wanderPsi, tailShare, tailScale, endsCorrelation })

export const defaultChangePriors = changePriorsOf(defaultHouseRules)
