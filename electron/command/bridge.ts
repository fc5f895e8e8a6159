import { expanded } from '#core/words/coverage.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { bridgeLimitLb } from '#core/evidence/limits.ts'
import { timeNow } from '#core/store/clock.ts'
import { inCouplingOrder, readFleetPlaces } from '#core/store/fleet-places.ts'
import type { Store } from '#core/store/open.ts'
import { findUnit } from '#core/store/unit-sheet.ts'
import { weighNamed } from '#core/store/weigh-each.ts'
import { readWeighSource } from '#core/store/weigh-facts.ts'
import { readZone } from '#core/store/zone.ts'
import { bridgeLayout } from '#core/weight/bridge.ts'
import { type JudgedSet, judgedSet } from '#core/weight/combination-weights.ts'
import { weigher } from '#core/weight/weigher.ts'
import { TarelineError } from '#core/words/problem.ts'
import { liftStates } from '#core/words/vocabulary.ts'
import { type Answer, type Command, type CommandInput, UsageError, withStore } from '#electron/command/command.ts'

const pounds = (value: number): string => `${Math.round(value).toLocaleString('en-US')} lb`
const reckoner = 'A reckoner: the table of the authority decides.'

/** What the formula allows a set of axles. */
function oneSet(input: CommandInput): Answer {
  const axles = input.numberOr('axles')
  const feet = input.numberOr('feet')
  if (axles === undefined || feet === undefined)
    throw new UsageError('--axles and --feet are needed together, or --db with --units or --reading.')
  if (!Number.isInteger(axles) || axles < 1 || axles > 50)
    throw new UsageError(`--axles is ${axles}; a whole number of 1 to 50 is accepted.`)
  if (!(feet >= 0 && feet <= 500))
    throw new UsageError(`--feet is ${feet}; 0 to 500 ft between the outer axles are accepted.`)
  const limitLb = bridgeLimitLb(axles, feet)
  return {
    document: { limit_lb: limitLb },
    text: `${axles} axles over ${feet} ft may carry ${pounds(limitLb)}. ${reckoner}`,
  }
}

const rowOf = ({ set, sum, judgement, byLine }: JudgedSet) => ({
  first_axle: set.firstAxle,
  last_axle: set.lastAxle,
  axles: set.axles,
  length_ft: set.lengthFt,
  limit_lb: set.limitLb,
  basis: set.basis,
  name: set.name,
  weight_lb: sum?.weightLb ?? null,
  u_lb: sum?.uLb ?? null,
  line_weight_lb: byLine?.sum.weightLb ?? null,
  u_line_lb: byLine?.sum.uLb ?? null,
  p_over: judgement?.pOver ?? null,
  verdict: judgement?.verdict ?? null,
})

function lineOf({
  set: { firstAxle, lastAxle, axles, lengthFt, limitLb, basis, name },
  sum,
  judgement,
}: JudgedSet): string {
  const weight =
    sum && judgement ? `  weighs ${pounds(sum.weightLb)} ± ${pounds(expanded(sum.uLb))}: ${judgement.verdict}` : ''
  const set = `axles ${firstAxle} to ${lastAxle} (${axles} over ${lengthFt} ft${name === null ? '' : `, ${name}`})`
  return `${set.padEnd(48)}  ${pounds(limitLb).padStart(10)}  ${basis}${weight}`
}

const answerOf = (sets: readonly JudgedSet[], gaps: readonly string[]): Answer => ({
  document: sets.map(rowOf),
  text: sets.length === 0 ? '' : [...sets.map(lineOf), reckoner].join('\n'),
  messages: gaps,
})

function readLift(input: CommandInput) {
  const text = input.textOr('lift')
  if (text === undefined) return null
  const lift = liftStates.find((each) => each === text)
  if (!lift) throw new UsageError(`--lift is "${text}"; ${liftStates.join(', ')} are accepted.`)
  return lift
}

/** Every set of consecutive axles of units as they would be coupled. */
async function setsOfUnits(store: Store, numbers: readonly string[], input: CommandInput): Promise<Answer> {
  const unitIds: number[] = []
  for (const number of numbers) {
    const unit = await findUnit(store.db, number)
    if (!unit) throw new UsageError(`There is no unit ${number} in this file.`)
    unitIds.push(unit.id)
  }
  const lift = readLift(input)
  const ready = weigher(
    await readWeighSource(store, { unitIds, tare: false, asOf: judgedAt(timeNow(), await readZone(store.db)) }),
  ).ready(inCouplingOrder(unitIds, readFleetPlaces(store)))
  const bridge = ready.plan.bridge(lift)
  return answerOf(
    bridgeLayout(ready, bridge).sets.map((set) => ({ set, sum: null, judgement: null, byLine: null })),
    bridge.ruler.gaps.map(({ message }) => message),
  )
}

/**
 * The sets of the combination that a reading weighed, with their weights; it must be of the units, where these are
 * named.
 */
async function setsOfReading(store: Store, name: string, numbers: readonly string[] | undefined): Promise<Answer> {
  const weighed = await weighNamed(store, name)
  if (!weighed) throw new TarelineError('no-such-reading', `There is no reading ${name} in this file.`)
  const {
    ready,
    weights: { bridge },
    reading,
  } = weighed
  const stood = ready.units.map(({ unit }) => unit)
  if (numbers && (numbers.length !== stood.length || !numbers.every((number) => stood.includes(number)))) {
    throw new UsageError(`Reading ${name} is of ${stood.join(' with ')}, not of ${numbers.join(' with ')}.`)
  }
  const { verdictConfidencePercent } = ready.plan.rules
  return answerOf(
    bridge.sets.map((_, place) => judgedSet(bridge, place, verdictConfidencePercent)),
    ready.plan.bridge(reading.lift).ruler.gaps.map(({ message }) => message),
  )
}

/** The federal bridge formula: of some axles, or over a combination of the fleet. */
export const bridgeCommand: Command = {
  name: 'bridge',
  summary: 'Say what the federal bridge formula allows some axles, or every set of consecutive axles of a combination.',
  arguments: [],
  options: {
    axles: { type: 'string', value: 'N', about: 'how many axles' },
    feet: { type: 'string', value: 'L', about: 'how far the outer ones are apart, ft' },
    db: { type: 'string', value: 'FILE', about: 'the fleet file' },
    units: { type: 'string', value: 'U1,U2', about: 'the units of the combination' },
    lift: { type: 'string', value: 'STATE', about: 'how its lift axles stand: raised, lowered or none' },
    reading: { type: 'string', value: 'R', about: 'the combination of this reading, with what its sets weighed' },
  },
  run: async (input) => {
    const file = input.textOr('db')
    const numbers = input
      .textOr('units')
      ?.split(',')
      .map((number) => number.trim())
      .filter((number) => number !== '')
    const reading = input.textOr('reading')
    if (file === undefined) return oneSet(input)
    if (input.textOr('axles') !== undefined || input.textOr('feet') !== undefined)
      throw new UsageError('--axles and --feet are of one set alone; --db is not accepted with them.')
    if (reading !== undefined) return withStore(file, (store) => setsOfReading(store, reading, numbers))
    if (numbers === undefined || numbers.length === 0)
      throw new UsageError(
        '--units or --reading is missing: the units of the combination, or a reading of it, are needed.',
      )
    return withStore(file, (store) => setsOfUnits(store, numbers, input))
  },
}
