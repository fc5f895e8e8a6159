import { bridgeLimitLb } from '#core/weight/bridge.ts'

/** Spacing assumed between the axles of a group where none is recorded; common practice for close-coupled tandems. */
const usualSpacingFt = 4.5

/**
 * The weight limit of an axle group in lb: the recorded one, otherwise the federal one for its axles: 20,000 single,
 * 34,000 tandem, the bridge formula for three and more (23 U.S.C. 127(a)(2)). A reckoner: the authority's table decides.
 */
export function groupLimitLb(group: { readonly limitLb: number | null; readonly axles: number; readonly axleSpacingFt: number | null }): number {
  if (group.limitLb !== null) return group.limitLb
  if (group.axles === 1) return 20_000
  if (group.axles === 2) return 34_000
  return bridgeLimitLb(group.axles, (group.axleSpacingFt ?? usualSpacingFt) * (group.axles - 1))
}
