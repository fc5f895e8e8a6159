import { parseArgs } from 'node:util'
import { columnsOf } from '#core/evidence/state/columns.ts'
import { lineState } from '#core/evidence/state/line-state.ts'
import { sinceWhen } from '#core/evidence/state/best-weight.ts'
import { filterPass, passFor, plainCourse } from '#core/evidence/state/passes.ts'
import type { FleetFigures } from '#core/evidence/state/learn-fleet.ts'
import { sitesFor } from '#core/evidence/state/sites.ts'
import { opinionOf, suspectedAt, suspicionOf } from '#core/evidence/state/troubles.ts'
import { Random } from '#demo/simulation/random.ts'
import { learnWorld } from '#tests/bed/score-lines.ts'
import {
  type LineFault,
  type LineWorld,
  type SimulatedLine,
  drawScales,
  ordinaryWorld,
  seriesOf,
  simulateLine,
} from '#tests/bed/simulate-lines.ts'

/** The engine's alarm after every check, and an oracle's sum that knows the size and sign of what may come. */
interface Run {
  readonly engine: readonly number[]
  readonly oracle: readonly number[]
  /** Checks since the fault began, 1 for the first; 0 before it. */
  readonly since: readonly number[]
}

function run(line: SimulatedLine, { noise: { fleet: noise }, priors }: FleetFigures, sign: number): Run {
  const series = seriesOf(line)
  const normal = { ...noise, tailShare: 0 }
  const columns = columnsOf(series, normal, { ...priors, wildShare: 0 })
  const { mean, variance } = filterPass(
    columns,
    plainCourse,
    columns.prior,
    false,
    sitesFor(columns.size),
    false,
    passFor(columns.size),
  )
  const ofCalibration = line.calibrations[0] ?? []
  const firstCheck = ofCalibration.length + 1
  // What changed before the line was made is in it.
  const lastPointAt = line.points[ofCalibration.at(-1) ?? 0]?.at ?? Number.NEGATIVE_INFINITY
  const window = { after: lastPointAt, until: Number.POSITIVE_INFINITY }
  const engine: number[] = []
  const oracle: number[] = []
  const since: number[] = []
  let sum = 0
  let passed = 0
  for (let i = firstCheck; i < columns.size; i += 1) {
    const miss = (columns.weight[i] as number) - (mean[i] as number)
    const s2 = (variance[i] as number) + (columns.varOrdinary[i] as number)
    // ln of the likelihood ratio of a shift of 1,000 lb of the known sign against none.
    sum = Math.max(0, sum + (sign * 1_000 * miss - 500_000) / s2)
    const at = line.points[i]?.at as number
    if (at > line.faultAt) passed += 1
    oracle.push(sum)
    since.push(passed)
    const upTo = { ...series, points: series.points.slice(0, i + 1) }
    const state = lineState(upTo, noise, priors)
    engine.push(suspicionOf(sinceWhen(state, window), opinionOf(state, state.columns.size - 1)))
  }
  return { engine, oracle, since }
}

function runs(world: LineWorld, fault: LineFault | null, lines: number, seed: string): Run[] {
  const random = new Random(`${seed}/${fault}`)
  const figures = learnWorld(world, 240, seed)
  return Array.from({ length: lines }, (_, k) => {
    const own = random.fork(String(k))
    const line = simulateLine(world, fault, drawScales(own), own)
    // A sensor that reads more makes the ticket lie below the line.
    return run(line, figures, line.offsetPsi === 0 ? own.sign() : -Math.sign(line.offsetPsi))
  })
}

const greatest = (values: readonly number[]): number => values.reduce((a, b) => Math.max(a, b), 0)

/** Mean number of checks from the start of the fault to the alarm; one never flagged counts as all of its checks. */
function meanDelay(faulty: readonly Run[], of: (run: Run) => readonly number[], limit: number): number {
  let sum = 0
  for (const each of faulty) {
    const values = of(each)
    const place = values.findIndex((value, i) => (each.since[i] as number) > 0 && value > limit)
    sum += place < 0 ? greatest(each.since) : (each.since[place] as number)
  }
  return sum / faulty.length
}

if (import.meta.main) {
  const { values } = parseArgs({
    options: { lines: { type: 'string', default: '200' }, seed: { type: 'string', default: '1' } },
  })
  const clean = runs(ordinaryWorld, null, Number(values.lines) * 3, values.seed)
  const faulty = runs(ordinaryWorld, 'offset-1000-lb', Number(values.lines), values.seed)
  for (const limit of [0.3, suspectedAt, 0.5, 0.7, 0.9]) {
    const false_ = clean.filter(({ engine }) => greatest(engine) > limit).length / clean.length
    const sums = clean.map(({ oracle }) => greatest(oracle)).toSorted((a, b) => b - a)
    const oracleLimit = sums[Math.round(false_ * clean.length)] ?? 0
    const engine = meanDelay(faulty, (each) => each.engine, limit)
    const oracle = meanDelay(faulty, (each) => each.oracle, oracleLimit)
    console.log(
      `alarm above ${limit}: clean lines ever alarmed ${(100 * false_).toFixed(1)} %, checks to flag ${engine.toFixed(2)}, oracle ${oracle.toFixed(2)} (limit ${oracleLimit.toFixed(1)}), ratio ${(engine / oracle).toFixed(2)}`,
    )
  }
}
