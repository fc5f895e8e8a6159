import { type WriteWeighed, weighedStretches, writeJson } from '#core/exchange/documents/weighing-json.ts'
import { ByteText } from '#core/exchange/documents/byte-text.ts'
import { timeNow } from '#core/store/clock.ts'
import type { Store } from '#core/store/open.ts'
import { type WeighedReading, evidenceUntil, weighNamed } from '#core/store/weigh-each.ts'
import { readZone } from '#core/store/zone.ts'
import {
  type CombinationWeights,
  type JudgedGroup,
  cargoAt,
  judgedSet,
  loadToOf,
} from '#core/weight/combination-weights.ts'
import type { WeightSum } from '#core/weight/correlated.ts'
import type { Judgement } from '#core/weight/verdict.ts'
import type { CombinationReading } from '#core/weight/weigh-combination.ts'
import type { ReadyCombination } from '#core/weight/weigher.ts'
import { localTimeOf } from '#core/words/day.ts'
import { TarelineError } from '#core/words/problem.ts'
import { sayStored } from '#core/words/say.ts'
import { aheadWords } from '#core/words/sentences/ahead.ts'
import { sayNoLoad } from '#core/words/sentences/load-to.ts'
import { provisionalWords, sayRoom, sayThin, sayTwoWeights } from '#core/words/sentences/two-weights.ts'
import { sayUnweighed } from '#core/words/sentences/unweighed.ts'
import {
  type Command,
  type CommandInput,
  Parts,
  asOfOption,
  dbOption,
  openToAsk,
  readMoment,
  withStore,
} from '#electron/command/command.ts'

/** Weights have no zone. */
const say = sayStored('UTC')
const { weight: lb, plusMinus: interval } = say
type Weighed = Pick<WeightSum, 'weightLb' | 'uLb'>

const weightText = ({ weightLb, uLb }: Weighed): string => `${lb(weightLb).padStart(10)} ${interval(uLb).padStart(9)}`
const judged = (best: Weighed, judgement: Judgement): string =>
  `${weightText(best)}  of ${lb(judgement.limitLb)}  ${judgement.verdict}, ${sayRoom(best.weightLb, judgement, say)}`

/** What the line read, where that is another weight. */
const withLine = (best: Weighed, byLine: Weighed | null | undefined): string => {
  const two = sayTwoWeights(best, byLine ?? null, say)
  return two === null ? '' : `; ${two}`
}

const grossText = ({ gross, groups }: CombinationWeights): string =>
  gross.total && gross.judgement
    ? judged(gross.total, gross.judgement) + withLine(gross.total, gross.byLine?.sum)
    : `not known: ${gross.missing.length} of ${groups.length} groups were not weighed; ` +
      `the others come to ${lb(gross.weighedLb)}`

function groupLine(
  ready: ReadyCombination,
  place: number,
  { weighing, judgement }: JudgedGroup,
  { lift }: CombinationReading,
  now: number,
  width: number,
): string {
  const name = (ready.plan.groups[place]?.name ?? '').padEnd(width)
  const words = sayStored(ready.plan.rules.zone)
  if (!weighing.weighed || !judgement) return `${name}  ${weighing.weighed ? '' : sayUnweighed(weighing.why, words)}`
  const target = weighing.psi === null ? null : loadToOf(ready, place, lift, now)
  const thin = sayThin(weighing)
  const marks = [
    ...(weighing.isProvisional ? [provisionalWords()] : []),
    ...(thin === null ? [] : [thin]),
    ...(target !== null && 'why' in target ? [sayNoLoad(target.why, words)] : []),
  ]
  const load = target !== null && 'psi' in target ? `, load to ${target.psi.toFixed(1)} psi` : ''
  return [`${name}  ${judged(weighing, judgement)}${load}${withLine(weighing, weighing.byLine)}`, ...marks].join('; ')
}

/** One reading in full: every group, gross, cargo, and the bridge sets that are not clearly under. */
export function weighingText(
  name: string,
  ready: ReadyCombination,
  reading: CombinationReading,
  weights: CombinationWeights,
  now: number,
): string {
  const { takenAt } = reading
  const width = Math.max(5, ...ready.plan.groups.map((group) => group.name.length))
  const { groups, bridge } = weights
  const { tare, cargo } = cargoAt(ready, weights, takenAt)
  const lines = [
    `Reading ${name} of ${ready.units.map(({ unit }) => unit).join(' with ')}, ` +
      `${localTimeOf(takenAt, ready.plan.rules.zone).replace('T', ' ')} ${ready.plan.rules.zone}`,
    ...groups.map((group, place) => groupLine(ready, place, group, reading, now, width)),
    `${'gross'.padEnd(width)}  ${grossText(weights)}`,
    `${'cargo'.padEnd(width)}  ` +
      (cargo ? weightText(cargo) : tare.ok ? 'not known without gross' : tare.problem.message),
  ]
  const confidence = ready.plan.rules.verdictConfidencePercent
  for (const i of bridge.sets.keys()) {
    const { set, sum, judgement, byLine } = judgedSet(bridge, i, confidence)
    if (!sum || !judgement || judgement.verdict === 'under') continue
    lines.push(
      `bridge, axles ${set.firstAxle} to ${set.lastAxle}, ${set.lengthFt} ft: ` +
        judged(sum, judgement).trim() +
        withLine(sum, byLine?.sum),
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

/** The end of the day that `--as-of` names, ms UTC; undefined where it was left out. */
const readAsOf = async (store: Store, input: CommandInput): Promise<number | undefined> =>
  readMoment(input, 'as-of', await readZone(store.db))

async function* everyReading(
  input: CommandInput,
  write: WriteWeighed,
  before: string,
  between: string,
  after: string,
): AsyncGenerator<string | Uint8Array> {
  const store = await openToAsk(input.text('db'))
  try {
    const asOf = await readAsOf(store, input)
    yield before
    yield* weighedStretches(store, { write, between, asOf, now: asOf ?? timeNow() })
    yield after
  } finally {
    await store.close()
  }
}

function documentOf(weighed: WeighedReading, now: number): unknown {
  const out = new ByteText()
  writeJson(out, weighed, now)
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
    'as-of': {
      ...asOfOption,
      about:
        'weigh by what was known on this day; today where it is left out, and what is dated later by all on record',
    },
  },
  run: async (input) => {
    const name = input.textOr('reading')
    if (name === undefined) {
      return {
        document: new Parts(() => everyReading(input, writeJson, '[\n', ',\n', '\n]\n')),
        text: new Parts(() => everyReading(input, writeLine, '', '\n', '\n')),
      }
    }
    return withStore(input.text('db'), async (store) => {
      const asOf = await readAsOf(store, input)
      const weighed = await weighNamed(store, name, asOf)
      if (!weighed)
        throw new TarelineError(
          'no-such-reading',
          `There is no reading ${name} in this file${asOf === undefined ? '' : ' by that day'}.`,
        )
      const { reading, ready, weights } = weighed
      const now = asOf ?? timeNow()
      const isAhead = asOf === undefined && (await evidenceUntil(store, reading.readingId)) === undefined
      const text = weighingText(name, ready, reading, weights, now)
      return { document: [documentOf(weighed, now)], text: isAhead ? `${text}\n${aheadWords()}` : text }
    })
  },
}
