import { phrase } from '#core/words/phrase.ts'
import Database from 'better-sqlite3'
import {
  CompiledQuery,
  type DatabaseConnection,
  type Driver,
  Kysely,
  SqliteDialect,
  SqliteDriver,
  type Transaction,
} from 'kysely'
import { existsSync, statSync } from 'node:fs'
import { resolve } from 'node:path'
import { bringUp } from '#core/store/bring-up.ts'
import { machineZone } from '#core/store/clock.ts'
import { keepCopy } from '#core/store/copies.ts'
import { refuseHeldElsewhere } from '#core/store/file-lease.ts'
import { refuseUnfitPlace, refuseWithoutLog } from '#core/store/file-place.ts'
import { applicationId, distrust, openToLook, isMarkedOurs, stepOf } from '#core/store/look.ts'
import { type Depth, type Harm, damagedError, lookOver, mend, noHarm } from '#core/store/look-over.ts'
import { numberOf } from '#core/store/rows.ts'
import type { Schema } from '#core/store/schema.ts'
import { sealAll } from '#core/store/seals.ts'
import { faultOf, openingError } from '#core/store/sqlite-fault.ts'
import { settleZone } from '#core/store/zone.ts'
import { TarelineError } from '#core/words/problem.ts'
import { migrations } from '#migrations/index.ts'

/** Statements that are kept ready, and how long they may be: a list of thousands of ids is not asked for twice. */
const mostStatements = 300
const longestStatement = 4000

/** The statements of each connection that are ready to be run again, by their texts. */
export const readyStatements: WeakMap<Database.Database, Map<string, Database.Statement>> = new WeakMap()

/**
 * The statement of a text that was prepared before, where nobody walks its rows just now: most take longer to prepare.
 */
function readyStatement(raw: Database.Database, text: string): Database.Statement {
  const ready = readyStatements.get(raw)
  const known = ready?.get(text)
  if (known && !known.busy) return known
  const made = raw.prepare(text)
  if (!ready || text.length > longestStatement) return made
  if (ready.size >= mostStatements) ready.clear()
  ready.set(text, made)
  return made
}

/**
 * Kysely's way to an open database. A transaction takes the right to write at once and waits its turn for it: one that
 * reads first and writes later would be refused without waiting when a thread of the app has stored a judgement in
 * between. On a full disk or a disk error SQLite itself rolls a transaction back, and a second rollback would fail with
 * an error of its own in place of the one that tells what happened.
 */
export class OpenDatabaseDialect extends SqliteDialect {
  readonly #raw: Database.Database

  constructor(raw: Database.Database) {
    super({ database: raw })
    this.#raw = raw
    readyStatements.set(raw, new Map())
  }

  override createDriver(): Driver {
    const raw = this.#raw
    return new (class extends SqliteDriver {
      override async beginTransaction(connection: DatabaseConnection): Promise<void> {
        await connection.executeQuery(CompiledQuery.raw('begin immediate'))
      }

      override async rollbackTransaction(connection: DatabaseConnection): Promise<void> {
        if (raw.inTransaction) await super.rollbackTransaction(connection)
      }
    })({ database: { prepare: (text) => readyStatement(raw, text), close: () => raw.close() } })
  }
}

export type Reader = Pick<Kysely<Schema>, 'selectFrom' | 'with'>
export type Writer = Transaction<Schema>

/** An open fleet database: the Kysely view for questions, the raw handle for bulk work and pragmas. */
export interface Store {
  readonly file: string
  /** Whether it is open to be looked at: then nothing of the record is written. */
  readonly lookOnly?: true
  readonly db: Kysely<Schema>
  readonly raw: Database.Database
  /** untouched: nothing more is written, not even what the planner of questions has learnt. */
  close(options?: { readonly untouched?: boolean }): Promise<void>
}

/** Version of SQLite that this copy of the app carries. */
export function sqliteVersion(): string {
  const raw = new Database(':memory:')
  try {
    return raw.prepare('select sqlite_version()').pluck().get() as string
  } finally {
    raw.close()
  }
}

/** The schema step that this version of the app writes. */
export const latestStep = Object.keys(migrations).length

/** Is this ours, and not from a newer version of the app? Returns its step. */
function inspect(raw: Database.Database, file: string): number {
  const tables = numberOf(raw, "select count(*) from sqlite_schema where type = 'table'")
  if (tables === 0) return 0
  if (!isMarkedOurs(raw)) {
    throw new TarelineError(
      'not-a-database',
      phrase('{file} is a database of another program. Choose the file of a fleet, or a new name to start one.', {
        file,
      }),
    )
  }
  const step = stepOf(raw)
  if (step > latestStep)
    throw new TarelineError(
      'newer',
      phrase(
        '{file} was written by a newer version of Tareline (step {step}; this version knows {latestStep}). Install the newer version; the file was not changed.',
        { file, step, latestStep },
      ),
    )
  return step
}

/** Foreign keys must rest while the steps run. */
async function migrate(raw: Database.Database, db: Kysely<Schema>): Promise<void> {
  raw.pragma('foreign_keys = OFF')
  try {
    await bringUp(raw, db, { applicationId, migrations }, async () => {
      await settleZone(db, machineZone())
      const broken = raw.pragma('foreign_key_check') as unknown[]
      if (broken.length > 0)
        throw new TarelineError(
          'migration-failed',
          phrase('The update of the database left {count} broken references and was undone.', {
            count: broken.length,
          }),
        )
      sealAll(raw)
    })
  } finally {
    raw.pragma('foreign_keys = ON')
  }
}

/** Refuses a file that other machines could write to, or do. */
function refuseUnfit(file: string): void {
  refuseUnfitPlace(file)
  refuseHeldElsewhere(file)
}

const isPresent = (file: string): boolean => existsSync(file) && statSync(file).size > 0

/**
 * Files up to this size are looked over wholly whenever they are opened; larger ones once a day, as they are copied.
 */
export const smallBytes = 8 * 1024 ** 2

/**
 * Looks a fleet file over before it is opened, which takes seconds for a large one; nothing of it is changed. Answers
 * what is wrong and can be made anew. Errors: those of `openStore`.
 */
export async function checkPages(name: string): Promise<Harm> {
  const file = resolve(name)
  let raw: Database.Database | undefined
  try {
    raw = openToLook(file)
    const step = inspect(raw, file)
    const depth: Depth = statSync(file).size > smallBytes ? 'pages' : 'all'
    const harm = step === 0 ? noHarm : await lookOver(raw, step, depth)
    if (harm.damage.length > 0) throw damagedError(file, harm)
    return harm
  } catch (error) {
    throw openingError(error, file)
  } finally {
    raw?.close()
  }
}

/** Entries of an index that are counted, of all indexes and where it is due: more tell a plan nothing new. */
const countedEntries = { all: 20_000, 'where due': 1000 } as const

/**
 * Has SQLite count what its tables hold, so that it plans questions by it: of all indexes, or where that is due, so
 * many entries of each. What hinders it does no harm.
 */
export function learnPlans(raw: Database.Database, how: keyof typeof countedEntries = 'where due'): void {
  if (!raw.open || raw.readonly || raw.inTransaction) return
  try {
    raw.pragma(`analysis_limit = ${countedEntries[how]}`)
    raw.exec(how === 'all' ? 'analyze' : 'pragma optimize')
  } catch (error) {
    if (faultOf(error) === undefined) throw error
  }
}

/** A store on an open connection. */
function asStore(file: string, raw: Database.Database): Store {
  const db = new Kysely<Schema>({ dialect: new OpenDatabaseDialect(raw) })
  return {
    file,
    db,
    raw,
    close: async ({ untouched = false } = {}) => {
      if (!untouched) learnPlans(raw)
      await db.destroy()
      // Kysely closes only what it has used.
      raw.close()
    },
  }
}

/**
 * Opens a fleet file for questions only, its pages not yet checked: whatever is wrong with it, nothing of it is
 * changed, and what would write fails with SQLITE_READONLY. Undefined where there is no file, or one that must be
 * brought to the newest step first.
 *
 * Errors: those of `openStore`.
 */
export function openUnchecked(name: string): Store | undefined {
  const file = resolve(name)
  refuseUnfit(file)
  if (!isPresent(file)) return undefined
  let raw: Database.Database | undefined
  try {
    raw = openToLook(file)
    if (inspect(raw, file) === latestStep) return asStore(file, raw)
    raw.close()
    return undefined
  } catch (error) {
    raw?.close()
    throw openingError(error, file)
  }
}

export interface OpenOptions {
  readonly mustExist?: boolean
  /** This program has had every page checked since it opened the file. */
  readonly checked?: boolean
  /** What that check found that is to be made anew. */
  readonly harm?: Harm
  /** Pages that its connection keeps, MB; a mass of rows goes in through many. */
  readonly cacheMb?: number
}

/**
 * Opens a fleet database, making it where there is none, and brings it to the newest step; a copy of the file is kept
 * before that. A file that is damaged, newer, or not ours is refused and not changed.
 *
 * Errors: TarelineError `not-a-database`, `damaged`, `newer`, `locked`, `read-only`, `disk-full`, `missing`,
 * `cannot-open`, `unfit-place`, `held-elsewhere`.
 */
export async function openStore(
  name: string,
  { mustExist = false, checked = false, harm: known = noHarm, cacheMb = 64 }: OpenOptions = {},
): Promise<Store> {
  const file = resolve(name)
  refuseUnfit(file)
  const present = isPresent(file)
  if (mustExist && !present)
    throw new TarelineError(
      'missing',
      phrase('{file} does not exist. Check the name, or import a fleet folder to make it.', { file }),
    )
  const harm = present && !checked ? await checkPages(file) : known
  let raw: Database.Database | undefined
  try {
    raw = new Database(file, { timeout: 5000 })
    distrust(raw)
    refuseWithoutLog(file, raw.pragma('journal_mode = WAL', { simple: true }))
    raw.pragma('synchronous = FULL')
    raw.pragma('foreign_keys = ON')
    raw.pragma(`cache_size = -${1024 * cacheMb}`)
    const step = inspect(raw, file)
    await mend(raw, file, step, harm)
    const store = asStore(file, raw)
    if (step < latestStep) {
      if (step > 0) await keepCopy(raw, file, 'before-update')
      await migrate(raw, store.db)
    }
    return store
  } catch (error) {
    raw?.close()
    throw openingError(error, file)
  }
}

/**
 * A connection beside a store that may not write. The last to close a file moves what is in its log into it; where that
 * must not happen, as with a damaged file or with a log that was taken away, this one is the last. Undefined where the
 * file has none.
 */
export function openGuard(file: string): Database.Database | undefined {
  let guard: Database.Database | undefined
  try {
    guard = new Database(file, { readonly: true, fileMustExist: true })
    distrust(guard)
    // It must have taken part in the log to count as a user of it.
    guard.pragma('user_version')
    return guard
  } catch (error) {
    guard?.close()
    if (faultOf(error) === undefined) throw error
    return undefined
  }
}
