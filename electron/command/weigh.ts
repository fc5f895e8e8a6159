import { type WriteWeighed, weighedStretches, writeJson } from '#core/exchange/documents/weighing-json.ts'
import { ByteText } from '#core/exchange/documents/byte-text.ts'
import { openStore } from '#core/store/open.ts'
import { type WeighedReading, weighNamed } from '#core/store/weigh-each.ts'
import {
  type CombinationWeights,
  type JudgedGroup,
  cargoAt,
  judgedSet,
  targetPsiOf,
} from '#core/weight/combination-weights.ts'
import type { WeightSum } from '#core/weight/correlated.ts'
import type { Judgement } from '#core/weight/verdict.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import { localTimeOf } from '#core/words/day.ts'
import { TarelineError } from '#core/words/problem.ts'
import { sayStored } from '#core/words/say.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'
import { type Command, Parts, dbOption, withStore } from '#electron/command/command.ts'

/** Weights have no zone. */
const { weight: lb, plusMinus: interval } = sayStored('UTC')
const room = ({ roomLb }: Judgement): string =>
  roomLb >= 0 ? `room for ${lb(roomLb)}` : `${lb(-roomLb)} too much to be sure`
const weightText = ({ weightLb, uLb }: WeightSum): string => `${lb(weightLb).padStart(10)} ${interval(uLb).padStart(9)}`
const judged = (weight: WeightSum, judgement: Judgement): string =>
  `${weightText(weight)}  of ${lb(judgement.limitLb)}  ${judgement.verdict}, ${room(judgement)}`
const grossText = ({ gross, groups }: CombinationWeights): string =>
  gross.total && gross.judgement
    ? judged(gross.total, gross.judgement)
    : `not known: ${gross.missing.length} of ${groups.length} groups were not weighed; ` +
      `the others come to ${lb(gross.weighedLb)}`

function groupLine(ready: ReadyCombination, place: number, group: JudgedGroup, at: number, width: number): string {
  const name = (ready.plan.groups[place]?.name ?? '').padEnd(width)
  const { weighing, judgement } = group
  if (!weighing.weighed) return `${name}  ${sayUnweighed(weighing.why, sayStored(ready.plan.rules.zone))}`
  if (!judgement) return `${name}  `
  const target = targetPsiOf(ready, place, group, at)
  const load = target === null ? '' : `, load to ${target.toFixed(1)} psi`
  return `${name}  ${judged(weighing, judgement)}${load}`
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
  const { groups, bridge } = weights
  const { tare, cargo } = cargoAt(ready, weights, takenAt)
  const lines = [
    `Reading ${name} of ${ready.units.map(({ unit }) => unit).join(' with ')}, ` +
      `${localTimeOf(takenAt, ready.plan.rules.zone).replace('T', ' ')} ${ready.plan.rules.zone}`,
    ...groups.map((group, place) => groupLine(ready, place, group, takenAt, width)),
    `${'gross'.padEnd(width)}  ${grossText(weights)}`,
    `${'cargo'.padEnd(width)}  ` +
      (cargo ? weightText(cargo) : tare.ok ? 'not known without gross' : tare.problem.message),
  ]
  const confidence = ready.plan.rules.verdictConfidencePercent
  for (const i of bridge.sets.keys()) {
    const { set, sum, judgement } = judgedSet(bridge, i, confidence)
    if (!sum || !judgement || judgement.verdict === 'under') continue
    lines.push(
      `bridge, axles ${set.firstAxle} to ${set.lastAxle}, ${set.lengthFt} ft: ${judged(sum, judgement).trim()}`,
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
      ? `gross ${judged(gross.total, gross.judgement).trim()}`
      : `gross not known: ${gross.missing.length} of ${groups.length} groups were not weighed`
  return `${name}  ${ready.units.map(({ unit }) => unit).join(' + ')}  ${weight}`
}

const writeLine: WriteWeighed = (out, { reading, ready, weights }) =>
  out.text(weighingLine(reading.name, ready, weights))

async function* everyReading(
  file: string,
  write: WriteWeighed,
  before: string,
  between: string,
  after: string,
): AsyncGenerator<string | Uint8Array> {
  const store = await openStore(file, { mustExist: true })
  try {
    yield before
    yield* weighedStretches(store, write, between)
    yield after
  } finally {
    await store.close()
  }
}

function documentOf(weighed: WeighedReading): unknown {
  const out = new ByteText()
  writeJson(out, weighed)
  return JSON.parse(Buffer.from(out.slice()).toString())
}

/** Turns the pressures of readings into weights. */
export const weighCommand: Command = {
  name: 'weigh',
  summary: 'Say what readings weigh: groups, gross, cargo and bridge sets, how sure, and how much more can go on.',
  arguments: [],
  options: {
    db: dbOption,
    reading: { type: 'string', value: 'R', about: 'only this reading; every reading where it is left out' },
  },
  run: async (input) => {
    const file = input.text('db')
    const name = input.textOr('reading')
    if (name === undefined) {
      return {
        document: new Parts(() => everyReading(file, writeJson, '[\n', ',\n', '\n]\n')),
        text: new Parts(() => everyReading(file, writeLine, '', '\n', '\n')),
      }
    }
    return withStore(file, async (store) => {
      const weighed = await weighNamed(store, name)
      if (!weighed) throw new TarelineError('no-such-reading', `There is no reading ${name} in this file.`)
      const { reading, ready, weights } = weighed
      return { document: [documentOf(weighed)], text: weighingText(name, ready, reading, weights) }
    })
  },
}
