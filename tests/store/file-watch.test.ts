import Database from 'better-sqlite3'
import { expect, it } from 'vitest'
import { watchFiles } from '#core/store/file-watch.ts'
import { withStore } from '#tests/store/temporary-store.ts'

it('tells what a connection may have moved into the file itself from what another program wrote', () =>
  withStore(async ({ raw, file }) => {
    const note = (connection: Database.Database, name: string) => {
      connection.prepare("insert into desk (name, text, left_at) values (?, '', '')").run(name)
      connection.pragma('wal_checkpoint(truncate)')
    }
    const watch = watchFiles(file)
    watch.accept(raw)
    expect([watch.look(), watch.mayBeOwn(raw)]).toEqual([undefined, false])
    note(raw, 'own')
    expect([watch.look(), watch.mayBeOwn(raw)]).toEqual(['written', true])
    watch.accept(raw)
    expect([watch.look(), watch.mayBeOwn(raw)]).toEqual([undefined, false])
    const other = new Database(file)
    note(other, 'foreign')
    expect([watch.look(), watch.mayBeOwn(raw)]).toEqual(['written', false])
    expect(await watch.isSequel()).toBe(true)
    other.close()
  }))
