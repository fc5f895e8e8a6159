/**
 * Two groups of a unit that stand on one platform together, as a tag and its tandem do: which can, and how people and
 * fleet folders name the two.
 */

/** Each group of a unit with the next behind it, front to back: what can stand on one platform. */
export const platformPairs = <G>(frontToBack: readonly G[]): (readonly [G, G])[] =>
  frontToBack.slice(1).map((behind, i) => [frontToBack[i] as G, behind] as const)

/** The two by one name: `drive + tag`. */
export const pairName = (one: string, other: string): string => `${one} + ${other}`

/**
 * The two groups that a name of that kind stands for among those of a unit, whatever the order and the blanks about the
 * plus; undefined where none do, or more than one two.
 */
export function pairOf(name: string, isGroup: (group: string) => boolean): readonly [string, string] | undefined {
  let found: readonly [string, string] | undefined
  for (let at = name.indexOf('+'); at >= 0; at = name.indexOf('+', at + 1)) {
    const one = name.slice(0, at).trim()
    const other = name.slice(at + 1).trim()
    if (one === other || !isGroup(one) || !isGroup(other)) continue
    if (found !== undefined && !(found.includes(one) && found.includes(other))) return undefined
    found = [one, other]
  }
  return found
}

/** Two ids in the one order in which they are kept. */
export const inOneOrder = (one: number, other: number): readonly [number, number] =>
  one < other ? [one, other] : [other, one]
