import type { Random } from '#demo/simulation/random.ts'
import { gainWithin, type Scale } from '#demo/simulation/scale.ts'
import type { Noise } from '#demo/simulation/weighing.ts'
import { faultSizes } from '#tests/bed/fault-kinds.ts'

/** Yards with a scale of their own, and scales by the road; name and elevation in ft. */
export const homes = [
  ['North', 900],
  ['Middle', 3_400],
  ['South', 5_600],
] as const
const roadside = [
  ['Crossing', 1_800],
  ['Quarry', 4_300],
  ['Mill', 2_600],
] as const

/** All scales within their tolerance, but for one by the road where a biased one is wanted. */
export function makeScales(noise: Noise, biased: boolean, random: Random): { scales: Scale[]; biased: Scale | null } {
  const scales = [...homes, ...roadside].map(
    ([name, elevationFt], i): Scale => ({
      name,
      elevationFt,
      divisionLb: noise.divisionLb,
      tolerancePercent: noise.scaleTolerancePercent,
      gain: gainWithin(noise.scaleTolerancePercent, random),
      grossOnly: false,
      nextTicket: 1_000 * (i + 1),
    }),
  )
  if (!biased) return { scales, biased: null }
  // Calibrations go to the homes' scales, so a biased one by the road spoils no line.
  const index = homes.length + random.whole(0, roadside.length - 1)
  const [low, high] = faultSizes.scaleGain
  const bent = { ...(scales[index] as Scale), gain: random.between(low, high) * random.sign() }
  scales[index] = bent
  return { scales, biased: bent }
}
