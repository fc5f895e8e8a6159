import { type QueryKey, hashKey } from '@tanstack/react-query'
import { type FileState, type News, type Seen, mostChangesTold } from '#core/contracts/file.ts'
import type { RosterCounts, RosterList, RosterListInput, RosterRow } from '#core/contracts/unit.ts'
import type { PickUnits } from '#core/contracts/weigh.ts'
import type { ChangeSubject } from '#core/words/change.ts'
import { takePresence } from '#renderer/client/presence.ts'
import { picksKey, procedureOf, queryClient, rosterKey, stateKey, subjectOf } from '#renderer/client/query-client.ts'
import { leftByWeighing, renewedByNews } from '#renderer/client/renewal.ts'

/** The open file as it was when all that is on the screen had last been renewed. */
let seen: FileState | undefined

const isSameState = (a: FileState, b: FileState): boolean =>
  a.file === b.file &&
  a.revision === b.revision &&
  a.renewals === b.renewals &&
  a.assessedAt === b.assessedAt &&
  a.madeOf === b.madeOf

/** Up to where this window knows the open file. */
export const seenUpTo = (): Seen | null =>
  seen ? { file: seen.file, revision: seen.revision, renewals: seen.renewals, madeOf: seen.madeOf } : null

let isTold = false

/** Says whether this window is told of changes; otherwise it has to ask. */
export function setTold(told: boolean): void {
  isTold = told
}

function renewAll(now: FileState): void {
  const before = seen
  seen = now
  if (!before || isSameState(before, now)) return
  isRosterBehind = false
  void queryClient.invalidateQueries({ predicate: ({ queryKey }) => subjectOf(queryKey) !== 'file' })
}

/**
 * Takes in the state of the file that this window has asked for: everything is asked again once the file has moved on
 * in another window, or was judged anew. A window that is told of changes waits to be told.
 */
export function followFile(now: FileState): void {
  if (!isTold || seen === undefined || now.file !== seen.file) renewAll(now)
}

/** Takes it that all on the screen is of a state, where that was seen before. */
export function settleAt(now: FileState, before: FileState): void {
  if (seen === before) seen = now
}

/** The open file as it was when all that is on the screen had last been renewed. */
export const lastSeen = (): FileState | undefined => seen

const isRosterPage = ([path]: QueryKey): boolean => hashKey([path]) === hashKey([rosterKey[0]])
const isPicks = ([path]: QueryKey): boolean => hashKey([path]) === hashKey([picksKey[0]])

const isSameCounts = (a: RosterCounts, b: RosterCounts): boolean => hashKey([a]) === hashKey([b])

/** The units that a question names; undefined where it names none, so that it is about any. */
function unitsAskedOf([, asked]: QueryKey): readonly unknown[] | undefined {
  const input = typeof asked === 'object' && asked !== null && 'input' in asked ? asked.input : undefined
  if (typeof input !== 'object' || input === null) return undefined
  if ('unit' in input && typeof input.unit === 'string') return [input.unit]
  return 'units' in input && Array.isArray(input.units) && input.units.length > 0 ? input.units : undefined
}

/** The Roster is to be asked for as a whole once the fleet has been followed up. */
let isRosterBehind = false

/** What a page of the Roster was asked with. */
const askedOf = ([, asked]: QueryKey): RosterListInput =>
  typeof asked === 'object' && asked !== null && 'input' in asked ? (asked.input as RosterListInput) : {}

const isNarrowed = ({ text, trust, kind, yard, finding }: RosterListInput): boolean =>
  [text, trust, kind, yard, finding].some((part) => part !== undefined)

/**
 * What decides in which place a line stands, by the sort, as far as people would miss it there: how sure a weight is
 * changes with every weighing, and moves a line among its like alone.
 */
const placedBy: Readonly<Record<NonNullable<RosterListInput['sort']>, (row: RosterRow) => unknown>> = {
  unit: () => null,
  match: () => null,
  trust: ({ trust, worstFinding, dueOn }) => [trust, worstFinding, dueOn],
  finding: ({ worstFinding }) => worstFinding,
  age: ({ calibratedAt }) => calibratedAt,
  due: ({ trust, dueOn }) => [trust, dueOn],
  uncertainty: ({ uLimitLb }) => uLimitLb,
  cell: ({ cellSince }) => cellSince,
  yard: ({ yard }) => yard,
  model: ({ make, model }) => [make, model],
}

/** What a filter may find a line by. */
const foundBy = ({ kind, make, model, modelYear, yard, trust, findingCodes }: RosterRow) => [
  [kind, make, model, modelYear, yard],
  [trust, findingCodes],
]

const placeOf = (row: RosterRow, asked: RosterListInput): string =>
  JSON.stringify([row.unit, row.retired, placedBy[asked.sort ?? 'unit'](row), isNarrowed(asked) ? foundBy(row) : null])

/**
 * Puts the rows that were told in place of those that this window has; false where its pages cannot be made whole by
 * that: a line may stand in another place, or counts have moved.
 */
function patchRoster({ state, units, rows, counts }: News): boolean {
  const pages = queryClient.getQueriesData<RosterList>({ queryKey: rosterKey })
  // An answer that is on its way may be older than these rows.
  if (pages.length > 0 && (units === null || queryClient.isFetching({ queryKey: rosterKey }) > 0)) return false
  const fresh = new Map(rows.map((row) => [row.unitId, row]))
  let isWhole = true
  for (const [key, known] of pages) {
    if (!known) continue
    const asked = askedOf(key)
    const own = known.rows.filter(({ unitId }) => fresh.has(unitId))
    const strangers = fresh.size - own.length
    if (isNarrowed(asked) && strangers > 0) isWhole = false
    if (!isNarrowed(asked) && counts !== null && asked.retired === false && !isSameCounts(known.counts, counts))
      isWhole = false
    if (own.some((row) => placeOf(row, asked) !== placeOf(fresh.get(row.unitId) ?? row, asked))) isWhole = false
    const asOf = state.assessedAt ?? known.asOf
    if (own.length > 0 || asOf !== known.asOf)
      queryClient.setQueryData<RosterList>(key, {
        ...known,
        asOf,
        rows: known.rows.map((row) => fresh.get(row.unitId) ?? row),
      })
  }
  return isWhole
}

const ofWeighing: ReadonlySet<string> = new Set<ChangeSubject>(['ticket', 'reading', 'calibration'])

/** Whether nothing was changed but what is weighed. */
const isWeighing = ({ kinds, changes }: News): boolean =>
  (changes.length > 0 || kinds.length === 0) &&
  changes.length < mostChangesTold &&
  changes.every(({ subject }) => ofWeighing.has(subject))

/** Whether news may be about an answer with units to choose from: of weighings, only with what one was weighed last. */
function arePicksMoved(queryKey: QueryKey, news: News): boolean {
  const { units } = news
  const known = queryClient.getQueryData<PickUnits>(queryKey)
  if (!isWeighing(news) || known === undefined || units === null || units.length === 0) return true
  return known.units.some(({ unit }) => units.includes(unit))
}

/** Renews what news are about, and nothing else. */
function renewByNews(news: News, before: FileState): void {
  const { state, kinds, judged: wasJudged, weighed, whole, units } = news
  if (!patchRoster(news)) isRosterBehind = true
  const isChanged = kinds.length > 0
  // While the fleet is being followed up, what is about all of it waits for the end.
  const isUnderWay = state.following !== null && !isChanged && !whole
  const subjects = new Set<unknown>([
    ...(isChanged || news.since?.revision !== state.revision ? renewedByNews.record : []),
    ...(wasJudged ? renewedByNews.judged : []),
    ...(weighed ? renewedByNews.weighed : []),
  ])
  const named =
    units === null || whole || weighed || before.assessedAt !== state.assessedAt ? null : new Set<unknown>(units)
  void queryClient.invalidateQueries({
    predicate: ({ queryKey }) => {
      if (!subjects.has(subjectOf(queryKey)) || isRosterPage(queryKey)) return false
      if (leftByWeighing.has(procedureOf(queryKey)) && isWeighing(news)) return false
      if (isPicks(queryKey)) return !isUnderWay && arePicksMoved(queryKey, news)
      const asked = unitsAskedOf(queryKey)
      if (asked === undefined) return !isUnderWay
      return named === null || asked.some((unit) => named.has(unit))
    },
  })
  if (isRosterBehind && !isUnderWay) {
    isRosterBehind = false
    void queryClient.invalidateQueries({ queryKey: rosterKey })
  }
}

/** Who waits until this window has been told of a state. */
const waiting = new Set<() => void>()

const isAsFarAs = (a: FileState, b: FileState): boolean =>
  a.file === b.file && a.revision >= b.revision && a.renewals >= b.renewals

/**
 * Takes in what was told of the open file: what is on the screen is renewed by that alone, where nothing was missed.
 */
export function takeNews(news: News): void {
  takePresence(news)
  const { state, since } = news
  const before = seen
  // Told late: this window has asked meanwhile.
  if (before && before.file === state.file && !isAsFarAs(state, before)) return
  const isNext =
    before !== undefined &&
    since !== null &&
    before.file === since.file &&
    before.revision >= since.revision &&
    before.renewals >= since.renewals
  if (before === undefined || !isNext) renewAll(state)
  else if (!isSameState(before, state) || isRosterBehind) {
    seen = state
    renewByNews(news, before)
  }
  seen = state
  queryClient.setQueryData<FileState>(stateKey, state)
  for (const wake of waiting) wake()
}

const longestWaitMs = 1500

/** Waits until this window has been told of a state; false where nobody tells it. */
export async function toldOf(state: FileState): Promise<boolean> {
  const isHere = () => seen !== undefined && isAsFarAs(seen, state)
  if (!isTold) return false
  if (isHere()) return true
  return await new Promise((resolve) => {
    const leave = (isSeen: boolean) => {
      clearTimeout(patience)
      waiting.delete(look)
      resolve(isSeen)
    }
    const look = () => {
      if (isHere()) leave(true)
    }
    const patience = setTimeout(() => leave(false), longestWaitMs)
    waiting.add(look)
  })
}
