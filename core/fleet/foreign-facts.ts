import type { GroupRole } from '#core/fleet/vocabulary.ts'

export interface GroupFacts {
  readonly name: string
  readonly role: GroupRole
  readonly circuits: readonly string[]
}

interface MountFacts {
  readonly unit: string
  readonly group: string
  readonly circuit: string
  readonly fromMs: number
  /** Infinity: it is there still. */
  readonly untilMs: number
}

/** What the rows of a foreign file are held against: the fleet's names, and where each sensor was when. */
export interface ForeignFacts {
  readonly scales: ReadonlySet<string>
  readonly units: ReadonlyMap<string, readonly GroupFacts[]>
  readonly mounts: ReadonlyMap<string, readonly MountFacts[]>
}

/** The only one of a list that a test fits; undefined for none or several. */
function only<T>(list: readonly T[], fits: (each: T) => boolean): T | undefined {
  const found = list.filter(fits)
  return found.length === 1 ? found[0] : undefined
}

/** The group that a text names: by its name, in capitals or not, or by its role where the unit has one such group. */
export const groupNamed = (groups: readonly GroupFacts[], text: string): GroupFacts | undefined =>
  groups.find(({ name }) => name === text) ??
  only(groups, ({ name }) => name.toLowerCase() === text.toLowerCase()) ??
  only(groups, ({ role }) => role === text.toLowerCase())

export const circuitNamed = ({ circuits }: GroupFacts, text: string): string | undefined =>
  circuits.find((name) => name === text) ?? only(circuits, (name) => name.toLowerCase() === text.toLowerCase())

export const mountAt = (mounts: readonly MountFacts[], at: number): MountFacts | undefined =>
  mounts.find(({ fromMs, untilMs }) => fromMs <= at && at < untilMs)
