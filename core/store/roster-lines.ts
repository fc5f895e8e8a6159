import { type RawBuilder, type SqlBool, sql } from 'kysely'
import { type FindingCode, type Trust, trustStates } from '#core/findings/finding.ts'
import { nextDue } from '#core/findings/next-due.ts'
import { standingRanks } from '#core/findings/trust.ts'
import type { Reader, Store } from '#core/store/open.ts'
import { type RosterUnit, listRoster } from '#core/store/roster.ts'
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

function isWanted({
  text,
  trust = [],
  kind,
  yard,
  finding,
  retired,
  sensed = false,
}: RosterFilter): RawBuilder<SqlBool> {
  const conditions: RawBuilder<unknown>[] = [
    ...(retired ? [] : [sql`l.retired = 0`]),
    ...(trust.length > 0 ? [sql`l.trust in (${sql.join(trust)})`] : []),
    ...(sensed ? [sql`l.unsensed = 0`] : []),
    ...(kind === undefined ? [] : [sql`l.kind = ${kind}`]),
    ...(yard === undefined ? [] : [sql`l.yard = ${yard}`]),
    ...(finding === undefined ? [] : [sql`l.unit_id in (select unit_id from finding where code = ${finding})`]),
    ...typedWords(text).map((word) => sql`instr(l.words, ${word}) > 0`),
  ]
  return conditions.length === 0 ? sql<SqlBool>`true` : sql<SqlBool>`${sql.join(conditions, sql` and `)}`
}

/** How lines are ordered; what is unknown goes last either way, and lines that are alike go by their number. */
function inOrder({ sort, descending }: RosterOrder, text = ''): RawBuilder<unknown> {
  const way = descending ? sql`desc` : sql`asc`
  const otherWay = descending ? sql`asc` : sql`desc`
  const by = (column: string, direction = way) =>
    sql`${sql.ref(column)} is null, ${sql.ref(column)} ${direction}, l.number_key`
  const orders = {
    unit: () => sql`l.number_key ${way}`,
    trust: () => sql`l.unsensed, l.trust_rank ${way}, l.finding_rank, l.due_rank, l.u_rank desc, l.number_key`,
    finding: () => by('l.finding'),
    // By age: what came last is the youngest.
    age: () => by('l.calibrated_at', otherWay),
    due: () => by('l.due_key'),
    uncertainty: () => by('l.u_limit_lb'),
    cell: () => by('l.cell_since', otherWay),
    yard: () => by('l.yard'),
    model: () => by('l.model_key'),
    match: () => {
      const typed = text.trim().toLowerCase()
      // The words begin with the number, in small letters; SQLite itself knows those of English alone.
      const at = sql`instr(l.words, ${typed})`
      return sql`case when ${at} = 1 and l.number_key = ${naturalKey(typed)} then 0 when ${at} = 1 then 1
        when ${at} between 2 and length(l.number) then 2 else 3 end, l.number_key`
    },
  } satisfies Readonly<Record<RosterSort, () => RawBuilder<unknown>>>
  return sql`${orders[sort]()}, l.unit_id`
}

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

const lines = (db: Reader, asked: RosterFilter) => db.selectFrom('roster_line as l').where(isWanted(asked))

const countOf = async (query: ReturnType<typeof lines>): Promise<number> =>
  (await query.select(({ fn }) => fn.countAll<number>().as('units')).executeTakeFirstOrThrow()).units

async function countByTrust(db: Reader, filter: RosterFilter): Promise<RosterCounts> {
  const counted = await lines(db, filter)
    .select(({ fn }) => ['l.trust', fn.countAll<number>().as('units')])
    .groupBy('l.trust')
    .execute()
  const units = new Map(counted.map((row) => [row.trust, row.units]))
  return {
    trust: Object.fromEntries(trustStates.map((trust) => [trust, units.get(trust) ?? 0])) as RosterCounts['trust'],
    notSensed: units.get(null) ?? 0,
  }
}

/** The place of a unit among those that a filter leaves, in their order. */
async function placeOf(db: Reader, asked: RosterAsked, number: string): Promise<number | null> {
  const placed = lines(db, asked).select([
    'l.number',
    sql<number>`row_number() over (order by ${inOrder(asked, asked.text)}) - 1`.as('place'),
  ])
  const found = await db.selectFrom(placed.as('p')).select('p.place').where('p.number', '=', number).executeTakeFirst()
  return found?.place ?? null
}

/** How many units of those counted a filter of states leaves; of none, all of them. */
const totalOf = ({ trust, notSensed }: RosterCounts, states: readonly Trust[] = []): number =>
  states.length > 0
    ? states.reduce((sum, state) => sum + trust[state], 0)
    : Object.values(trust).reduce((sum, units) => sum + units, notSensed)

/** The rows of a page: its lines are chosen along an index first, and then looked up. */
async function rowsOf(db: Reader, asked: RosterAsked): Promise<RosterUnit[]> {
  const chosen = await lines(db, asked)
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
  const counts = await countByTrust(db, { ...asked, trust: undefined })
  const total = totalOf(counts, trust)
  return {
    counts,
    total,
    rows: total === 0 ? [] : await rowsOf(db, asked),
    all: await countOf(lines(db, { retired: true })),
    place: at === undefined || total === 0 ? null : await placeOf(db, asked, at),
  }
}

/** All rows that a filter leaves, in their order. */
export async function readWholeRoster(
  store: Store,
  asked: RosterFilter & RosterOrder,
  limit: number,
): Promise<RosterUnit[]> {
  settleLines(store)
  const found = await lines(store.db, asked).selectAll('l').orderBy(inOrder(asked, asked.text)).limit(limit).execute()
  return found.map(rowOf)
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
