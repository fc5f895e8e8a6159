import type { WeighedRow } from '#tests/bed/reports.ts'
import type { FleetTruth } from '#tests/bed/truth.ts'

/** How weights of one way of weighing fared. */
interface Tally {
  weights: number
  held: number
  square: number
  sure: number
  wrong: number
}

/** The weights of all groups with one kind of fault, since it began: the best ones, and what the lines read. */
export interface WeightScore {
  readonly best: Tally
  readonly line: Tally
}

const tally = (): Tally => ({ weights: 0, held: 0, square: 0, sure: 0, wrong: 0 })
/** Half-width of a 95 % interval in standard uncertainties. */
const factor95 = 1.959964

function count(into: Tally, truthLb: number, weightLb: number, uLb: number): void {
  into.weights += 1
  into.square += (weightLb - truthLb) ** 2
  if (Math.abs(weightLb - truthLb) <= factor95 * uLb) into.held += 1
}

/** Scores what `weigh --json` says of sensed groups against what truly stood on them, by the kind of their fault. */
export function scoreWeights(truth: FleetTruth, rows: Iterable<WeighedRow>): Map<string, WeightScore> {
  const faultOf = new Map(
    truth.planted.flatMap(({ unit, group, kind, startedAt }) =>
      unit === null || group === null ? [] : [[`${unit} ${group}`, { kind, from: Date.parse(startedAt) }] as const],
    ),
  )
  const truthOf = new Map(truth.weighings.map(({ reading, groups }) => [reading, groups]))
  const scores = new Map<string, WeightScore>()
  for (const { reading, taken_at, groups } of rows) {
    for (const row of groups) {
      const truthLb = truthOf
        .get(reading)
        ?.find(({ unit, group }) => unit === row.unit && group === row.group)?.weightLb
      const fault = faultOf.get(`${row.unit} ${row.group}`)
      if (truthLb === undefined || (fault !== undefined && Date.parse(taken_at) < fault.from)) continue
      if (row.source !== 'line' && row.source !== 'provisional') continue
      const kind = fault?.kind ?? 'clean'
      const score = scores.get(kind) ?? { best: tally(), line: tally() }
      scores.set(kind, score)
      const { weight_lb: weightLb, u_lb: uLb, line_weight_lb: lineLb, u_line_lb: uLineLb } = row
      if (weightLb === null || uLb === null) continue
      count(score.best, truthLb, weightLb, uLb)
      if (lineLb !== null && uLineLb !== null) count(score.line, truthLb, lineLb, uLineLb)
      if (row.verdict === 'too close to call' || row.verdict === null) continue
      score.best.sure += 1
      if ((row.verdict === 'over') !== truthLb > row.limit_lb) score.best.wrong += 1
    }
  }
  return scores
}

/** The scores of several fleets as one. */
export function addWeightScores(all: readonly ReadonlyMap<string, WeightScore>[]): Map<string, WeightScore> {
  const sums = new Map<string, WeightScore>()
  for (const scores of all) {
    for (const [kind, { best, line }] of scores) {
      const sum = sums.get(kind) ?? { best: tally(), line: tally() }
      sums.set(kind, sum)
      for (const key of Object.keys(best) as (keyof Tally)[]) {
        sum.best[key] += best[key]
        sum.line[key] += line[key]
      }
    }
  }
  return sums
}
