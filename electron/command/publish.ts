import { publishedTables } from '#core/api/published-tables.ts'
import { publishToFolder } from '#core/exchange/publish/into-folder.ts'
import { isPostgres, publishToPostgres, shownAddress } from '#core/exchange/publish/into-postgres.ts'
import type { PublishedFleet, Publishing } from '#core/exchange/publish/published-table.ts'
import { isCurrent, readBooks } from '#core/store/books.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { settleFleetKey } from '#core/store/fleet-key.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { inOneLook, markOfRecord } from '#core/store/published.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { count } from '#core/words/text.ts'
import { type Command, type Terminal, UsageError, dbOption, withStore } from '#electron/command/command.ts'

/** What is published is current: judged and weighed first where it is not. */
async function publish(
  store: Store,
  to: string,
  asked: { readonly name: string | undefined; readonly anew: boolean },
  { signal, progress }: Terminal,
): Promise<Publishing> {
  const now = timeNow()
  const key = await settleFleetKey(store.db)
  await catchUp(store, now, (work) => progress(`${work} …`))
  return await inOneLook(store, async () => {
    const books = await readBooks(store.db)
    const { judgedFor, revision, zone } = books
    if (judgedFor === null || !(await isCurrent(store.db, now)))
      throw new TarelineError(
        'not-current',
        'The record is being changed all the time, so that no answer is current. Nothing was published; try again later.',
      )
    const fleet: PublishedFleet = {
      key,
      name: asked.name,
      file: store.file,
      zone,
      revision,
      judgedFor: toStoredInstant(judgedFor),
      at: toStoredInstant(now),
      mark: await markOfRecord(store),
    }
    const tables = publishedTables(store, await readHouseRules(store.db), judgedFor)
    const onTable = (table: string, rows: number) => progress(`${table} · ${count(rows, 'row')}`)
    const options = { anew: asked.anew, signal, onTable }
    return await (isPostgres(to) ? publishToPostgres : publishToFolder)(to, fleet, tables, options)
  })
}

/** Writes a reporting copy of a fleet. */
export const publishCommand: Command = {
  name: 'publish',
  summary: 'Write weights, findings, the Heavy Log, cells and standings for reports into a PostgreSQL or a folder.',
  arguments: [],
  options: {
    db: dbOption,
    to: {
      type: 'string',
      value: 'ADDRESS',
      about: 'postgres://user@host:5432/database (its password may stand in PGPASSWORD), or a folder for Parquet files',
      required: true,
    },
    fleet: {
      type: 'string',
      value: 'NAME',
      about: 'what the fleet is called there; otherwise as before, or as its file',
    },
    anew: { type: 'boolean', about: 'write all rows again, whatever stands there' },
  },
  run: async (input, terminal) => {
    const to = input.text('to')
    if (!isPostgres(to) && /^[a-z+]{2,}:\/\//i.test(to))
      throw new UsageError(
        '--to is an address of another kind; one that begins with postgres://, or a folder, is accepted.',
      )
    const shown = isPostgres(to) ? shownAddress(to) : to
    const name = input.textOr('fleet')?.trim()
    if (name === '') throw new UsageError('--fleet is empty; a name is needed.')
    const { fleet, tables } = await withStore(input.text('db'), (store) =>
      publish(store, to, { name, anew: input.flag('anew') }, terminal),
    )
    terminal.progress(undefined)
    const width = Math.max(...(tables ?? []).map(({ table }) => table.length))
    return {
      document: { to: shown, fleet, changed: tables !== null, tables: tables ?? [] },
      text:
        tables === null
          ? `Nothing has changed since fleet "${fleet}" was last published to ${shown}.`
          : [
              ...tables.map(
                ({ table, rows, written }) =>
                  `${table.padEnd(width)}  ${count(rows, 'row')}, ${written.toLocaleString('en-US')} of them written`,
              ),
              `Fleet "${fleet}" published to ${shown}.`,
            ].join('\n'),
    }
  },
}
