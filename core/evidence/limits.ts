import { type HouseRules, defaultHouseRules } from '#core/words/house-rules.ts'

const singleAxleLb = 20_000
const tandemLb = 34_000
const tandemLengthFt = 8

/** 500-lb steps of the formula at a whole length: nearest, an exact tie down (the federal table's reading). */
function formulaLb(axles: number, wholeFt: number): number {
  const gaps = axles - 1
  const halves = wholeFt * axles + (12 * axles + 36) * gaps
  return 500 * Math.ceil((2 * halves - gaps) / (2 * gaps))
}

/**
 * Weight in lb that a set of consecutive axles may carry under the federal bridge formula,
 *   W = 500 (L N / (N - 1) + 12 N + 36), to the nearest 500 lb, an exact tie down;
 * 34,000 up to 8 ft, the formula at 8 ft for more than 8 and less than 9 ft, never more than 20,000 an axle
 * (`axleCapLb`). The two tandems' exception and the gross cap belong to the combination, not to one set: see
 * `bridgeSets`.
 *
 * Units: length in ft between the outer axles, taken to the nearest foot, one half up. Range: 1 to 50 axles, 0 to 500
 * ft.
 * Errors: RangeError outside the range. Source: 23 U.S.C. 127(a)(2); ties are read up by some states.
 */
export function bridgeLimitLb(axles: number, lengthFt: number, axleCapLb = singleAxleLb): number {
  if (!Number.isInteger(axles) || axles < 1 || axles > 50)
    throw new RangeError(`${axles} axles is not a whole number of 1 to 50`)
  if (!(lengthFt >= 0 && lengthFt <= 500)) throw new RangeError(`length ${lengthFt} ft is outside 0 to 500 ft`)
  if (axles === 1) return axleCapLb
  if (lengthFt <= tandemLengthFt) return tandemLb
  const wholeFt = lengthFt < 9 ? tandemLengthFt : Math.floor(lengthFt + 0.5)
  return Math.min(formulaLb(axles, wholeFt), axleCapLb * axles)
}

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
