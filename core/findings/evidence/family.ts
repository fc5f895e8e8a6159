import type { FamilyFigures } from '#core/findings/evidence/estimates.ts'
import { median, robustSpread } from '#core/findings/evidence/robust.ts'
import type { GroupFacts } from '#core/fleet/history.ts'
import type { Line } from '#core/line/line.ts'

const smallestFamily = 8

/**
 * The kind of hardware that a group's slope follows from: role, axles, air springs of each circuit and their area.
 * Undefined when springs or area are not on record.
 */
export function familyKey({ role, axles, circuits }: GroupFacts): string | undefined {
  if (
    circuits.length === 0 ||
    circuits.some(({ airSprings, springAreaIn2 }) => airSprings === null || springAreaIn2 === null)
  )
    return undefined
  const springs = circuits.map(({ airSprings, springAreaIn2 }) => `${airSprings}x${springAreaIn2}`).sort()
  return [role, axles, ...springs].join(' ')
}

/**
 * Median slope and intercept of every family large enough to have any; robust, so that an odd line does not shape it.
 */
export function familyFigures(
  lines: readonly { readonly group: GroupFacts; readonly line: Line }[],
): Map<string, FamilyFigures> {
  const members = new Map<string, Line[]>()
  for (const { group, line } of lines) {
    const key = familyKey(group)
    if (key === undefined) continue
    const family = members.get(key)
    if (family) family.push(line)
    else members.set(key, [line])
  }
  const figures = new Map<string, FamilyFigures>()
  for (const [key, family] of members) {
    if (family.length < smallestFamily) continue
    const slopes = family.map(({ b }) => b)
    const intercepts = family.map(({ a }) => a)
    figures.set(key, {
      lines: family.length,
      slope: { median: median(slopes), spread: robustSpread(slopes) },
      intercept: { median: median(intercepts), spread: robustSpread(intercepts) },
    })
  }
  return figures
}
