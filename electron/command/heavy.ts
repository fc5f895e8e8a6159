import { timeNow } from '#core/store/clock.ts'
import { readBooks } from '#core/store/books.ts'
import { type HeavySpan, tallyByLimit, tallyByMonth, tallyByUnit, tallyByYard } from '#core/store/heavy-summary.ts'
import { type HeavyFilter, type HeavyRow, eachHeavy, listCombinations } from '#core/store/heavy.ts'
import { type Store, openStore } from '#core/store/open.ts'
import { findUnit } from '#core/store/unit-sheet.ts'
import { readZone } from '#core/store/zone.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { limitKinds, worstOffenders } from '#core/weight/heavy.ts'
import { dayOf, parseDay, startOfDay } from '#core/words/day.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import {
  type Answer,
  type Command,
  type CommandInput,
  Parts,
  UsageError,
  dbOption,
  readMoment,
  withStore,
} from '#electron/command/command.ts'
import { expanded } from '#core/words/coverage.ts'
import { sayStored } from '#core/words/say.ts'
import { provisionalWords, sayTwoWeights } from '#core/words/sentences/two-weights.ts'

const summaries = ['unit', 'month', 'yard', 'limit', 'offender'] as const
type SummaryBy = (typeof summaries)[number]

/** The first moment that counts: of a day its beginning. */
function readFrom(input: CommandInput, zone: string): number | undefined {
  const day = parseDay(input.textOr('from') ?? '')
  return day === undefined ? readMoment(input, 'from', zone) : startOfDay(day, zone)
}

/** From when to when (ms UTC), both included; a beginning or an end that is left out is undefined. */
const readSpan = (input: CommandInput, zone: string) => ({
  from: readFrom(input, zone),
  to: readMoment(input, 'to', zone),
})

function readBy(input: CommandInput): SummaryBy | undefined {
  const text = input.textOr('by')
  const by = summaries.find((each) => each === text)
  if (text !== undefined && !by) throw new UsageError(`--by is "${text}"; ${summaries.join(', ')} are accepted.`)
  return by
}

async function readUnit(store: Store, input: CommandInput): Promise<number | undefined> {
  const number = input.textOr('unit')
  if (number === undefined) return undefined
  const unit = await findUnit(store.db, number)
  if (!unit) throw new UsageError(`There is no unit ${number} in this file.`)
  return unit.id
}

/** One heavy weight as the document has it. */
function entryOf(row: HeavyRow, units: readonly string[]) {
  return {
    reading: row.reading,
    scale: row.scale,
    ticket: row.ticket,
    source: row.source,
    weighed_at: row.weighed_at,
    unit: row.unit,
    units,
    yard: row.yard,
    limit: row.limit_kind,
    group: row.group,
    first_axle: row.first_axle,
    last_axle: row.last_axle,
    length_ft: row.length_ft,
    more_sets: row.more_sets,
    weight_lb: row.weight_lb,
    u_lb: row.u_lb,
    line_weight_lb: row.line_weight_lb,
    u_line_lb: row.line_u_lb,
    line_verdict: row.line_verdict,
    provisional: row.provisional === 1,
    limit_lb: row.limit_lb,
    over_lb: row.over_lb,
    p_over: row.p_over,
    verdict: row.verdict,
    // The ticket of the same weighing decides.
    superseded: row.superseded === 1,
    note: row.note,
  }
}
type Entry = ReturnType<typeof entryOf>

const lb = (value: number): string => `${(Math.round(value / 10) * 10).toLocaleString('en-US')} lb`
const what = ({ limit, group, first_axle, last_axle }: Entry): string =>
  limit === 'group' ? `${group}` : limit === 'gross' ? 'gross' : `bridge, axles ${first_axle} to ${last_axle}`

function lineOf(entry: Entry): string {
  const {
    weighed_at,
    units,
    unit,
    source,
    reading,
    scale,
    ticket,
    weight_lb,
    u_lb,
    line_weight_lb,
    u_line_lb,
    provisional,
    limit_lb,
    over_lb,
    p_over,
    verdict,
    superseded,
    note,
  } = entry
  const from = source === 'ticket' ? `ticket ${ticket} of ${scale}` : `reading ${reading}`
  const sure = verdict === 'over' ? `over by ${lb(over_lb)}` : `too close to call (${Math.round(100 * p_over)} % over)`
  const best = { weightLb: weight_lb, uLb: u_lb }
  const byLine = line_weight_lb === null || u_line_lb === null ? null : { weightLb: line_weight_lb, uLb: u_line_lb }
  const two = sayTwoWeights(best, byLine, sayStored('UTC'))
  const more = [...(two === null ? [] : [two]), ...(provisional ? [provisionalWords()] : [])]
  return (
    `${weighed_at.slice(0, 16).replace('T', ' ')}  ${units.join(' + ') || unit}  ${unit} ${what(entry)}: ` +
    `${lb(weight_lb)} ± ${lb(expanded(u_lb))} of ${lb(limit_lb)}, ${sure}, ` +
    `${from}${more.map((words) => `; ${words}`).join('')}` +
    `${superseded ? ' (the ticket decides)' : ''}${note === null ? '' : `  "${note}"`}`
  )
}

/** An entry, and whether it is dated after the day that the weights are of. */
interface ListedEntry {
  readonly entry: Entry
  readonly isAhead: boolean
}

async function* entries(file: string, filterOf: (store: Store) => Promise<HeavyFilter>): AsyncGenerator<ListedEntry[]> {
  const store = await openStore(file, { mustExist: true })
  try {
    await catchUp(store, timeNow())
    const weighedFor = toStoredInstant((await readBooks(store.db)).weighedFor)
    for await (const rows of eachHeavy(store.db, await filterOf(store))) {
      const units = await listCombinations(store.db, [...new Set(rows.map(({ weighing }) => weighing))])
      yield rows.map((row) => ({
        entry: entryOf(row, units.get(row.weighing) ?? []),
        isAhead: row.weighed_at > weighedFor,
      }))
    }
  } finally {
    await store.close()
  }
}

async function* asJson(lists: AsyncIterable<ListedEntry[]>): AsyncGenerator<string> {
  let before = '[\n'
  for await (const list of lists) {
    if (list.length === 0) continue
    yield before + list.map(({ entry }) => JSON.stringify(entry)).join(',\n')
    before = ',\n'
  }
  yield before === '[\n' ? '[]\n' : '\n]\n'
}

async function* asLines(lists: AsyncIterable<ListedEntry[]>): AsyncGenerator<string> {
  let count = 0
  for await (const list of lists) {
    count += list.length
    if (list.length > 0)
      yield `${list.map(({ entry, isAhead }) => lineOf(entry) + (isAhead ? ' (dated after today)' : '')).join('\n')}\n`
  }
  yield count === 0 ? 'Nothing was weighed heavy.\n' : ''
}

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`

const listed = <Row>(rows: readonly Row[], lineOf: (row: Row) => string): Answer => ({
  document: rows,
  text: rows.map(lineOf).join('\n'),
})

async function summary(store: Store, by: SummaryBy, span: HeavySpan): Promise<Answer> {
  await catchUp(store, timeNow())
  if (by === 'limit') {
    const rows = (await tallyByLimit(store.db, span)).map(({ kind, role, verdict, weights, worstLb }) => ({
      limit: kind,
      role,
      verdict,
      weights,
      worst_lb: worstLb,
    }))
    return listed(
      rows,
      ({ limit, role, verdict, weights, worst_lb }) =>
        `${limit}${role === null ? '' : ` ${role}`}  ${verdict}  ${weights} weights, worst by ${lb(worst_lb)}`,
    )
  }
  if (by === 'month') {
    const rows = await tallyByMonth(store.db, span)
    return listed(
      rows,
      ({ month, weighings, over, close }) =>
        `${month}  ${over} over, ${close} too close to call, of ${weighings} weighings`,
    )
  }
  if (by === 'yard') {
    const rows = await tallyByYard(store.db, span)
    return listed(
      rows,
      ({ yard, weighings, over, close }) =>
        `${yard ?? 'no yard'}  ${over} over, ${close} too close to call, of ${weighings} weighings`,
    )
  }
  const units = await tallyByUnit(store.db, span)
  if (by === 'unit') {
    const rows = units.map(({ worstLb, ...row }) => ({ ...row, worst_lb: worstLb }))
    return listed(
      rows,
      ({ unit, weighings, over, close, worst_lb }) =>
        `${unit}  ${over} over, ${close} too close to call, of ${weighings} ` +
        `weighings${worst_lb === null ? '' : `, worst ${lb(worst_lb)}`}`,
    )
  }
  const powers = units.filter(({ kind }) => kind !== 'trailer')
  const ranked = worstOffenders(powers.map((tally) => ({ id: tally, heavy: tally.over, weighings: tally.weighings })))
  const rows = ranked.map(({ id: { unit, kind, yard, worstLb }, heavy, weighings, rate, shrunkRate, uShrunkRate }) => ({
    unit,
    kind,
    yard,
    weighings,
    over: heavy,
    rate,
    shrunk_rate: shrunkRate,
    u_shrunk_rate: uShrunkRate,
    worst_lb: worstLb,
  }))
  return {
    document: rows,
    text: rows
      .map(
        ({ unit, weighings, over, rate, shrunk_rate }) =>
          `${unit}  ${percent(shrunk_rate)} (counted ${percent(rate)}: ${over} of ${weighings})`,
      )
      .join('\n'),
  }
}

/** Lists what weighed heavy. */
export const heavyCommand: Command = {
  name: 'heavy',
  summary:
    'List every reading or ticket over a limit: which, by how much, how sure; or count them by unit, month, ' +
    'yard or limit.',
  arguments: [],
  options: {
    db: dbOption,
    from: { type: 'string', value: 'DATE', about: 'the first day' },
    to: { type: 'string', value: 'DATE', about: 'the last day' },
    unit: { type: 'string', value: 'UNIT', about: 'only what concerns this unit' },
    close: { type: 'boolean', about: 'also what is too close to call' },
    by: {
      type: 'string',
      value: 'WHAT',
      about:
        'count weighings instead, by unit, month, yard or limit; offender ranks trucks and tractors, ' +
        'small samples drawn to the fleet',
    },
  },
  run: async (input) => {
    const file = input.text('db')
    const by = readBy(input)
    if (by) {
      return withStore(file, async (store) => {
        const zone = await readZone(store.db)
        const { from, to } = readSpan(input, zone)
        const day = (at: number | undefined) => (at === undefined ? undefined : dayOf(at, zone))
        return summary(store, by, {
          kinds: limitKinds,
          zone,
          today: dayOf(timeNow(), zone),
          from: day(from),
          to: day(to),
          unitId: await readUnit(store, input),
        })
      })
    }
    const stored = (at: number | undefined) => (at === undefined ? undefined : toStoredInstant(at))
    const filterOf = async (store: Store): Promise<HeavyFilter> => {
      const { from, to } = readSpan(input, await readZone(store.db))
      return {
        from: stored(from),
        to: stored(to),
        unitId: await readUnit(store, input),
        verdicts: input.flag('close') ? ['over', 'too close to call'] : ['over'],
        superseded: true,
      }
    }
    return {
      document: new Parts(() => asJson(entries(file, filterOf))),
      text: new Parts(() => asLines(entries(file, filterOf))),
    }
  },
}
