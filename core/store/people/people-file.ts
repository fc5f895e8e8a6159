import { phrase } from '#core/words/phrase.ts'
import Database from 'better-sqlite3'
import { Kysely } from 'kysely'
import { randomBytes } from 'node:crypto'
import { chmodSync, closeSync, openSync } from 'node:fs'
import { basename, dirname, join, resolve } from 'node:path'
import { bringUp } from '#core/store/bring-up.ts'
import { distrust, stepOf } from '#core/store/look.ts'
import { OpenDatabaseDialect } from '#core/store/open.ts'
import type { PeopleSchema } from '#core/store/people/schema.ts'
import { numberOf } from '#core/store/rows.ts'
import { openingError } from '#core/store/sqlite-fault.ts'
import { TarelineError } from '#core/words/problem.ts'
import { peopleMigrations } from '#migrations/people/index.ts'

/** "TARP" in ASCII: marks a file of people, so that it is never taken for a fleet file, nor the other way around. */
const applicationId = 0x54415250
const latestStep = Object.keys(peopleMigrations).length

export type PeopleDb = Kysely<PeopleSchema>

/** The open file of the people who may come in to a fleet. */
export interface PeopleFile {
  readonly file: string
  readonly db: PeopleDb
  close(): Promise<void>
}

/**
 * The file of people that goes with a fleet file. It lies beside it and is no part of it: copies, exports and support
 * bundles are made of the fleet file, and so never carry what opens the door.
 */
export const peopleFileOf = (fleetFile: string): string =>
  join(dirname(resolve(fleetFile)), `${basename(fleetFile)} people`)

/**
 * Opens the file of people of a fleet, made where there is none, for its owner's eyes alone. Errors: TarelineError
 * `not-a-database`, `newer` and those of a file that cannot be opened.
 */
export async function openPeopleFile(fleetFile: string): Promise<PeopleFile> {
  const file = peopleFileOf(fleetFile)
  let raw: Database.Database | undefined
  try {
    // Made before SQLite does, which gives its side files the rights of this one.
    closeSync(openSync(file, 'a', 0o600))
    chmodSync(file, 0o600)
    raw = new Database(file, { timeout: 5000 })
    distrust(raw)
    raw.pragma('synchronous = FULL')
    raw.pragma('foreign_keys = ON')
    const isNew = numberOf(raw, "select count(*) from sqlite_schema where type = 'table'") === 0
    if (!isNew && raw.pragma('application_id', { simple: true }) !== applicationId)
      throw new TarelineError(
        'not-a-database',
        phrase('{file} is not the file of people of a fleet. Move it away; the people are then to be invited again.', {
          file,
        }),
      )
    if (stepOf(raw) > latestStep)
      throw new TarelineError(
        'newer',
        phrase(
          '{file} was written by a newer version of Tareline. Install the newer version; the file was not changed.',
          { file },
        ),
      )
    const db = new Kysely<PeopleSchema>({ dialect: new OpenDatabaseDialect(raw) })
    if (stepOf(raw) < latestStep)
      await bringUp(raw, db, { applicationId, migrations: peopleMigrations }, async () => {
        await db
          .insertInto('setting')
          .values({ name: 'house', value: randomBytes(6).toString('hex') })
          .onConflict((on) => on.doNothing())
          .execute()
      })
    const open = raw
    return {
      file,
      db,
      close: async () => {
        await db.destroy()
        // Kysely closes only what it has used.
        open.close()
      },
    }
  } catch (error) {
    raw?.close()
    throw openingError(error, file)
  }
}

/** A value that the house keeps about itself; null where there is none. */
export async function readSetting(db: PeopleDb, name: PeopleSchema['setting']['name']): Promise<string | null> {
  const row = await db.selectFrom('setting').select('value').where('name', '=', name).executeTakeFirst()
  return row?.value ?? null
}

export async function keepSetting(db: PeopleDb, name: PeopleSchema['setting']['name'], value: string): Promise<void> {
  await db
    .insertInto('setting')
    .values({ name, value })
    .onConflict((on) => on.column('name').doUpdateSet({ value }))
    .execute()
}
