import type { GroupFacts } from '#core/evidence/history.ts'
import type { LiftState, UnitKind } from '#core/words/vocabulary.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * What the ruler needs of a group. firstAxleFt: behind the front axle on tractors and trucks, behind the kingpin on
 * trailers.
 */
export interface GroupPlace
  extends Pick<GroupFacts, 'groupId' | 'group' | 'role' | 'axles' | 'axleSpacingFt' | 'limitLb'> {
  readonly firstAxleFt: number | null
}

/** A unit as it stands in a combination. fifthWheelFt: behind the front axle, of tractors and trucks. */
export interface UnitPlace {
  readonly unitId: number
  readonly unit: string
  readonly kind: UnitKind
  readonly grossLimitLb: number | null
  readonly fifthWheelFt: number | null
  readonly groups: readonly GroupPlace[]
}

/** One axle on a ruler, feet behind its zero. */
export interface PlacedAxle {
  readonly groupId: number
  readonly unitId: number
  readonly positionFt: number
}

/**
 * A stretch of consecutive axles whose distances are known, front to back. Zero is the front axle of the tractor or
 * truck; a stretch that cannot be tied to it has its own zero (the kingpin of its trailer, the first axle of its
 * group).
 */
export interface Stretch {
  readonly zero: 'front axle' | 'kingpin' | 'first axle of the group'
  readonly axles: readonly PlacedAxle[]
}

export type RulerGapReason =
  | 'no first axle'
  | 'no axle spacing'
  | 'no fifth wheel'
  | 'trailer behind a trailer'
  | 'lift state unknown'

/** A distance that is not on record, in a sentence for a person. */
export interface RulerGap {
  readonly unitId: number
  readonly groupId: number | null
  readonly reason: RulerGapReason
  readonly message: string
}

/** The axles of a combination on the road, as far as the record places them. One stretch and no gaps: all is known. */
export interface Ruler {
  readonly stretches: readonly Stretch[]
  readonly gaps: readonly RulerGap[]
  /** Axles on the road, placed or not. */
  readonly axles: number
}

interface PlacedGroup {
  readonly group: GroupPlace
  /** Of the group's first axle, behind the unit's own zero; null where not on record. */
  readonly startFt: number | null
  /** 0 for a single axle; null where not on record. */
  readonly spacingFt: number | null
}

/**
 * A unit's own zero is its front axle, so its only steer group starts there by definition; everything else must be on
 * record.
 */
function startOf(unit: UnitPlace, group: GroupPlace): number | null {
  if (group.firstAxleFt !== null) return group.firstAxleFt
  const steers = unit.groups.filter(({ role }) => role === 'steer')
  return unit.kind !== 'trailer' && group.role === 'steer' && steers.length === 1 ? 0 : null
}

function axlesOf({ group, spacingFt }: PlacedGroup, unitId: number, startFt: number): PlacedAxle[] {
  return Array.from({ length: group.axles }, (_, i) => ({
    groupId: group.groupId,
    unitId,
    positionFt: startFt + i * (spacingFt ?? 0),
  }))
}

function gapsOf(unit: UnitPlace, { group, startFt, spacingFt }: PlacedGroup): RulerGap[] {
  const gaps: RulerGap[] = []
  const from = unit.kind === 'trailer' ? phrase('the kingpin') : phrase('the front axle')
  const name = `${unit.unit} ${group.group}`
  if (startFt === null) {
    gaps.push({
      unitId: unit.unitId,
      groupId: group.groupId,
      reason: 'no first axle',
      message: phrase('{name}: the distance of its first axle behind {from} is not recorded.', {
        name,
        from,
      }),
    })
  }
  if (spacingFt === null) {
    gaps.push({
      unitId: unit.unitId,
      groupId: group.groupId,
      reason: 'no axle spacing',
      message: phrase('{name}: the spacing of its {axles} axles is not recorded.', { name, axles: group.axles }),
    })
  }
  return gaps
}

/** Whether the unit's axles can be tied to what stands before it, and if not, why. */
function coupling(units: readonly UnitPlace[], index: number): { kingpinFt: number } | RulerGap {
  const unit = units[index] as UnitPlace
  const ahead = units[index - 1] as UnitPlace
  if (index > 1 || ahead.kind === 'trailer') {
    return {
      unitId: unit.unitId,
      groupId: null,
      reason: 'trailer behind a trailer',
      message: phrase('{unit} runs behind trailer {unit2}: the distance between the two is not recorded.', {
        unit: unit.unit,
        unit2: ahead.unit,
      }),
    }
  }
  if (ahead.fifthWheelFt === null) {
    return {
      unitId: ahead.unitId,
      groupId: null,
      reason: 'no fifth wheel',
      message: phrase(
        '{unit}: the distance of its fifth wheel behind the front axle is not recorded, so {unit2} cannot be placed.',
        { unit: ahead.unit, unit2: unit.unit },
      ),
    }
  }
  return { kingpinFt: ahead.fifthWheelFt }
}

function liftGaps(unit: UnitPlace, lift: LiftState | null): RulerGap[] {
  if (lift !== null) return []
  return unit.groups
    .filter(({ role }) => role === 'lift')
    .map(({ groupId, group }) => ({
      unitId: unit.unitId,
      groupId,
      reason: 'lift state unknown',
      message: phrase('{unit} {group}: it is counted as standing on the road; the lift state is not recorded.', {
        unit: unit.unit,
        group,
      }),
    }))
}

/**
 * Puts the axles of a combination on one ruler in feet, zero at the front axle of the tractor or truck: its own axles
 * at first_axle_ft + i · axle_spacing_ft, the first trailer's kingpin at fifth_wheel_ft, its axles behind that.
 *
 * Nothing is guessed. A distance that is not on record is a gap: a unit with a gap gives each of its groups a stretch
 * of its own, and what follows starts anew, so no stretch ever skips an axle that may stand within it. Units in the
 * order in which they are coupled. Lift axles that are raised are off the road; with the lift state unknown they are
 * counted and a gap says so.
 */
export function placeAxles(units: readonly UnitPlace[], lift: LiftState | null): Ruler {
  const stretches: { readonly zero: Stretch['zero']; readonly axles: PlacedAxle[] }[] = []
  const gaps: RulerGap[] = []
  let axles = 0
  let continues = false
  for (const [index, unit] of units.entries()) {
    const coupled = index === 0 ? null : coupling(units, index)
    const isTied = coupled === null ? unit.kind !== 'trailer' : 'kingpinFt' in coupled
    const zeroFt = coupled !== null && 'kingpinFt' in coupled ? coupled.kingpinFt : 0
    if (coupled !== null && 'reason' in coupled) gaps.push(coupled)
    if (!isTied) continues = false

    const groups = unit.groups
      .filter(({ role }) => role !== 'lift' || lift !== 'raised')
      .map(
        (group): PlacedGroup => ({
          group,
          startFt: startOf(unit, group),
          spacingFt: group.axles === 1 ? 0 : group.axleSpacingFt,
        }),
      )
    for (const { group } of groups) axles += group.axles
    const missing = groups.flatMap((group) => gapsOf(unit, group))
    gaps.push(...liftGaps(unit, lift), ...missing)

    if (missing.length > 0) {
      for (const group of groups) {
        if (group.spacingFt !== null)
          stretches.push({ zero: 'first axle of the group', axles: axlesOf(group, unit.unitId, 0) })
      }
      continues = false
      continue
    }
    if (!continues) stretches.push({ zero: isTied ? 'front axle' : 'kingpin', axles: [] })
    stretches
      .at(-1)
      ?.axles.push(...groups.flatMap((group) => axlesOf(group, unit.unitId, zeroFt + (group.startFt ?? 0))))
    continues = true
  }
  for (const stretch of stretches) stretch.axles.sort((a, b) => a.positionFt - b.positionFt)
  return { stretches: stretches.filter((stretch) => stretch.axles.length > 0), gaps, axles }
}
