import type { Sql, TransactionSql } from 'postgres'
import {
  type PublishOptions,
  type PublishedCount,
  type PublishedFleet,
  type PublishedKind,
  type PublishedTable,
  type Publishing,
  digestOf,
  namesake,
  publishedLayout,
  sortedRows,
} from '#core/exchange/publish/published-table.ts'
import { fleetNameOf } from '#core/exchange/publish/fleet-name.ts'
import { codeOf, TarelineError } from '#core/words/problem.ts'

/** The schema that is ours in somebody's database. */
const schema = 'tareline'

const types: Readonly<Record<PublishedKind, string>> = {
  text: 'text',
  whole: 'integer',
  number: 'double precision',
  'yes or no': 'boolean',
  moment: 'timestamptz',
  day: 'date',
  texts: 'text[]',
  json: 'jsonb',
}

/** A string constant of SQL. */
const literal = (text: string): string => `'${text.replaceAll("'", "''")}'`

/** What a table and its columns mean, where whoever looks into the database finds it. */
const comments = (table: string, about: string, columns: readonly { name: string; about: string }[]): string[] => [
  `comment on table ${schema}.${table} is ${literal(about)}`,
  ...columns.map(({ name, about: meaning }) => `comment on column ${schema}.${table}.${name} is ${literal(meaning)}`),
]

const fleetKey = { name: 'fleet_id', about: 'The fleet, as in the table fleet' }
const partKey = { name: 'part', about: 'Rows that are replaced together; no more than bookkeeping of the publishing' }

const fleetColumns = [
  { name: 'fleet_id', type: 'uuid primary key', about: 'Tells the fleet from every other; kept in its file' },
  { name: 'name', type: 'text not null unique', about: 'What it is called: --fleet, or else the name of its file' },
  { name: 'zone', type: 'text not null', about: 'Time zone in which it counts its days' },
  { name: 'published_at', type: 'timestamptz not null', about: 'When it was last written here' },
  { name: 'judged_for', type: 'timestamptz not null', about: 'The moment of all judgements: the end of a day' },
  { name: 'record_revision', type: 'integer not null', about: 'Revision of its record' },
  { name: 'mark', type: 'text not null', about: 'Differs whenever anything may have changed; bookkeeping' },
]
const partColumns = [
  { ...fleetKey, type: `uuid not null references ${schema}.fleet on delete cascade` },
  { name: 'table_name', type: 'text not null', about: 'The table' },
  { ...partKey, type: 'integer not null' },
  { name: 'digest', type: 'text not null', about: 'Tells whether its rows are still the same' },
]
const layoutColumns = [{ name: 'version', type: 'integer not null', about: 'Rises when tables change their columns' }]

function ownTable(name: string, about: string, columns: readonly { name: string; type: string; about: string }[]) {
  const body = columns.map((column) => `${column.name} ${column.type}`).join(', ')
  return [`create table ${schema}.${name} (${body})`, ...comments(name, about, columns)]
}

function tableSteps({ name, about, columns, key }: PublishedTable): string[] {
  const body = [
    `fleet_id uuid not null references ${schema}.fleet on delete cascade`,
    ...columns.map((column) => `${column.name} ${types[column.kind]}`),
    'part integer not null',
    ...(key.length === 0 ? [] : [`primary key (fleet_id, ${key.join(', ')})`]),
  ]
  const indexed = columns.some((column) => column.name === 'day') ? ['part', 'day'] : ['part']
  return [
    `create table ${schema}.${name} (${body.join(', ')})`,
    ...indexed.map((column) => `create index on ${schema}.${name} (fleet_id, ${column})`),
    ...comments(name, about, [fleetKey, ...columns, partKey]),
  ]
}

/** Every step that makes the tables in a database that has none. */
const layoutSteps = (tables: readonly PublishedTable[]): string[] => [
  `create schema ${schema}`,
  `comment on schema ${schema} is ${literal(
    'Reporting copy of fleets, written by Tareline and never read by it: what is changed here is lost. ' +
      'Weights lb, pressures psi; uncertainties are standard ones (k = 1), days are of the fleet’s zone.',
  )}`,
  ...ownTable('layout', 'Which version of these tables this is', layoutColumns),
  `insert into ${schema}.layout values (${publishedLayout})`,
  ...ownTable('fleet', 'Every fleet that is published here', fleetColumns),
  ...ownTable('published_part', 'What stands in the tables; bookkeeping of the publishing', partColumns),
  `alter table ${schema}.published_part add primary key (fleet_id, table_name, part)`,
  ...tables.flatMap(tableSteps),
]

/** Where to, without the password or whatever else may be secret. */
function nameOf(address: URL): string {
  const user = address.username === '' ? '' : `${decodeURIComponent(address.username)}@`
  return `${user}${address.host || 'localhost'}${decodeURIComponent(address.pathname)}`
}

export const isPostgres = (to: string): boolean => /^postgres(ql)?:\/\//i.test(to)

function readAddress(to: string): URL {
  const address = URL.parse(to)
  // The text itself may hold a password, so it is not repeated.
  if (address === null)
    throw new TarelineError(
      'bad-address',
      'The address after --to is no address of a PostgreSQL. One such as postgres://user@host:5432/database is ' +
        'accepted; signs such as @ or / within a password are written as %40 or %2F.',
    )
  return address
}

const unreachable = new Set(['ECONNREFUSED', 'ENOTFOUND', 'EAI_AGAIN', 'ETIMEDOUT', 'EHOSTUNREACH', 'ENOENT', 'EACCES'])
const cut = new Set(['CONNECTION_CLOSED', 'CONNECTION_ENDED', 'CONNECTION_DESTROYED', 'ECONNRESET', 'EPIPE'])

/** What went wrong at the database, in a sentence; the address is told without its password. */
function refusal(error: unknown, address: URL): unknown {
  const code = codeOf(error)
  if (error instanceof TarelineError || code === undefined) return error
  const at = nameOf(address)
  const say = (name: string, message: string) => new TarelineError(name, message)
  if (unreachable.has(code) || code === 'CONNECT_TIMEOUT')
    return say('no-database', `No PostgreSQL answers at ${at} (${code}). Check host, port and whether it runs.`)
  if (cut.has(code))
    return say(
      'cut-off',
      `The connection to ${at} ended in the middle of the work. Nothing was changed there; try again.`,
    )
  if (code === '28P01' || code === '28000')
    return say('not-let-in', `The PostgreSQL at ${at} does not let this user in. Check the user’s name and password.`)
  if (code === '3D000')
    return say('no-database', `There is no such database at ${at}. Make it with createdb, or name another one.`)
  if (code === '42501')
    return say(
      'no-rights',
      `The user may not write the tables at ${at}. Its owner can allow it: GRANT CREATE ON DATABASE for the first ` +
        `time; afterwards the user that published first is the one who may.`,
    )
  if (/CERT|SSL|TLS/.test(code) && error instanceof Error)
    return say(
      'no-database',
      `The PostgreSQL at ${at} could not be reached safely: ${error.message} (${code}). Ask its owner for a certificate ` +
        'that this machine knows; NODE_EXTRA_CA_CERTS names a file with it.',
    )
  if (/^[0-9A-Z]{5}$/.test(code) && error instanceof Error)
    return say('database-refused', `The PostgreSQL at ${at} refused the work: ${error.message} (${code}).`)
  return error
}

/** Makes the tables where there are none. Errors: TarelineError `other-tables`. */
async function settleLayout(sql: TransactionSql, tables: readonly PublishedTable[], at: string): Promise<void> {
  const [found] = await sql<{ own: boolean; any: boolean }[]>`
    select to_regclass('tareline.layout') is not null as own, to_regnamespace('tareline') is not null as any`
  if (found?.own !== true) {
    if (found?.any === true)
      throw new TarelineError(
        'other-tables',
        `${at} has a schema "${schema}" that this program did not make. Publish into another database.`,
      )
    for (const step of layoutSteps(tables)) await sql.unsafe(step)
    return
  }
  const [layout] = await sql<{ version: number }[]>`select version from tareline.layout`
  if (layout?.version !== publishedLayout)
    throw new TarelineError(
      'other-tables',
      `The tables at ${at} are of version ${layout?.version ?? 'unknown'}; this program writes version ` +
        `${publishedLayout}. Publish with the program that made them, or into another database.`,
    )
}

type StoredFleet = { readonly name: string; readonly mark: string }

/** Writes the fleet's own row; answers its name. Errors: TarelineError `name-taken`. */
async function writeFleet(
  sql: TransactionSql,
  fleet: PublishedFleet,
  before: StoredFleet | undefined,
): Promise<string> {
  const name = fleetNameOf(fleet, before?.name)
  const [other] = await sql`select 1 from tareline.fleet where name = ${name} and fleet_id <> ${fleet.key}`
  if (other) throw namesake(name)
  const row = [fleet.key, name, fleet.zone, fleet.at, fleet.judgedFor, fleet.revision, fleet.mark]
  await sql.unsafe(
    `insert into tareline.fleet (${fleetColumns.map((column) => column.name).join(', ')})
     values ($1, $2, $3, $4, $5, $6, $7)
     on conflict (fleet_id) do update set ${fleetColumns
       .slice(1)
       .map((column) => `${column.name} = excluded.${column.name}`)
       .join(', ')}`,
    row,
  )
  return name
}

/** Brings one table up to what is published: parts that are the same stay, those that are gone go. */
async function writeTable(
  sql: TransactionSql,
  fleet: string,
  { name, columns, parts }: PublishedTable,
  { anew, signal, onTable }: PublishOptions,
): Promise<PublishedCount> {
  const list = columns.map((column) => column.name).join(', ')
  const clear = `delete from ${schema}.${name} where fleet_id = $1 and part = any($2::int[])`
  const insert =
    `insert into ${schema}.${name} (fleet_id, part, ${list}) ` +
    `select $1, $2, ${list} from json_populate_recordset(null::${schema}.${name}, $3::text::json)`
  const rows = await sql<{ part: number; digest: string }[]>`
    select part, digest from tareline.published_part where fleet_id = ${fleet} and table_name = ${name}`
  const before = new Map(rows.map(({ part, digest }) => [part, digest]))
  const drop = async (gone: readonly number[]) => {
    if (gone.length === 0) return
    const some = `{${gone.join(',')}}`
    await sql.unsafe(clear, [fleet, some])
    await sql`
      delete from tareline.published_part
      where fleet_id = ${fleet} and table_name = ${name} and part = any(${some}::int[])`
  }
  if (anew) {
    await drop([...before.keys()])
    before.clear()
  }
  let all = 0
  let written = 0
  for await (const { part, rows: own } of parts()) {
    signal.throwIfAborted()
    const was = before.get(part)
    before.delete(part)
    all += own.length
    const text = sortedRows(own)
    const digest = digestOf(text)
    if (digest === was) continue
    if (was !== undefined) await drop([part])
    await sql.unsafe(insert, [fleet, part, text])
    await sql`insert into tareline.published_part values (${fleet}, ${name}, ${part}, ${digest})`
    written += own.length
    onTable(name, all)
  }
  await drop([...before.keys()])
  return { table: name, rows: all, written }
}

async function publish(
  sql: Sql,
  at: string,
  fleet: PublishedFleet,
  tables: readonly PublishedTable[],
  options: PublishOptions,
): Promise<Publishing> {
  return await sql.begin(async (trx) => {
    // Nobody else writes meanwhile; readers see what was there until all of it is new.
    await trx`select pg_advisory_xact_lock(hashtext('tareline'))`
    await trx`set local idle_in_transaction_session_timeout = 0`
    await settleLayout(trx, tables, at)
    const [before] = await trx<StoredFleet[]>`select name, mark from tareline.fleet where fleet_id = ${fleet.key}`
    const isNamed = before !== undefined && fleetNameOf(fleet, before.name) === before.name
    if (isNamed && !options.anew && before.mark === fleet.mark) return { fleet: before.name, tables: null }
    const name = await writeFleet(trx, fleet, before)
    const counts: PublishedCount[] = []
    for (const table of tables) counts.push(await writeTable(trx, fleet.key, table, options))
    return { fleet: name, tables: counts }
  })
}

/**
 * Writes a fleet into a PostgreSQL, all of it or nothing, as one transaction: only parts whose rows differ are sent.
 *
 * Errors: TarelineError `bad-address`, `no-database`, `not-let-in`, `no-rights`, `other-tables`, `name-taken`,
 * `cut-off`, `database-refused`.
 */
export async function publishToPostgres(
  to: string,
  fleet: PublishedFleet,
  tables: readonly PublishedTable[],
  options: PublishOptions,
): Promise<Publishing> {
  const address = readAddress(to)
  const { default: postgres } = await import('postgres')
  let sql: Sql | undefined
  try {
    sql = postgres(to, {
      max: 1,
      connect_timeout: 20,
      fetch_types: false,
      onnotice: () => {},
      connection: { application_name: 'tareline' },
    })
    return await publish(sql, nameOf(address), fleet, tables, options)
  } catch (error) {
    throw refusal(error, address)
  } finally {
    await sql?.end({ timeout: 5 })
  }
}

/** Where to, as it may be shown. */
export const shownAddress = (to: string): string => nameOf(readAddress(to))
