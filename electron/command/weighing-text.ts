import {
  type CombinationWeights,
  cargoAt,
  type JudgedGroup,
  judgedSet,
  targetPsiOf,
} from '#core/weight/combination-weights.ts'
import type { Judgement } from '#core/weight/verdict.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'

const lb = (value: number): string => `${(Math.round(value / 10) * 10).toLocaleString('en-US')} lb`
/** The 95 % half-width of a weight. */
const interval = (uLb: number): string => `± ${lb(1.959964 * uLb)}`
const room = ({ roomLb }: Judgement): string =>
  roomLb >= 0 ? `room for ${lb(roomLb)}` : `${lb(-roomLb)} too much to be sure`
const judged = (weightLb: number, uLb: number, judgement: Judgement): string =>
  `${lb(weightLb).padStart(10)} ${interval(uLb).padStart(9)}  of ${lb(judgement.limitLb)}  ${judgement.verdict}, ${room(judgement)}`

function groupLine(ready: ReadyCombination, place: number, group: JudgedGroup, at: number, width: number): string {
  const name = (ready.plan.groups[place]?.name ?? '').padEnd(width)
  if (!group.weighing.weighed || !group.judgement)
    return `${name}  ${group.weighing.weighed ? '' : group.weighing.message}`
  const target = targetPsiOf(ready, place, group, at)
  return `${name}  ${judged(group.weighing.weightLb, group.weighing.uLb, group.judgement)}${target === null ? '' : `, load to ${target.toFixed(1)} psi`}`
}

/** One reading in full: every group, gross, cargo, and the bridge sets that are not clearly under. */
export function weighingText(
  name: string,
  ready: ReadyCombination,
  reading: CombinationReading,
  weights: CombinationWeights,
): string {
  const { takenAt } = reading
  const width = Math.max(5, ...ready.plan.groups.map((group) => group.name.length))
  const { gross, groups, bridge } = weights
  const { tare, cargo } = cargoAt(ready, weights, takenAt)
  const lines = [
    `Reading ${name} of ${ready.units.map(({ unit }) => unit).join(' with ')}, ${new Date(takenAt).toISOString().slice(0, 16).replace('T', ' ')} UTC`,
    ...groups.map((group, place) => groupLine(ready, place, group, takenAt, width)),
    `${'gross'.padEnd(width)}  ${gross.total && gross.judgement ? judged(gross.total.weightLb, gross.total.uLb, gross.judgement) : `not known: ${gross.missing.length} of ${groups.length} groups were not weighed; the others come to ${lb(gross.weighedLb)}`}`,
    `${'cargo'.padEnd(width)}  ${cargo ? `${lb(cargo.weightLb).padStart(10)} ${interval(cargo.uLb).padStart(9)}` : tare.ok ? 'not known without gross' : tare.problem.message}`,
  ]
  const confidence = ready.plan.rules.verdictConfidencePercent
  for (const i of bridge.sets.keys()) {
    const { set, sum, judgement } = judgedSet(bridge, i, confidence)
    if (!sum || !judgement || judgement.verdict === 'under') continue
    lines.push(
      `bridge, axles ${set.firstAxle} to ${set.lastAxle}, ${set.lengthFt} ft: ${judged(sum.weightLb, sum.uLb, judgement).trim()}`,
    )
  }
  lines.push(
    ...ready.plan.bridge(reading.lift).ruler.gaps.map(({ message }) => message),
    'Onboard weights are not legal for trade; a certified scale and the local authority decide.',
  )
  return lines.join('\n')
}

/** One reading in a line. */
export function weighingLine(name: string, ready: ReadyCombination, { gross, groups }: CombinationWeights): string {
  const weight =
    gross.total && gross.judgement
      ? `gross ${judged(gross.total.weightLb, gross.total.uLb, gross.judgement).trim()}`
      : `gross not known: ${gross.missing.length} of ${groups.length} groups were not weighed`
  return `${name}  ${ready.units.map(({ unit }) => unit).join(' + ')}  ${weight}`
}
