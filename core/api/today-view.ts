import { viewTrips } from '#core/jobs/bench-view.ts'
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
  countByTrust,
  countRecorded,
  listAllFindings,
  listCellFindings,
  listDueLines,
  listFindingMarks,
  listMovedTrust,
  listVisitsBetween,
  nameGroups,
  readFindings,
} from '#core/store/today.ts'
import { type LocalDay, addDays, dayOf, startOfDay } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { type Say, sayOfRules } from '#core/words/say.ts'
import { sayFinding, saidOf } from '#core/words/sentences/findings.ts'
import { phrase } from '#core/words/phrase.ts'

/** How far ahead the page looks, days. */
const daysAhead = 30
/** Rows of each list that are told; the rest are counted. */
const mostRows = 50
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

/** Lines in these states are trusted today. */
const trustedStates = trustStates.filter((trust) => trustRank(trust) >= trustRank('due soon'))

type LineDue = Awaited<ReturnType<typeof listDueLines>>[number]

/** Lines that are trusted today and no longer on a day until the last one, the first to run out first. */
const dueLines = ({ db }: Store, yardId: OfYard, until: LocalDay): Promise<LineDue[]> =>
  listDueLines(db, yardId, trustedStates, until)

const namedLines = async ({ db }: Store, lines: readonly LineDue[]): Promise<DueLine[]> => {
  const names = await nameGroups(
    db,
    lines.map(({ groupId }) => groupId),
  )
  return lines.flatMap(({ groupId, dueOn }) => {
    const named = names.get(groupId)
    return named ? [{ ...named, dueOn }] : []
  })
}

async function dueCells({ db }: Store, yardId: OfYard, today: LocalDay, until: LocalDay): Promise<DueCell[]> {
  const cells = (await listCellFindings(db, yardId)).flatMap(({ code, numbers, ...seat }): DueCell[] => {
    const { serial, swap_by: swapBy } = JSON.parse(numbers) as { serial: string; swap_by: string }
    return swapBy <= until
      ? [{ ...seat, serial, swapBy, now: swapBy <= today, overdue: code === 'battery-overdue' }]
      : []
  })
  return byDay(cells, ({ swapBy }) => swapBy)
}

/** Everything that comes due, in full. */
export interface AllDue {
  readonly lines: readonly DueLine[]
  readonly cells: readonly DueCell[]
  readonly visits: readonly DueVisit[]
}

type Moved = TodayPage['changed']['trust']

/** Groups whose trust is another than before, those that became worse first. */
async function movedTrust({ db }: Store, yardId: OfYard, zone: string): Promise<Moved> {
  const moved = await listMovedTrust(db, yardId)
  const fall = ({ was, now }: (typeof moved)[number]) => trustRank(now) - trustRank(was)
  const side = (move: (typeof moved)[number]) => (fall(move) < 0 ? 0 : 1)
  moved.sort((a, b) => side(a) - side(b) || trustRank(a.now) - trustRank(b.now) || fall(a) - fall(b))
  const shown = moved.slice(0, mostRows)
  const names = await nameGroups(
    db,
    shown.map(({ groupId }) => groupId),
  )
  return {
    total: moved.length,
    rows: shown.flatMap(({ groupId, was, now, judgedBefore }) => {
      const named = names.get(groupId)
      return named ? [{ ...named, was, now, on: dayOf(fromStoredInstant(judgedBefore), zone) }] : []
    }),
  }
}

const firstOf = <Row>(rows: readonly Row[]) => ({ total: rows.length, rows: rows.slice(0, mostRows) })

/** The yard asked for by its id. Errors: TarelineError `no-such-yard`. */
function yardOf(yard: string | null | undefined, names: ReadonlyMap<number, string>): OfYard {
  if (yard === null || yard === undefined) return yard
  const found = [...names].find(([, name]) => name === yard)
  if (!found) throw new TarelineError('no-such-yard', phrase('There is no yard {yard} in this fleet.', { yard }))
  return found[0]
}

/** Whose day it is: by which rules, in which yard. */
async function readDay(store: Store, input: TodayInput, asOf: number) {
  const rules = await readHouseRules(store.db)
  const names = await yardNames(store.db)
  const today = dayOf(asOf, rules.zone)
  return { rules, names, yardId: yardOf(input?.yard, names), today, until: addDays(today, daysAhead) }
}

async function dueVisits({ db }: Store, yardId: OfYard, from: LocalDay, until: LocalDay): Promise<DueVisit[]> {
  const visits = await listVisitsBetween(db, yardId, from, until)
  return visits.map(({ visit_on: on, ...unit }) => ({ ...unit, on }))
}

/** Everything that comes due, however much it is: for a calendar. Errors: TarelineError `no-such-yard`. */
export async function readAllDue(store: Store, input: TodayInput, asOf: number): Promise<AllDue & { today: LocalDay }> {
  const { yardId, today, until } = await readDay(store, input, asOf)
  return {
    today,
    lines: await namedLines(store, await dueLines(store, yardId, until)),
    cells: await dueCells(store, yardId, today, until),
    visits: await dueVisits(store, yardId, today, until),
  }
}

export interface TodayNow {
  readonly page: TodayPage
  readonly say: Say
}

/**
 * The page of a day from the stored assessment of a moment (the end of that day, ms UTC): one question a part, whatever
 * the fleet's size. Errors: TarelineError `no-such-yard`.
 */
export async function readToday(store: Store, input: TodayInput, asOf: number): Promise<TodayNow> {
  const { db } = store
  const { rules, names, yardId, today, until } = await readDay(store, input, asOf)
  const say = sayOfRules(rules)
  const since = addDays(today, -1)
  const lines = await dueLines(store, yardId, until)
  const recorded = (await countRecorded(db, toStoredInstant(startOfDay(since, rules.zone)))).map(
    ({ changed_by: by, ...change }) => ({ by, ...change }),
  )
  const scales = readScales(store)
  const offers = readWeighingOffers(store, scales).filter(
    ({ yard }) => input?.yard === undefined || yard === input.yard,
  )
  const groups = Object.fromEntries(trustStates.map((trust) => [trust, 0])) as TodayPage['groups']
  for (const { trust, groups: own } of await countByTrust(db, yardId)) groups[trust] = own
  const page: TodayPage = {
    asOf: toStoredInstant(asOf),
    day: today,
    yards: [...names.values()].sort(),
    groups,
    untrusted: await untrustedNow(store, yardId, say),
    due: {
      until,
      lines: { total: lines.length, rows: await namedLines(store, lines.slice(0, mostRows)) },
      cells: firstOf(await dueCells(store, yardId, today, until)),
      visits: firstOf(await dueVisits(store, yardId, today, until)),
    },
    changed: { since, trust: await movedTrust(store, yardId, rules.zone), recorded: firstOf(recorded) },
    weigh: viewTrips(weighTrips(offers, mostTrips), scales, say),
  }
  return { page, say }
}
