import { parseArgs } from 'node:util'
import { sinceWhen, weightAt } from '#core/evidence/state/best-weight.ts'
import { columnsOf } from '#core/evidence/state/columns.ts'
import { type LineState, lineState } from '#core/evidence/state/line-state.ts'
import { defaultChangePriors, lineNoiseOf } from '#core/evidence/state/prior-rules.ts'
import { opinionOf, suspectedAt } from '#core/evidence/state/troubles.ts'
import type { LineNoise } from '#core/evidence/state/series.ts'
import { mixtureQuantile, probabilityAbove } from '#core/evidence/state/weight-mixture.ts'
import { type FleetFigures, learnFleet } from '#core/evidence/state/learn-fleet.ts'
import {
  type TemperatureEffect,
  atReference,
  seriesAtReference,
  temperatureEffect,
  temperatureSign,
} from '#core/evidence/state/temperature.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { fitLine } from '#core/line/fit.ts'
import { Random } from '#demo/simulation/random.ts'
import {
  type LineFault,
  type LineWorld,
  type SimulatedLine,
  drawScales,
  lineFaults,
  ordinaryWorld,
  seriesOf,
  simulateLine,
} from '#tests/bed/simulate-lines.ts'

const resolutionVar = 0.01 / 12

/** Spread of one pressure in psi, tail included. */
const uReading = ({ levelingPsi, tailShare, tailScale }: LineNoise): number =>
  levelingPsi * Math.sqrt(1 - tailShare + tailShare * tailScale * tailScale + resolutionVar / levelingPsi ** 2)

/** The weight that the line of the newest calibration before a reading gives. */
function lineWeight(line: SimulatedLine, at: number, psi: number): number | null {
  const places = line.calibrations.findLast(
    (of) => of.length > 0 && (line.points[of.at(-1) as number]?.at as number) < at,
  )
  if (places === undefined) return null
  const fit = fitLine(
    places.map((place) => {
      const point = line.points[place] as SimulatedLine['points'][number]
      return { x: point.psi, y: point.weightLb, ux: 0.4, uy: 40 }
    }),
  )
  return fit.ok ? fit.value.a + fit.value.b * psi : null
}

interface Tally {
  readings: number
  held: number
  square: number
  lineSquare: number
  sure: number
  wrong: number
}
const tally = (): Tally => ({ readings: 0, held: 0, square: 0, lineSquare: 0, sure: 0, wrong: 0 })

function read(
  state: LineState,
  noise: LineNoise,
  effect: TemperatureEffect,
  line: SimulatedLine,
  from: number,
  into: Tally,
): void {
  const u = uReading(noise)
  for (const { at, psi: shownPsi, degreesF, trueLb } of line.readings) {
    if (at < from) continue
    const { psi, variance } = atReference(effect, shownPsi, degreesF)
    const by = lineWeight(line, at, shownPsi)
    if (by === null) continue
    const mixture = weightAt(state, at, psi, Math.sqrt(u * u + variance))
    const low = mixtureQuantile(mixture, 0.025)
    const high = mixtureQuantile(mixture, 0.975)
    const over = probabilityAbove(mixture, line.limitLb)
    into.readings += 1
    if (trueLb >= low && trueLb <= high) into.held += 1
    into.square += (mixture.weightLb - trueLb) ** 2
    into.lineSquare += (by - trueLb) ** 2
    if (over >= 0.95 || over <= 0.05) {
      into.sure += 1
      if (over >= 0.95 !== trueLb > line.limitLb) into.wrong += 1
    }
  }
}

/** What would be said of a line: that it changed, or that one of its weighings is a slip or wild. */
function troubles(state: LineState): { change: number; slip: number; wild: number } {
  const all = Array.from({ length: state.columns.size }, (_, place) => opinionOf(state, place))
  return {
    change: sinceWhen(state)?.probability ?? 0,
    slip: Math.max(...all.map(({ slip }) => slip)),
    wild: Math.max(...all.map(({ wild }) => wild)),
  }
}

interface KindScore extends Tally {
  lines: number
  named: number
  dated: number
  within: number
  inside: number
  suspects: number
}

const kindScore = (): KindScore => ({ ...tally(), lines: 0, named: 0, dated: 0, within: 0, inside: 0, suspects: 0 })

/** What the House Rules say before anything is learnt. */
const rulesNoise: LineNoise = {
  ...lineNoiseOf(defaultHouseRules),
  levelingPsi: defaultHouseRules.levelingPsi,
  wanderPsi: defaultHouseRules.wanderPsi,
}

/** Learns a fleet's figures as the app would: from lines of which one in eight has something wrong. */
export function learnWorld(world: LineWorld, lines: number, seed: string): FleetFigures {
  const random = new Random(`${seed}/teachers`)
  const scales = drawScales(random)
  const teachers = Array.from({ length: lines }, (_, k) => {
    const line = simulateLine(world, k % 8 === 0 ? random.pick(lineFaults) : null, scales, random.fork(String(k)))
    return { series: seriesOf(line), kind: undefined, degreesF: line.points.map(({ degreesF }) => degreesF) }
  })
  return learnFleet(teachers, rulesNoise, defaultChangePriors)
}

export function scoreKind(
  world: LineWorld,
  figures: FleetFigures,
  fault: LineFault | null,
  lines: number,
  seed: string,
): KindScore {
  const random = new Random(`${seed}/${fault}`)
  const noise = figures.noise.fleet
  const score = kindScore()
  for (let k = 0; k < lines; k += 1) {
    const own = random.fork(String(k))
    const line = simulateLine(world, fault, drawScales(own), own)
    const degreesF = line.points.map((point) => point.degreesF)
    const given = seriesOf(line)
    const effect = temperatureEffect(
      temperatureSign(columnsOf(given, noise, figures.priors), degreesF),
      figures.temperature,
    )
    const state = lineState(seriesAtReference(given, degreesF, effect), noise, figures.priors)
    score.lines += 1
    const isStep = fault === 'offset' || fault === 'slope' || fault === 'offset-1000-lb'
    read(state, noise, effect, line, isStep || fault === 'drift' ? line.faultAt : 0, score)
    const { change, slip, wild } = troubles(state)
    if (fault === null ? change > suspectedAt || slip > 0.9 || wild > 0.9 : true) score.suspects += 1
    const since = sinceWhen(state)
    if (isStep || fault === 'drift') {
      if (change > 0.5) score.named += 1
      if (since !== null && change > 0.5) {
        score.dated += 1
        const place = (at: number) => line.points.filter((point) => point.at <= at).length
        if (Math.abs(place(since.at) - place(line.faultAt)) <= 1) score.within += 1
        if (line.faultAt >= since.from && line.faultAt <= since.until) score.inside += 1
      }
    } else if (fault !== null) {
      if (line.slipped < 0) score.lines -= 1
      else {
        const { slip: typed, wild: odd } = opinionOf(state, line.slipped)
        if (typed + odd > 0.5) score.named += 1
        if (change > 0.5) score.dated += 1
      }
    }
  }
  return score
}

const percent = (a: number, b: number): string => (b === 0 ? '-' : `${((100 * a) / b).toFixed(1)} %`)

export function scoreLines(world: LineWorld, name: string, lines: number, seed: string): string[] {
  const figures = learnWorld(world, 240, `${name}/${seed}`)
  const { fleet } = figures.noise
  const out = [
    `${name}, seed ${seed}: leveling ${fleet.levelingPsi.toFixed(3)}, wander ${fleet.wanderPsi.toFixed(3)}, tails ${percent(fleet.tailShare, 1)}, a year offsets ${figures.priors.offsetsPerYear.toFixed(3)}, slopes ${figures.priors.slopesPerYear.toFixed(3)}, drifts ${figures.priors.driftsPerYear.toFixed(3)}, wild ${percent(figures.priors.wildShare, 1)}, weather ${figures.temperature.share.toFixed(2)} of ${figures.temperature.spread.toFixed(3)} psi a degree`,
  ]
  for (const fault of [null, 'offset', 'slope', 'drift', 'transposed', 'swapped', 'kPa'] as const) {
    const s = scoreKind(world, figures, fault, lines, `${name}/${seed}`)
    out.push(
      `${(fault ?? 'clean').padEnd(12)} coverage ${percent(s.held, s.readings)}, rms ${Math.sqrt(s.square / s.readings).toFixed(0)} lb, ` +
        `to the line ${Math.sqrt(s.square / s.lineSquare).toFixed(2)}, sure ${percent(s.sure, s.readings)} wrong ${percent(s.wrong, s.sure)}, ` +
        (fault === null
          ? `alarms ${percent(s.suspects, s.lines)}`
          : `named ${percent(s.named, s.lines)}, within one ${percent(s.within, s.dated)}, inside ${percent(s.inside, s.dated)}`),
    )
  }
  return out
}

if (import.meta.main) {
  const { values } = parseArgs({
    options: { lines: { type: 'string', default: '300' }, seeds: { type: 'string', default: '2' } },
  })
  for (let seed = 1; seed <= Number(values.seeds); seed += 1) {
    for (const [name, world] of [
      ['ordinary', ordinaryWorld],
      ['temperature', { ...ordinaryWorld, psiPerDegree: 0.03 }],
      ['heavy tails', { ...ordinaryWorld, tailShare: 0.05 }],
    ] as const)
      for (const line of scoreLines(world, name, Number(values.lines), String(seed))) console.log(line)
  }
}
