import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { dayMs } from '#demo/simulation/clock.ts'
import { type DelayScore, type Look, scoreDelay } from '#tests/bed/delay.ts'
import { type KindScore, feedFleet } from '#tests/bed/feed-lines.ts'
import { type Judge, judgeByCommand, judgeHere } from '#tests/bed/judge.ts'
import {
  alarmLines,
  cleanLines,
  delayLines,
  missedLines,
  percent,
  scaleLines,
  scoreLines,
  weightLines,
} from '#tests/bed/print-scores.ts'
import { addScores, type BedScore, scoreFindings } from '#tests/bed/score.ts'
import { addScaleScores, type ScaleScore, scoreScales } from '#tests/bed/score-scales.ts'
import { type WeightScore, addWeightScores, scoreWeights } from '#tests/bed/score-weights.ts'
import { type BedSettings, everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import type { FleetTruth } from '#tests/bed/truth.ts'
import { type World, worldNames, worlds } from '#tests/bed/worlds.ts'

type Settings = Omit<BedSettings, 'folder'>
type Summon = (folder: string) => Promise<Judge>

/** Simulates a fleet, lets the product look at it, and hands on what is true. */
async function withFleet<T>(
  settings: Settings,
  summon: Summon,
  use: (judge: Judge, truth: FleetTruth) => Promise<T>,
): Promise<T> {
  const home = mkdtempSync(join(tmpdir(), 'tareline-bed-'))
  try {
    const folder = join(home, 'fleet')
    const truth = simulateFleet({ ...settings, folder })
    const judge = await summon(folder)
    try {
      return await use(judge, truth)
    } finally {
      await judge.close()
    }
  } finally {
    rmSync(home, { recursive: true, force: true })
  }
}

interface FleetsScore {
  readonly findings: BedScore
  readonly scales: ScaleScore
}

async function scoreFleets(fleets: readonly Settings[], summon: Summon): Promise<FleetsScore> {
  const scores: BedScore[] = []
  const scaleScores: ScaleScore[] = []
  for (const settings of fleets) {
    await withFleet(settings, summon, async (judge, truth) => {
      const { findings, trust, scales } = await judge.on(truth.lastDay)
      scores.push(scoreFindings(truth, findings, trust))
      scaleScores.push(scoreScales(truth, scales))
    })
  }
  return { findings: addScores(scores), scales: addScaleScores(scaleScores) }
}

/** What all scales of a fleet have in common moves their biases together: it takes many fleets to see how often. */
const scaleFleets = (seed: string): Settings[] =>
  Array.from({ length: 10 }, (_, i) => ({
    seed: `scales ${seed} ${i}`,
    units: 80,
    months: 12,
    faults: i % 2 === 0 ? {} : everyFault(2),
  }))

interface WeighedFleets {
  /** By all that is on record at the end. */
  readonly now: ReadonlyMap<string, WeightScore>
  /** By what was known when they were taken. */
  readonly onTheirDays: ReadonlyMap<string, WeightScore>
}

/** Days, every so many before the last, on which it is asked what the readings of the last few days weigh. */
interface AskedDays {
  readonly days: number
  readonly everyDays: number
  /** How many days the readings asked about reach back. */
  readonly reachDays: number
}

/** What the readings of some days weighed on those days, by `weigh --as-of`. */
async function weighedThen(
  judge: Judge,
  truth: FleetTruth,
  { days, everyDays, reachDays }: AskedDays,
): Promise<Map<string, WeightScore>[]> {
  const last = Date.parse(`${truth.lastDay}T00:00:00Z`)
  const scores: Map<string, WeightScore>[] = []
  for (let i = days - 1; i >= 0; i -= 1) {
    const day = last - i * everyDays * dayMs
    const span = { day: new Date(day).toISOString().slice(0, 10), after: day - (reachDays - 1) * dayMs }
    scores.push(scoreWeights(truth, await judge.weights(span)))
  }
  return scores
}

/** What readings of fleets with every fault weigh, and of clean ones. */
async function weighFleets(seeds: readonly string[], summon: Summon, world: World): Promise<WeighedFleets> {
  const now: Map<string, WeightScore>[] = []
  const onTheirDays: Map<string, WeightScore>[] = []
  for (const seed of seeds) {
    for (const faults of [everyFault(8), {}]) {
      const settings = {
        seed: `weights ${seed}`,
        units: 300,
        months: 24,
        faults,
        readingsPerDay: 0.12,
        ...worlds[world],
      }
      await withFleet(settings, summon, async (judge, truth) => {
        now.push(scoreWeights(truth, await judge.weights()))
        onTheirDays.push(...(await weighedThen(judge, truth, { days: 24, everyDays: 10, reachDays: 3 })))
      })
    }
  }
  return { now: addWeightScores(now), onTheirDays: addWeightScores(onTheirDays) }
}

const weighedLines = ({ now, onTheirDays }: WeighedFleets): string[] => [
  'Weights by all that is on record',
  ...weightLines(now),
  '',
  'Weights as of the days they were taken on',
  ...weightLines(onTheirDays),
]

/** Fleets of some fifty sensed groups each, as most are: what is learnt of them is learnt from little. */
async function runSmallFleets(seeds: readonly string[], summon: Summon, world: World): Promise<string[]> {
  const findings: BedScore[] = []
  const scales: ScaleScore[] = []
  const now: Map<string, WeightScore>[] = []
  const onTheirDays: Map<string, WeightScore>[] = []
  for (const seed of seeds) {
    for (let i = 0; i < 4; i += 1) {
      const settings = {
        seed: `small ${seed} ${i}`,
        units: 60,
        months: 20,
        faults: i % 4 === 3 ? {} : everyFault(1),
        readingsPerDay: 0.15,
        ...worlds[world],
      }
      await withFleet(settings, summon, async (judge, truth) => {
        const said = await judge.on(truth.lastDay)
        findings.push(scoreFindings(truth, said.findings, said.trust))
        scales.push(scoreScales(truth, said.scales))
        now.push(scoreWeights(truth, await judge.weights()))
        onTheirDays.push(...(await weighedThen(judge, truth, { days: 5, everyDays: 40, reachDays: 14 })))
      })
    }
  }
  const all = addScores(findings)
  return [
    `Small fleets, ${world} world`,
    ...scoreLines(all),
    '',
    'Scales',
    ...scaleLines(addScaleScores(scales)),
    '',
    ...weighedLines({ now: addWeightScores(now), onTheirDays: addWeightScores(onTheirDays) }),
    '',
    'Missed',
    ...missedLines(all),
    '',
    'Alarms on clean groups',
    ...alarmLines(all),
  ]
}

/**
 * Offsets worth 1,000 lb that begin about twelve weeks before the end, looked at every third day since shortly before.
 */
function measureDelay(seed: string, summon: Summon): Promise<DelayScore> {
  return withFleet(
    { seed, units: 320, months: 18, faults: { 'offset-1000-lb': 130 } },
    summon,
    async (judge, truth) => {
      const last = Date.parse(`${truth.lastDay}T23:59:59.999Z`)
      const looks: Look[] = []
      for (let daysAgo = 87; daysAgo >= 0; daysAgo -= 3) {
        const asOf = last - daysAgo * dayMs
        looks.push({ asOf, findings: (await judge.on(new Date(asOf).toISOString().slice(0, 10))).findings })
      }
      return scoreDelay(truth, looks)
    },
  )
}

export interface BedOptions {
  readonly seeds: readonly string[]
  readonly summon?: Summon
  readonly delay?: boolean
  readonly weights?: boolean
  readonly world?: World
  /** Lists every planted fault that nothing names and every alarm on a clean group. */
  readonly verbose?: boolean
}

/**
 * Runs the test bed over some seeds: fleets with every fault, clean fleets, and the delay. Answers the lines to print.
 */
export async function runTestBed({
  seeds,
  summon = judgeByCommand,
  delay = true,
  weights = true,
  world = 'ordinary',
  verbose = false,
}: BedOptions): Promise<string[]> {
  const own = worlds[world]
  const faulty = await scoreFleets(
    seeds.map((seed) => ({ seed: `faults ${seed}`, units: 600, months: 24, faults: everyFault(16), ...own })),
    summon,
  )
  const clean = await scoreFleets(
    seeds.map((seed) => ({ seed: `clean ${seed}`, units: 400, months: 24, faults: {}, ...own })),
    summon,
  )
  const small = await scoreFleets(
    seeds.flatMap(scaleFleets).map((settings) => ({ ...settings, ...own })),
    summon,
  )
  const lines = [
    `Fleets with planted faults, ${world} world`,
    ...scoreLines(faulty.findings),
    '',
    'Clean fleets',
    ...cleanLines(clean.findings),
  ]
  const { held, readings } = (await feedFleet(`coverage ${seeds[0] ?? ''}`, false, 200, world)).get(
    'clean',
  ) as KindScore
  lines.push(
    `95 % intervals of clean groups' weights that hold the truth: ${percent(held, readings)}   wanted: 92 to 97 %`,
    '',
    'Scales, of these fleets and many small ones',
    ...scaleLines(addScaleScores([faulty.scales, clean.scales, small.scales])),
  )
  if (delay) lines.push('', 'Delay', ...delayLines(await measureDelay(`delay ${seeds[0] ?? ''}`, summon)))
  if (weights) lines.push('', ...weighedLines(await weighFleets(seeds, summon, world)))
  if (verbose)
    lines.push(
      '',
      'Missed',
      ...missedLines(faulty.findings),
      '',
      'Alarms on clean groups',
      ...alarmLines(faulty.findings),
      ...alarmLines(clean.findings),
    )
  return lines
}

if (import.meta.main) {
  const { values } = parseArgs({
    options: {
      seeds: { type: 'string', default: '3' },
      first: { type: 'string', default: '1' },
      verbose: { type: 'boolean', default: false },
      here: { type: 'boolean', default: false },
      'no-delay': { type: 'boolean', default: false },
      'no-weights': { type: 'boolean', default: false },
      'weights-alone': { type: 'boolean', default: false },
      /** Small fleets in place of the large ones. */
      small: { type: 'boolean', default: false },
      /** One of `worldNames`, or all of them. */
      world: { type: 'string', default: 'ordinary' },
    },
  })
  const seeds = Array.from({ length: Number(values.seeds) }, (_, i) => String(Number(values.first) + i))
  const summon = values.here ? judgeHere : judgeByCommand
  const chosen = worldNames.filter((name) => values.world === name || values.world === 'all')
  if (chosen.length === 0)
    throw new RangeError(`no world is called ${values.world}; there are ${worldNames.join(', ')}`)
  for (const world of chosen) {
    const lines = values.small
      ? await runSmallFleets(seeds, summon, world)
      : values['weights-alone']
        ? weighedLines(await weighFleets(seeds, summon, world))
        : await runTestBed({
            seeds,
            world,
            verbose: values.verbose,
            delay: !values['no-delay'],
            weights: !values['no-weights'],
            summon,
          })
    for (const line of lines) console.log(line)
  }
}
