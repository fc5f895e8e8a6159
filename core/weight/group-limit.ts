import { defaultHouseRules, type HouseRules } from '#core/fleet/house-rules.ts'
import { bridgeLimitLb } from '#core/weight/bridge.ts'

/** Spacing assumed between the axles of a group where none is recorded; common practice for close-coupled tandems. */
const usualSpacingFt = 4.5
/** Farther than any group reaches; a spacing that was mistyped must not stop the judgement of a fleet. */
const longestFt = 500

/** The limits of House Rules that stand in for the statutory ones (a permit, a state). */
export type LimitRules = Pick<HouseRules, 'singleAxleLimitLb' | 'tandemLimitLb' | 'grossLimitLb'>

/**
 * The weight limit of an axle group in lb: the recorded one, otherwise the House Rules' one for its axles (by default
 * the federal 20,000 single and 34,000 tandem), the bridge formula for three and more (23 U.S.C. 127(a)(2)). A
 * reckoner: the authority's table decides.
 */
export function groupLimitLb(
  group: { readonly limitLb: number | null; readonly axles: number; readonly axleSpacingFt: number | null },
  rules: LimitRules = defaultHouseRules,
): number {
  if (group.limitLb !== null) return group.limitLb
  if (group.axles === 1) return rules.singleAxleLimitLb
  if (group.axles === 2) return rules.tandemLimitLb
  return bridgeLimitLb(group.axles, Math.min(longestFt, (group.axleSpacingFt ?? usualSpacingFt) * (group.axles - 1)))
}

/** Gross limit of a combination in lb: the one recorded on its tractor or truck, otherwise the House Rules' one. */
export const combinationLimitLb = (recordedLb: number | null, rules: LimitRules = defaultHouseRules): number =>
  recordedLb ?? rules.grossLimitLb
