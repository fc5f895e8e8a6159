import { phrase, phraseLater } from '#core/words/phrase.ts'
import { keepPhrase, sayKept } from '#core/words/kept-phrase.ts'
import type Database from 'better-sqlite3'
import { timeNow } from '#core/store/clock.ts'
import { foreignParts, indexStatements } from '#core/store/known-schema.ts'
import { firstComplaint } from '#core/store/look.ts'
import { brokenSeals, hasSeals } from '#core/store/seals.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { mendedOnDesk } from '#core/words/desk.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { writeSensorWords } from '#migrations/sensor-words.ts'

/** What is wrong with a fleet file of ours; nothing where all is empty and false. */
export interface Harm {
  /**
   * What makes it unfit: each in a few words, as `keepPhrase` keeps them, or a complaint of SQLite's. Then a copy is to
   * be restored.
   */
  readonly damage: readonly string[]
  /** What only its indexes have; the rows themselves are whole, so that they can be made anew. */
  readonly indexes: readonly string[]
  /** Whether judgements or weights are other than they were made: they can be made anew. */
  readonly made: boolean
}

export const noHarm: Harm = { damage: [], indexes: [], made: false }

export const isHarm = ({ damage, indexes, made }: Harm): boolean => damage.length > 0 || indexes.length > 0 || made

/** The first of what is wrong, said to whoever asks. */
export const sayHarm = ([first = '']: readonly string[]): string => sayKept(first)

/** What is wrong, each in a few words: kept sentences, and complaints of SQLite's. */
export const wordsOf = ({ damage, indexes, made }: Harm): string[] => [
  ...damage,
  ...indexes,
  ...(made ? [keepPhrase(phraseLater('judgments or weights were not as they had been made'))] : []),
]

/** What a check of SQLite's finds; that it cannot get past a damaged page is a finding too. */
function complaintsOf(raw: Database.Database, check: 'quick_check' | 'integrity_check', most: number): string[] {
  try {
    return (raw.pragma(`${check}(${most})`) as Record<string, string>[])
      .flatMap((row) => Object.values(row))
      .filter((text) => text !== 'ok')
      .map(firstComplaint)
  } catch (error) {
    if (faultOf(error) !== 'damaged' || !(error instanceof Error)) throw error
    return [error.message]
  }
}

/**
 * Indexes that cannot be read though SQLite's check finds no fault, which takes an empty page of another kind for an
 * empty index.
 */
function unreadableIndexes(raw: Database.Database): string[] {
  const indexes = raw
    .prepare("select name, tbl_name, sql from sqlite_schema where type = 'index' and sql is not null")
    .raw()
    .all() as [string, string, string][]
  const first = raw.prepare('select name from pragma_index_info(?) where seqno = 0').pluck()
  return indexes.flatMap(([name, table, made]) => {
    const [, only = ''] = /( where .*)$/is.exec(made) ?? []
    const column = first.get(name) as string | null
    // One that begins with an expression has no column to be asked by.
    if (column === null) return []
    try {
      raw.prepare(`select 1 from "${table}" indexed by "${name}"${only} order by "${column}" limit 1`).get()
      return []
    } catch (error) {
      if (faultOf(error) !== 'damaged') throw error
      return [keepPhrase(phraseLater('the index {name} cannot be read'), { name })]
    }
  })
}

/**
 * How thoroughly: `pages` reads every page and the schema; `all` holds indexes against their rows and rows against
 * their seals too, which takes ten times as long.
 */
export type Depth = 'pages' | 'all'

/** Looks a file of a step over. Errors: SQLite's, where it is too damaged to be read at all. */
export async function lookOver(raw: Database.Database, step: number, depth: Depth): Promise<Harm> {
  const foreign = await foreignParts(raw, step)
  const isOurs = foreign.others.length === 0 && foreign.indexes.length === 0
  // The whole check looks at all that the quick one does, so that this one only has to tell pages from indexes.
  const whole = depth === 'all' && isOurs ? complaintsOf(raw, 'integrity_check', 20) : undefined
  if (whole === undefined || whole.length > 0) {
    const pages = complaintsOf(raw, 'quick_check', 20)
    if (pages.length > 0) return { ...noHarm, damage: pages }
  }
  if (foreign.others.length > 0) return { ...noHarm, damage: foreign.others }
  if (depth === 'pages') return { ...noHarm, indexes: foreign.indexes }
  const broken = brokenSeals(raw)
  // One of somebody else's is not asked: it may be of any kind.
  const unread = isOurs ? unreadableIndexes(raw) : []
  const indexes = [...foreign.indexes, ...(whole ?? complaintsOf(raw, 'integrity_check', 20)), ...unread]
  if (broken.record.length > 0) {
    const altered = keepPhrase(
      phraseLater('rows of {count, plural, one {the table} other {the tables}} {tables} are not as they were saved'),
      { count: broken.record.length, tables: broken.record.join(', ') },
    )
    return { ...noHarm, damage: [altered, ...indexes] }
  }
  return { damage: [], indexes, made: broken.made }
}

/** The sentence for damage; where the file is left as it is. */
export const damagedError = (file: string, { damage }: Harm): TarelineError =>
  new TarelineError(
    'damaged',
    phrase('{file} is damaged and was left as it is ({damage}). Restore the newest copy from its copies folder.', {
      file,
      damage: sayHarm(damage),
    }),
  )

const mendedWords = (file: string, { indexes }: Harm): string =>
  indexes.length === 0
    ? keepPhrase(
        phraseLater(
          'Judgments and weights in {file} were not as they had been made. They are made anew from the record.',
        ),
        { file },
      )
    : keepPhrase(
        phraseLater(
          'Indexes of {file} were damaged ({damage}). They were made anew from its rows, which are whole. Check the disk: it may be failing.',
        ),
        { file, damage: indexes[0] ?? '' },
      )

/**
 * Makes anew what can be: indexes from the rows, and has judgements and weights made again; what was done is left on
 * the desk in a sentence. Nothing is written where there is nothing to do.
 *
 * Errors: TarelineError `damaged`, then nothing was changed.
 */
export async function mend(raw: Database.Database, file: string, step: number, harm: Harm): Promise<void> {
  if (harm.indexes.length === 0 && !harm.made) return
  const statements = harm.indexes.length > 0 ? await indexStatements(raw, step) : []
  raw.exec('begin immediate')
  try {
    for (const statement of statements) raw.exec(statement)
    const left = statements.length > 0 ? [...complaintsOf(raw, 'integrity_check', 1), ...unreadableIndexes(raw)] : []
    if (left.length > 0) throw damagedError(file, { ...noHarm, damage: left })
    if (harm.made && hasSeals(raw))
      raw.exec(`insert into behind_fleet (what, since)
        select w.what, l.revision from ledger l join (select 'judge' as what union select 'weigh') w where true
        on conflict (what) do update set since = excluded.since`)
    const has = raw.prepare("select 1 from sqlite_schema where type = 'table' and name = ?")
    if (harm.made && has.get('roster_behind'))
      raw.exec('insert into roster_behind select id from unit where true on conflict do nothing')
    if (harm.made && has.get('sensor_words')) raw.exec(`delete from sensor_words; ${writeSensorWords('true')}`)
    if (has.get('desk'))
      raw
        .prepare('insert into desk values (?, ?, ?) on conflict (name) do update set text = excluded.text')
        .run(mendedOnDesk, mendedWords(file, harm), toStoredInstant(timeNow()))
    raw.exec('commit')
  } catch (error) {
    if (raw.inTransaction) raw.exec('rollback')
    if (error instanceof TarelineError || faultOf(error) !== undefined) throw error
    throw damagedError(file, { ...noHarm, damage: harm.indexes })
  }
}
