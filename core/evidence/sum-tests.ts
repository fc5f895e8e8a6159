import { divisionOf, ticketUncertaintyLb } from '#core/evidence/calibrate.ts'
import type { GroupHistory, Observation, SharedWeight } from '#core/evidence/history.ts'
import { type GroupLine, type GroupLines, lineAt } from '#core/evidence/line-in-use.ts'
import { effectOf, linesOf } from '#core/evidence/line-life.ts'
import { readPressure } from '#core/evidence/read-pressure.ts'
import { ownPartsAt, readerOf } from '#core/evidence/state/best-weight.ts'
import {
  type GroupStates,
  type LifeState,
  type StateFacts,
  groupStates,
  lifeAt,
} from '#core/evidence/state/life-states.ts'
import { atReference } from '#core/evidence/state/temperature.ts'
import { type MixturePart, addParts, mixtureOf, probabilityAbove } from '#core/evidence/state/weight-mixture.ts'
import { standardNormalCdf } from '#core/line/statistics.ts'

/**
 * What one weight of two groups on one platform tells: their best weights together are held against it. It tests each
 * of the two lines by what it leaves once the other's best weight is taken off, so both miss by the same and neither
 * alone can be blamed; no line is calibrated by it, no best weight moves by it, and no slip is named of it.
 */
export interface SumTest {
  readonly at: number
  readonly readingId: number
  readonly ticketId: number
  readonly scaleId: number
  readonly withGroupId: number
  /** As printed, lb. */
  readonly sumLb: number
  /** What both groups' best weights together would have this scale show, lb. */
  readonly expectedLb: number
  /** What it leaves for this group once the other's best weight is taken off, lb. */
  readonly leftLb: number
  /** Scale less what was expected, lb. */
  readonly missLb: number
  /** Variance of this weighing alone: its ticket, and both groups' resolution and settling; lb². */
  readonly varOwnLb2: number
  /** Variance of the two lines and of the scales, which the next such weighing shares; lb². */
  readonly varSharedLb2: number
  /** Probability that noise alone, tails and all, makes it miss by as much to either side. */
  readonly chance: number
  /** Whether both groups have been weighed apart since: then that answers it. */
  readonly answered: boolean
}

/** Standard uncertainty of the miss, lb. */
export const uMissOf = ({ varOwnLb2, varSharedLb2 }: SumTest): number => Math.sqrt(varOwnLb2 + varSharedLb2)

/** What testing by sums needs of the whole record: the history of another group of the unit. */
export interface SumFacts extends StateFacts {
  readonly historyOf: (groupId: number) => GroupHistory | undefined
}

/** A group as it is weighed in sums: its lines, and what all its weighings say of them. */
interface Weighable {
  readonly history: GroupHistory
  readonly lines: GroupLines['lines']
  readonly states: GroupStates
}

/** A group's best weight at one observation, apart from its settling. */
interface Look {
  readonly life: LifeState
  readonly parts: readonly MixturePart[]
  readonly meanLb: number
  /** Variance of an ordinary settling, lb². */
  readonly settlingLb2: number
  /** Variance of the resolution of its sensors, lb². */
  readonly resolutionLb2: number
}

/** The line that a group is weighed by at an observation: one that work has broken still says in which lift state. */
function weighedBy({ lines }: Weighable, observation: Observation): GroupLine | undefined {
  const found = lineAt(lines, observation)
  if (!('reason' in found)) return found
  return found.reason === 'upset' ? found.line : undefined
}

function lookAt(group: Weighable, observation: Observation, { rules }: SumFacts): Look | undefined {
  const line = weighedBy(group, observation)
  const life = line && lifeAt(group.states, line.lift, observation)
  if (life === undefined) return undefined
  const read = readPressure(group.history, life.line, observation, rules.pressureResolutionPsi)
  if ('reason' in read) return undefined
  const { psi, variance } = atReference(life.weather, read.psi, observation.temperatureF)
  const parts = ownPartsAt(readerOf(life.state), observation.takenAt, psi, 0)
  const slope2 = life.series.slopeLbPerPsi ** 2
  return {
    life,
    parts,
    meanLb: mixtureOf(parts).weightLb,
    settlingLb2: slope2 * life.noise.levelingPsi ** 2,
    resolutionLb2: slope2 * (read.resolutionVarPsi2 + variance),
  }
}

/** The variances that the settling of two groups may have, each an ordinary one or one of the tail. */
function settlings(looks: readonly Look[]): MixturePart[] {
  let parts: MixturePart[] = [{ share: 1, mean: 0, variance: 0 }]
  for (const { settlingLb2, life } of looks) {
    const { tailShare, tailScale } = life.noise
    parts = parts.flatMap(({ share, variance }) => [
      { share: share * (1 - tailShare), mean: 0, variance: variance + settlingLb2 },
      { share: share * tailShare, mean: 0, variance: variance + settlingLb2 * tailScale * tailScale },
    ])
  }
  return parts
}

/**
 * Variance that the scales' own errors bring to the miss: what the sum's scale and those of the lines share cancels.
 */
function scalesLb2({ scaleId, weightLb }: SharedWeight, at: number, looks: readonly Look[], facts: SumFacts): number {
  const errors = new Map([[scaleId, weightLb * effectOf(facts, scaleId, at).u]])
  for (const { life, meanLb } of looks)
    for (const { scaleId: own, u } of life.state.columns.scales) errors.set(own, (errors.get(own) ?? 0) - u * meanLb)
  let variance = 0
  for (const error of errors.values()) variance += error * error
  return variance
}

const weighedAfter = ({ life: { series } }: Look, at: number): boolean => (series.points.at(-1)?.at ?? at) > at

function testBy(shared: SharedWeight, observation: Observation, own: Look, other: Look, facts: SumFacts): SumTest {
  const { readingId, takenAt: at } = observation
  const { ticketId, scaleId, withGroupId, weightLb: sumLb } = shared
  const looks = [own, other]
  const gain = effectOf(facts, scaleId, at).gain
  const shownLb = sumLb * (1 - gain)
  const uTicket = ticketUncertaintyLb(
    divisionOf(facts.scales.get(scaleId), facts.rules),
    facts.rules.ticketRepeatabilityLb,
  )
  const lines = mixtureOf(addParts(own.parts, other.parts, 1))
  const scales = scalesLb2(shared, at, looks, facts)
  const certain = uTicket * uTicket + own.resolutionLb2 + other.resolutionLb2
  const settled = settlings(looks)
  const expected = mixtureOf(
    addParts(lines.parts, settled, 1).map((part) => ({ ...part, variance: part.variance + certain + scales })),
  )
  const above = probabilityAbove(expected, shownLb)
  const missLb = shownLb - expected.weightLb
  return {
    at,
    readingId,
    ticketId,
    scaleId,
    withGroupId,
    sumLb,
    expectedLb: sumLb - missLb,
    leftLb: sumLb - other.meanLb / (1 - gain),
    missLb,
    varOwnLb2: certain + mixtureOf(settled).uLb ** 2,
    varSharedLb2: lines.uLb ** 2 + scales,
    chance: 2 * Math.min(above, 1 - above),
    answered: looks.every((look) => weighedAfter(look, at)),
  }
}

/**
 * The tests of a group's lines by sums, each with the line it tests, in the order of time. What cannot be weighed of
 * either group (no line, a circuit that was not read) tests nothing, nor does anything test a line that work has
 * broken.
 */
export function sumTests(
  history: GroupHistory,
  lines: GroupLines['lines'],
  states: GroupStates,
  facts: SumFacts,
): { readonly line: GroupLine; readonly test: SumTest }[] {
  const others = new Map<number, Weighable | undefined>()
  const otherOf = (groupId: number): Weighable | undefined => {
    if (others.has(groupId)) return others.get(groupId)
    const found = facts.historyOf(groupId)
    const own = found && linesOf(found, facts).lines
    const made = own && {
      history: found,
      lines: own,
      states: groupStates(
        found,
        own.map(({ lift }) => lift),
        facts,
      ),
    }
    others.set(groupId, made)
    return made
  }
  return history.observations.flatMap((observation) => {
    const { together, readingId } = observation
    if (together === undefined) return []
    const line = lineAt(lines, observation)
    const other = otherOf(together.withGroupId)
    const beside = other?.history.observations.find((each) => each.readingId === readingId)
    if ('reason' in line || other === undefined || beside === undefined) return []
    const ownLook = lookAt({ history, lines, states }, observation, facts)
    const otherLook = lookAt(other, beside, facts)
    return ownLook && otherLook ? [{ line, test: testBy(together, observation, ownLook, otherLook, facts) }] : []
  })
}

/** What the sums that nothing has answered say of two lines together. */
export interface SumOutcome {
  /**
   * 'moved': several in a row miss to one side by more than chance. 'missed': the newest one does. 'answered': one did,
   * and both groups have been weighed apart since.
   */
  readonly standing: 'holds' | 'answered' | 'missed' | 'moved'
  /** What it rests on, oldest first; none where it holds. */
  readonly run: readonly SumTest[]
  /** Mean miss of the run, lb, with its standard uncertainty. */
  readonly missLb: number
  readonly uMissLb: number
}

/** The mean miss of some sums: what they share does not average out. */
function meanMiss(run: readonly SumTest[]): Pick<SumOutcome, 'missLb' | 'uMissLb'> {
  let missLb = 0
  let own = 0
  let shared = 0
  for (const test of run) {
    missLb += test.missLb / run.length
    own += test.varOwnLb2 / run.length ** 2
    shared += test.varSharedLb2 / run.length
  }
  return { missLb, uMissLb: Math.sqrt(own + shared) }
}

/** How far a mean miss lies off, in standard uncertainties. */
const distance = ({ missLb, uMissLb }: Pick<SumOutcome, 'missLb' | 'uMissLb'>): number => Math.abs(missLb) / uMissLb

/** Every sum of a run lies to one side by more than its own standard uncertainty: one wild weighing makes no run. */
function toOneSide(run: readonly SumTest[]): boolean {
  const side = Math.sign(run[0]?.missLb ?? 0)
  return run.every((test) => side * test.missLb > uMissOf(test))
}

/**
 * What the sums since a line was calibrated say, oldest first. confidence: in percent, how seldom chance alone may
 * speak up: it is shared out over the runs looked at, which all end with the newest sum.
 */
export function sumOutcome(tests: readonly SumTest[], confidence: number): SumOutcome {
  const allowed = 1 - confidence / 100
  const open = tests.filter(({ answered }) => !answered)
  const runs = open.slice(0, -1).map((_, from) => open.slice(from))
  let best: SumOutcome | undefined
  for (const run of runs) {
    if (!toOneSide(run)) continue
    const mean = meanMiss(run)
    const chance = 2 * standardNormalCdf(-distance(mean))
    if (chance > allowed / runs.length || (best && distance(best) >= distance(mean))) continue
    best = { standing: 'moved', run, ...mean }
  }
  if (best) return best
  const newest = open.at(-1)
  const lone = (standing: 'missed' | 'answered', test: SumTest): SumOutcome => ({
    standing,
    run: [test],
    ...meanMiss([test]),
  })
  if (newest !== undefined && newest.chance < allowed) return lone('missed', newest)
  const before = tests.findLast((test) => test !== newest && test.chance < allowed)
  return before ? lone('answered', before) : { standing: 'holds', run: [], missLb: 0, uMissLb: 0 }
}
