import { type RawBuilder, type SqlBool, sql } from 'kysely'
import { type FindingCode, type Trust, trustStates } from '#core/findings/finding.ts'
import { nextDue } from '#core/findings/next-due.ts'
import { standingRanks } from '#core/findings/trust.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { type RosterUnit, listRoster } from '#core/store/roster.ts'
import { among, fewWith } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import { naturalKey } from '#core/words/names.ts'
import { codeOf } from '#core/words/problem.ts'
import type { UnitKind } from '#core/words/vocabulary.ts'

/**
 * The Roster as it is stored, a line a unit. Triggers mark the units whose line is no longer that of the record
 * (migrations/0023-roster-lines.ts); here lines are made anew, and read by page.
 */

type Line = Schema['roster_line']

function lineOf(row: RosterUnit): Line {
  const { trust, dueOn, make, model } = row
  const ranks = standingRanks(row)
  const due = trust === null ? null : nextDue(trust, dueOn)
  return {
    unit_id: row.unitId,
    number: row.unit,
    number_key: naturalKey(row.unit),
    kind: row.kind,
    make,
    model,
    model_year: row.modelYear,
    yard: row.yard,
    retired: row.retired ? 1 : 0,
    trust,
    groups: row.groups,
    finding: row.worstFinding,
    findings: JSON.stringify(row.findingCodes),
    calibrated_at: row.calibratedAt,
    due_on: dueOn,
    u_limit_lb: row.uLimitLb,
    cell_since: row.cellSince,
    unsensed: ranks.unsensed as Line['unsensed'],
    trust_rank: ranks.trust,
    finding_rank: ranks.finding,
    due_rank: ranks.due,
    u_rank: -ranks.sureness,
    due_key: due === 'now' ? '' : due,
    model_key: [make, model].filter(Boolean).join(' ') || null,
    words: [row.unit, row.kind, make, model, row.modelYear, row.yard]
      .filter((fact) => fact !== null)
      .join(' ')
      .toLowerCase(),
  }
}

const rowOf = (line: Line): RosterUnit => ({
  unitId: line.unit_id,
  unit: line.number,
  kind: line.kind,
  make: line.make,
  model: line.model,
  modelYear: line.model_year,
  yard: line.yard,
  retired: line.retired === 1,
  trust: line.trust,
  groups: line.groups,
  worstFinding: line.finding,
  findingCodes: JSON.parse(line.findings) as FindingCode[],
  calibratedAt: line.calibrated_at,
  dueOn: line.due_on,
  uLimitLb: line.u_limit_lb,
  cellSince: line.cell_since,
})

/** Above so many marked units all lines are made anew by the Roster's four walks over the fleet. */
const manyUnits = 2000

/** Puts the lines of units as they are now in place of those in a table. */
function makeLines(store: Store, table: 'main.roster_line' | 'temp.roster_line', unitIds: readonly number[]): void {
  const { raw } = store
  const gone = raw.prepare(`delete from ${table} where unit_id = ?`)
  for (const unitId of unitIds) gone.run(unitId)
  const marked = new Set(unitIds)
  let insert: ReturnType<typeof raw.prepare> | undefined
  for (const row of listRoster(store, unitIds.length > manyUnits ? undefined : unitIds)) {
    if (!marked.has(row.unitId)) continue
    const line = lineOf(row)
    const columns = Object.keys(line)
    insert ??= raw.prepare(`insert into ${table} (${columns.join(', ')}) values (${columns.map(() => '?').join(', ')})`)
    insert.run(Object.values(line))
  }
}

/** Makes the lines of marked units anew, of some of them or of all; inside the caller's write transaction. */
export function renewRosterLines(store: Store, some?: readonly number[]): void {
  const { raw } = store
  const isMarked = raw.prepare('select 1 from roster_behind where unit_id = ?').pluck()
  const unitIds = some
    ? some.filter((unitId) => isMarked.get(unitId) !== undefined)
    : (raw.prepare('select unit_id from roster_behind').pluck().all() as number[])
  if (unitIds.length === 0) return
  makeLines(store, 'main.roster_line', unitIds)
  const unmark = raw.prepare('delete from roster_behind where unit_id = ?')
  for (const unitId of unitIds) unmark.run(unitId)
}

const isHindered = (error: unknown): boolean => /^SQLITE_(?:BUSY|READONLY|FULL|IOERR)/.test(codeOf(error) ?? '')

/** Stores whose connection reads lines of its own, as it could not write the file's. */
const beside = new WeakSet<Store>()

/** Makes the lines of marked units anew in the file; false where that cannot be done at once. */
function renewInFile(store: Store): boolean {
  const { raw } = store
  const patience = Number(raw.pragma('busy_timeout', { simple: true }))
  raw.pragma('busy_timeout = 0')
  try {
    raw.transaction(() => renewRosterLines(store)).immediate()
    return true
  } catch (error) {
    if (!isHindered(error)) throw error
    return false
  } finally {
    raw.pragma(`busy_timeout = ${patience}`)
  }
}

/**
 * Has the lines that a connection reads be those of the record: the file's own made anew where some are marked. Where
 * the file cannot be written just now, or is only looked at, the connection gets lines of its own in its temporary
 * schema, which is found before the file's; so a look never waits.
 */
function settleLines(store: Store): void {
  const { raw } = store
  const isBehind = () => raw.prepare('select 1 from main.roster_behind limit 1').get() !== undefined
  if (!isBehind() && !beside.has(store)) return
  const isLook = raw.pragma('query_only', { simple: true }) === 1
  raw.pragma('query_only = OFF')
  try {
    raw.exec('drop table if exists temp.roster_line')
    beside.delete(store)
    if (!isBehind() || (!raw.readonly && !isLook && renewInFile(store))) return
    raw.exec('create temp table roster_line as select * from main.roster_line')
    beside.add(store)
    makeLines(store, 'temp.roster_line', raw.prepare('select unit_id from roster_behind').pluck().all() as number[])
  } finally {
    if (isLook) raw.pragma('query_only = ON')
  }
}

export interface RosterFilter {
  /** Every word of it must occur, in capitals or not. */
  readonly text?: string | undefined
  readonly trust?: readonly Trust[] | undefined
  readonly kind?: UnitKind | undefined
  readonly yard?: string | undefined
  readonly finding?: FindingCode | undefined
  /** Units that are retired as well. */
  readonly retired: boolean
  /** Only units with a sensed group. */
  readonly sensed?: boolean | undefined
}

/** match: how well the number answers the text, its beginning before its middle before other facts. */
export type RosterSort =
  | 'unit'
  | 'trust'
  | 'finding'
  | 'age'
  | 'due'
  | 'uncertainty'
  | 'cell'
  | 'yard'
  | 'model'
  | 'match'

export interface RosterOrder {
  readonly sort: RosterSort
  readonly descending: boolean
}

const typedWords = (text = '') => text.toLowerCase().split(/\s+/).filter(Boolean)

/** few: ids of the lines that hold the text, where they are few. */
type Searched = RosterFilter & { readonly few?: readonly number[] | undefined }

/**
 * That a line holds each word of a text. One index alone has the words in it: a walk along another asks for the lines
 * that were found along that one.
 */
function holdsText({ text, few }: Searched, hasWords: boolean): RawBuilder<unknown>[] {
  const words = typedWords(text)
  if (words.length === 0) return []
  if (few) return [sql`l.unit_id in ${among(few)}`]
  const each = sql.join(
    words.map((word) => sql`instr(words, ${word}) > 0`),
    sql` and `,
  )
  return [hasWords ? each : sql`+l.unit_id in (select unit_id from roster_line where ${each})`]
}

/**
 * The plus before a column keeps SQLite from looking rows up by it: each order has an index that holds all that the
 * Roster is narrowed by, so a page, a place and a count are a walk along one (migrations/0024-list-walks.ts).
 */
function isWanted(asked: Searched, hasWords: boolean): RawBuilder<SqlBool> {
  const { trust = [], kind, yard, finding, retired, sensed = false } = asked
  const conditions: RawBuilder<unknown>[] = [
    ...(retired ? [] : [sql`+l.retired = 0`]),
    ...(trust.length > 0 ? [sql`+l.trust in (${sql.join(trust)})`] : []),
    ...(sensed ? [sql`+l.trust is not null`] : []),
    ...(kind === undefined ? [] : [sql`+l.kind = ${kind}`]),
    ...(yard === undefined ? [] : [sql`+l.yard = ${yard}`]),
    ...(finding === undefined ? [] : [sql`+l.unit_id in (select unit_id from finding where code = ${finding})`]),
    ...holdsText(asked, hasWords),
  ]
  return conditions.length === 0 ? sql<SqlBool>`true` : sql<SqlBool>`${sql.join(conditions, sql` and `)}`
}

/** What lines are ordered by, one thing after another. */
interface Term {
  readonly by: RawBuilder<unknown>
  readonly descending: boolean
  /** Whether it may be unknown. */
  readonly open?: boolean
}

/** How lines are ordered; what is unknown goes last either way, and lines that are alike go by their number. */
function termsOf({ sort, descending }: RosterOrder, text = ''): readonly Term[] {
  const term = (column: string, isDescending = false): Term => ({
    by: sql.ref(`l.${column}`),
    descending: isDescending,
  })
  const open = (column: string, isDescending = descending): Term => ({ ...term(column, isDescending), open: true })
  const orders = {
    unit: () => [],
    trust: () => [
      term('unsensed'),
      term('trust_rank', descending),
      term('finding_rank'),
      term('due_rank'),
      term('u_rank', true),
    ],
    finding: () => [open('finding')],
    // By age: what came last is the youngest.
    age: () => [open('calibrated_at', !descending)],
    due: () => [open('due_key')],
    uncertainty: () => [open('u_limit_lb')],
    cell: () => [open('cell_since', !descending)],
    yard: () => [open('yard')],
    model: () => [open('model_key')],
    match: () => {
      const typed = text.trim().toLowerCase()
      // The words begin with the number, in small letters; SQLite itself knows those of English alone.
      const at = sql`instr(l.words, ${typed})`
      const by = sql`case when ${at} = 1 and l.number_key = ${naturalKey(typed)} then 0 when ${at} = 1 then 1
        when ${at} between 2 and length(l.number) then 2 else 3 end`
      return [{ by, descending: false }]
    },
  } satisfies Readonly<Record<RosterSort, () => readonly Term[]>>
  return [...orders[sort](), term('number_key', sort === 'unit' && descending), term('unit_id')]
}

/** SQLite follows an index past the first column only where nothing is said of what cannot be unknown. */
const inOrder = (order: RosterOrder, text?: string): RawBuilder<unknown> =>
  sql.join(
    termsOf(order, text).map(
      ({ by, descending, open = false }) =>
        sql`${by} ${sql.raw(`${descending ? 'desc' : 'asc'}${open ? ' nulls last' : ''}`)}`,
    ),
  )

/** Orders whose index has the words of the lines in it. */
const haveWords: ReadonlySet<RosterSort> = new Set(['unit', 'match'])

export interface RosterCounts {
  readonly trust: Record<Trust, number>
  /** Units without a sensed group. */
  readonly notSensed: number
}

export interface RosterPage {
  readonly rows: RosterUnit[]
  /** Units that the filter leaves. */
  readonly total: number
  /** Units of the fleet, retired ones among them. */
  readonly all: number
  /** Units that each state would show, with every other filter as it is. */
  readonly counts: RosterCounts
  /** Place of the unit that was asked for; null where the filter leaves it out. */
  readonly place: number | null
}

export interface RosterAsked extends Omit<RosterFilter, 'sensed'>, RosterOrder {
  readonly offset: number
  readonly limit: number
  /** A unit whose place is asked for. */
  readonly at?: string | undefined
}

/** Those lines that a filter leaves, to be counted, or in an order. */
const lines = (db: Reader, asked: Searched, sort?: RosterSort) =>
  db.selectFrom('roster_line as l').where(isWanted(asked, sort === undefined || haveWords.has(sort)))

const countOf = async (query: ReturnType<typeof lines>): Promise<number> =>
  (await query.select(({ fn }) => fn.countAll<number>().as('units')).executeTakeFirstOrThrow()).units

const fewLines = (db: Reader, filter: RosterFilter): Promise<number[] | undefined> =>
  fewWith(filter.text ?? '', (_, limit) => lines(db, filter).select('l.unit_id as id').limit(limit).execute())

async function countByTrust(db: Reader, filter: Searched): Promise<RosterCounts> {
  const counted = await lines(db, filter)
    .select(({ fn }) => ['l.trust', fn.countAll<number>().as('units')])
    // The index by states is one without words.
    .groupBy(typedWords(filter.text).length > 0 ? sql`+l.trust` : 'l.trust')
    .execute()
  const units = new Map(counted.map((row) => [row.trust, row.units]))
  return {
    trust: Object.fromEntries(trustStates.map((trust) => [trust, units.get(trust) ?? 0])) as RosterCounts['trust'],
    notSensed: units.get(null) ?? 0,
  }
}

/** Whether a line comes before one that these are the values of. */
function comesBefore([first, ...rest]: readonly Term[], [value, ...values]: readonly unknown[]): RawBuilder<SqlBool> {
  if (first === undefined) return sql<SqlBool>`false`
  const { by, descending } = first
  const isFirst = value === null ? sql`${by} is not null` : sql`${by} ${sql.raw(descending ? '>' : '<')} ${value}`
  return sql<SqlBool>`(${isFirst} or (${by} is ${value} and ${comesBefore(rest, values)}))`
}

/** The place of a unit among those that a filter leaves, in their order. */
async function placeOf(db: Reader, asked: RosterAsked & Searched, number: string): Promise<number | null> {
  const terms = termsOf(asked, asked.text)
  const own = await lines(db, asked, asked.sort)
    .select(terms.map(({ by }, i) => by.as(`by_${i}`)))
    .where('l.number_key', '=', naturalKey(number))
    .where('l.number', '=', number)
    .executeTakeFirst()
  if (!own) return null
  // Without the plus SQLite looks rows up by each of these in turn.
  return await countOf(lines(db, asked, asked.sort).where(sql<SqlBool>`+${comesBefore(terms, Object.values(own))}`))
}

/** How many units of those counted a filter of states leaves; of none, all of them. */
const totalOf = ({ trust, notSensed }: RosterCounts, states: readonly Trust[] = []): number =>
  states.length > 0
    ? states.reduce((sum, state) => sum + trust[state], 0)
    : Object.values(trust).reduce((sum, units) => sum + units, notSensed)

/** The rows of a page: its lines are chosen along an index first, and then looked up. */
async function rowsOf(db: Reader, asked: RosterAsked & Searched): Promise<RosterUnit[]> {
  const chosen = await lines(db, asked, asked.sort)
    .select('l.unit_id')
    .orderBy(inOrder(asked, asked.text))
    .limit(asked.limit)
    .offset(asked.offset)
    .execute()
  const unitIds = chosen.map(({ unit_id }) => unit_id)
  const found = await db.selectFrom('roster_line').selectAll().where('unit_id', 'in', unitIds).execute()
  const byUnit = new Map(found.map((line) => [line.unit_id, rowOf(line)]))
  return unitIds.flatMap((unitId) => byUnit.get(unitId) ?? [])
}

/** A page of the Roster, with what stands around it. */
export async function readRosterPage(store: Store, asked: RosterAsked): Promise<RosterPage> {
  settleLines(store)
  const { db } = store
  const { trust, at } = asked
  const besideTrust = { ...asked, trust: undefined }
  const few = await fewLines(db, besideTrust)
  const counts = await countByTrust(db, { ...besideTrust, few })
  const searched = { ...asked, few }
  const total = totalOf(counts, trust)
  return {
    counts,
    total,
    rows: total === 0 ? [] : await rowsOf(db, searched),
    all: await countOf(lines(db, { retired: true })),
    place: at === undefined || total === 0 ? null : await placeOf(db, searched, at),
  }
}

/** All rows that a filter leaves, in their order. */
export async function readWholeRoster(
  store: Store,
  asked: RosterFilter & RosterOrder,
  limit: number,
): Promise<RosterUnit[]> {
  settleLines(store)
  const found = await lines(store.db, asked, asked.sort)
    .selectAll('l')
    .orderBy(inOrder(asked, asked.text))
    .limit(limit)
    .execute()
  return found.map(rowOf)
}

/** Units that somebody looks for, to put them together. */
export interface UnitsSought {
  readonly text: string
  /** Trailers, or whatever leads. */
  readonly towed: boolean
  /** Only these, by their numbers. */
  readonly among?: readonly string[] | undefined
  readonly limit: number
}

/** The ids of those in service that a text finds, the best answer first; without one the first by number. */
export async function findUnitIds(store: Store, { text, towed, among: own, limit }: UnitsSought): Promise<number[]> {
  settleLines(store)
  const { db } = store
  const asked = { text, retired: false, sort: text === '' ? 'unit' : 'match', descending: false } as const
  let query = lines(db, { ...asked, few: await fewLines(db, asked) }, asked.sort)
    .select('l.unit_id')
    .where(towed ? sql<SqlBool>`+l.kind = 'trailer'` : sql<SqlBool>`+l.kind <> 'trailer'`)
  if (own) query = query.where('l.number', 'in', own)
  const found = await query.orderBy(inOrder(asked, text)).limit(limit).execute()
  return found.map(({ unit_id }) => unit_id)
}

/** What a Roster can be narrowed to. */
export interface RosterChoices {
  readonly yards: string[]
  readonly findings: FindingCode[]
  readonly retired: boolean
}

export async function readRosterChoices({ db }: Store): Promise<RosterChoices> {
  const yards = await db
    .selectFrom('yard as y')
    .select('y.name')
    .where(({ exists, selectFrom }) =>
      exists(selectFrom('unit as u').select('u.id').whereRef('u.yard_id', '=', 'y.id')),
    )
    .orderBy('y.name')
    .execute()
  const findings = await db.selectFrom('finding').select('code').distinct().where('unit_id', 'is not', null).execute()
  const retired = await db
    .selectFrom('roster_line')
    .select('unit_id')
    .where('retired', '=', 1)
    .limit(1)
    .executeTakeFirst()
  return {
    yards: yards.map(({ name }) => name),
    findings: findings.map(({ code }) => code as FindingCode),
    retired: retired !== undefined,
  }
}

/** How many units in service stand in each state of trust. */
export function countRoster(store: Store): Promise<RosterCounts> {
  settleLines(store)
  return countByTrust(store.db, { retired: false })
}
