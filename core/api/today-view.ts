import { viewTrips } from '#core/api/bench-view.ts'
import { weighTrips } from '#core/bench/weigh-trips.ts'
import type { TodayInput, TodayPage, UntrustedView } from '#core/contracts/today.ts'
import { type FindingCode, type Trust, trustStates } from '#core/findings/finding.ts'
import { trustBy, trustRank, worseFirst } from '#core/findings/trust.ts'
import { readWeighingOffers, yardNames } from '#core/store/bench.ts'
import { readScales } from '#core/store/histories.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import {
  type FindingMark,
  type FindingOfToday,
  type OfYard,
  type StandingOfToday,
  countRecorded,
  listAllFindings,
  listCellFindings,
  listFindingMarks,
  listStandings,
  listVisitsBetween,
  readFindings,
} from '#core/store/today.ts'
import { type LocalDay, addDays, dayOf, startOfDay } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type Say, sayOfRules } from '#core/words/say.ts'
import { sayFinding, saidOf } from '#core/words/sentences/findings.ts'

/** How far ahead the page looks, days. */
export const daysAhead = 30
/** Rows of each list that are told; the rest are counted. */
export const mostRows = 50
const mostTrips = 5
/** One row gathers the findings that say the same of several groups of a unit: of so many that one row has room. */
const groupsARow = 4

/** A biased scale is no line's trouble alone, and stands among what is in doubt: every line weighed on it is. */
const standsAs: Partial<Record<FindingCode, Trust>> = { 'scale-biased': 'doubtful' }
const rankOf = (mark: Pick<FindingMark, 'code' | 'severity'>): number =>
  trustRank(trustBy(mark) ?? standsAs[mark.code] ?? 'sound')

/** The worst state first, below it what makes it, then what has stood longest. */
const worstMarkFirst = (a: FindingMark, b: FindingMark): number =>
  rankOf(a) - rankOf(b) || worseFirst(a, b) || ((a.since ?? '') < (b.since ?? '') ? -1 : 1)

function gather(findings: readonly FindingOfToday[], say: Say): UntrustedView[] {
  const rows = new Map<string, UntrustedView>()
  for (const { code, severity, since, variant, facts, unit, yard, group, ticket, ticketId, scale } of findings) {
    const key = JSON.stringify([unit, scale, ticket, code, variant, facts])
    const known = rows.get(key)
    if (known) {
      if (group !== null) known.groups.push(group)
      continue
    }
    rows.set(key, {
      ...sayFinding(saidOf({ code, variant, facts }), say),
      code: code as FindingCode,
      severity,
      trust: trustBy({ code: code as FindingCode, severity }) ?? null,
      unit,
      yard,
      groups: group === null ? [] : [group],
      scale,
      ticket,
      ticketId,
      since,
    })
  }
  return [...rows.values()]
}

async function untrustedNow(store: Store, yardId: OfYard, say: Say): Promise<TodayPage['untrusted']> {
  const marks = listFindingMarks(store, yardId).sort(worstMarkFirst)
  const first = marks.slice(0, mostRows * groupsARow)
  const place = new Map(first.map(({ id }, at) => [id, at]))
  const found = await readFindings(store.db, [...place.keys()])
  found.sort((a, b) => (place.get(a.id) ?? 0) - (place.get(b.id) ?? 0))
  const byCode = Map.groupBy(marks, ({ code }) => code)
  return {
    total: marks.length,
    rows: gather(found, say).slice(0, mostRows),
    byCode: Array.from(byCode, ([code, own]) => ({ code, findings: own.length })),
  }
}

/** Everything that is found of the fleet, the worst first, each once. Errors: TarelineError `no-such-yard`. */
export async function readAllFindings(store: Store, input: TodayInput): Promise<UntrustedView[]> {
  const say = sayOfRules(await readHouseRules(store.db))
  const yardId = yardOf(input?.yard, await yardNames(store.db))
  const found = await listAllFindings(store.db, yardId)
  const marked = found.map((finding) => ({ finding, mark: { ...finding, code: finding.code as FindingCode } }))
  marked.sort((a, b) => worstMarkFirst(a.mark, b.mark))
  return gather(
    marked.map(({ finding }) => finding),
    say,
  )
}

type DueLine = TodayPage['due']['lines']['rows'][number]
type DueCell = TodayPage['due']['cells']['rows'][number]
type DueVisit = TodayPage['due']['visits']['rows'][number]

const byDay = <Row extends { readonly unit: string }>(rows: Row[], dayOfRow: (row: Row) => string): Row[] =>
  rows.sort((a, b) => (dayOfRow(a) === dayOfRow(b) ? (a.unit < b.unit ? -1 : 1) : dayOfRow(a) < dayOfRow(b) ? -1 : 1))

/** Lines that are trusted today and no longer on a day until the last one. */
const dueLines = (standings: readonly StandingOfToday[], until: LocalDay): DueLine[] =>
  byDay(
    standings.flatMap(({ unit, yard, group, trust, dueOn }) =>
      dueOn !== null && dueOn <= until && trustRank(trust) >= trustRank('due soon') ? { unit, yard, group, dueOn } : [],
    ),
    ({ dueOn }) => dueOn,
  )

async function dueCells({ db }: Store, yardId: OfYard, until: LocalDay): Promise<DueCell[]> {
  const cells = (await listCellFindings(db, yardId)).flatMap(({ code, numbers, ...seat }): DueCell[] => {
    const { serial, swap_by: swapBy } = JSON.parse(numbers) as { serial: string; swap_by: string }
    return swapBy <= until ? [{ ...seat, serial, swapBy, overdue: code === 'battery-overdue' }] : []
  })
  return byDay(cells, ({ swapBy }) => swapBy)
}

/** Everything that comes due, in full. */
export interface AllDue {
  readonly until: LocalDay
  readonly lines: readonly DueLine[]
  readonly cells: readonly DueCell[]
  readonly visits: readonly DueVisit[]
}

type Moved = TodayPage['changed']['trust']['rows'][number]

function movedTrust(standings: readonly StandingOfToday[], zone: string): Moved[] {
  const moved = standings.flatMap(({ unit, yard, group, trust, trustBefore, judgedBefore }): Moved[] =>
    trustBefore === null || judgedBefore === null || trustBefore === trust
      ? []
      : [{ unit, yard, group, was: trustBefore, now: trust, on: dayOf(fromStoredInstant(judgedBefore), zone) }],
  )
  const fall = ({ was, now }: Moved) => trustRank(now) - trustRank(was)
  const side = (move: Moved) => (fall(move) < 0 ? 0 : 1)
  return moved.sort((a, b) => side(a) - side(b) || trustRank(a.now) - trustRank(b.now) || fall(a) - fall(b))
}

const firstOf = <Row>(rows: readonly Row[]) => ({ total: rows.length, rows: rows.slice(0, mostRows) })

/** The yard asked for by its id. Errors: TarelineError `no-such-yard`. */
function yardOf(yard: string | null | undefined, names: ReadonlyMap<number, string>): OfYard {
  if (yard === null || yard === undefined) return yard
  const found = [...names].find(([, name]) => name === yard)
  if (!found) throw new TarelineError('no-such-yard', `There is no yard ${yard} in this fleet.`)
  return found[0]
}

export interface TodayNow {
  readonly page: TodayPage
  readonly due: AllDue
  readonly say: Say
}

/**
 * The page of a day from the stored assessment of a moment (the end of that day, ms UTC): one question a part, whatever
 * the fleet's size. Errors: TarelineError `no-such-yard`.
 */
export async function readToday(store: Store, input: TodayInput, asOf: number): Promise<TodayNow> {
  const { db } = store
  const rules = await readHouseRules(db)
  const say = sayOfRules(rules)
  const names = await yardNames(db)
  const yardId = yardOf(input?.yard, names)
  const today = dayOf(asOf, rules.zone)
  const until = addDays(today, daysAhead)
  const since = addDays(today, -1)
  const standings = listStandings(store, yardId)
  const due: AllDue = {
    until,
    lines: dueLines(standings, until),
    cells: await dueCells(store, yardId, until),
    visits: (await listVisitsBetween(db, yardId, today, until)).map(({ visit_on: on, ...unit }) => ({ ...unit, on })),
  }
  const recorded = (await countRecorded(db, toStoredInstant(startOfDay(since, rules.zone)))).map(
    ({ changed_by: by, ...change }) => ({ by, ...change }),
  )
  const scales = readScales(store)
  const offers = readWeighingOffers(store, scales).filter(
    ({ yard }) => input?.yard === undefined || yard === input.yard,
  )
  const groups = Object.fromEntries(trustStates.map((trust) => [trust, 0])) as TodayPage['groups']
  for (const { trust } of standings) groups[trust] += 1
  const page: TodayPage = {
    asOf: toStoredInstant(asOf),
    day: today,
    yards: [...names.values()].sort(),
    groups,
    untrusted: await untrustedNow(store, yardId, say),
    due: { until, lines: firstOf(due.lines), cells: firstOf(due.cells), visits: firstOf(due.visits) },
    changed: { since, trust: firstOf(movedTrust(standings, rules.zone)), recorded: firstOf(recorded) },
    weigh: viewTrips(weighTrips(offers, mostTrips), scales, say),
  }
  return { page, due, say }
}
