import Database from 'better-sqlite3'
import { Kysely, SqliteDialect } from 'kysely'
import { Migrator } from 'kysely/migration'
import { keepPhrase } from '#core/words/kept-phrase.ts'
import { phraseLater } from '#core/words/phrase.ts'
import { migrations } from '#migrations/index.ts'

/** Name of a table, index, trigger or view, with its kind and how it is made, in one spelling. */
type Parts = ReadonlyMap<string, { readonly kind: string; readonly made: string; readonly sql: string }>

/** Quotes and gaps differ between versions of SQLite and of the query builder without a difference. */
const spelled = (sql: string | null): string =>
  (sql ?? '')
    .replaceAll('"', '')
    .replaceAll(/\s+/g, ' ')
    .replaceAll(/ ?([(),]) ?/g, '$1')

function partsOf(raw: Database.Database): Parts {
  const rows = raw.prepare('select type, name, tbl_name, sql from sqlite_schema').raw().all() as [
    string,
    string,
    string,
    string | null,
  ][]
  return new Map(
    rows
      .filter(([, name]) => !/^sqlite_(?:stat|sequence)/.test(name))
      .map(([kind, name, table, sql]) => [name, { kind, made: `${kind} ${table} ${spelled(sql)}`, sql: sql ?? '' }]),
  )
}

const isOwnIndex = (name: string, kind: string): boolean => kind === 'index' && !name.startsWith('sqlite_')

const known = new Map<number, Promise<Parts>>()

async function make(step: number): Promise<Parts> {
  const raw = new Database(':memory:')
  const db = new Kysely<unknown>({ dialect: new SqliteDialect({ database: raw }) })
  try {
    const name = Object.keys(migrations)[step - 1]
    if (name === undefined) return new Map()
    const { error } = await new Migrator({ db, provider: { getMigrations: async () => migrations } }).migrateTo(name)
    if (error) throw error
    return partsOf(raw)
  } finally {
    await db.destroy()
  }
}

function knownParts(step: number): Promise<Parts> {
  const made = known.get(step) ?? make(step)
  known.set(step, made)
  return made
}

/** How a file's schema differs from that of its step. */
export interface ForeignParts {
  /** Indexes that are missing, strange or made otherwise: they hold nothing of their own and can be made anew. */
  readonly indexes: readonly string[]
  /** Anything else, each in a few words as `keepPhrase` keeps them; so are those of indexes. */
  readonly others: readonly string[]
}

const missingPart = phraseLater(
  '{kind, select, table {the table} index {the index} trigger {the trigger} other {the view}} {name} is missing',
)
const foreignPart = phraseLater(
  '{kind, select, table {the table} index {the index} trigger {the trigger} other {the view}} {name} is not Tareline’s',
)
const otherPart = phraseLater(
  '{kind, select, table {the table} index {the index} trigger {the trigger} other {the view}} {name} is made otherwise',
)

/** Compares a file's schema with the one that the steps up to its own make. */
export async function foreignParts(raw: Database.Database, step: number): Promise<ForeignParts> {
  const expected = await knownParts(step)
  const found = partsOf(raw)
  const indexes: string[] = []
  const others: string[] = []
  for (const name of new Set([...expected.keys(), ...found.keys()])) {
    const [is, should] = [found.get(name), expected.get(name)]
    if (is?.made === should?.made) continue
    const words =
      is === undefined
        ? keepPhrase(missingPart, { kind: should?.kind ?? '', name })
        : should === undefined
          ? keepPhrase(foreignPart, { kind: is.kind, name })
          : keepPhrase(otherPart, { kind: should.kind, name })
    // SQLite's own index of a key is part of its table.
    const isIndex = [is, should].every((part) => part === undefined || isOwnIndex(name, part.kind))
    ;(isIndex ? indexes : others).push(words)
  }
  return { indexes, others }
}

/**
 * The statements that make every index anew as the step has it; they fail where a key is there twice. None is kept to
 * be filled again: a page of another kind in its place would stay.
 */
export async function indexStatements(raw: Database.Database, step: number): Promise<readonly string[]> {
  const indexesOf = (parts: Parts) => [...parts].filter(([name, { kind }]) => isOwnIndex(name, kind))
  return [
    ...indexesOf(partsOf(raw)).map(([name]) => `drop index "${name.replaceAll('"', '""')}"`),
    // Those of keys, which belong to their tables.
    'reindex',
    ...indexesOf(await knownParts(step)).map(([, { sql }]) => sql),
  ]
}
