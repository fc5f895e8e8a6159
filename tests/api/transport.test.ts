import { safe } from '@orpc/client'
import { mkdirSync, writeFileSync } from 'node:fs'
import { mkdir, readdir, writeFile } from 'node:fs/promises'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { ImportOutcome } from '#core/contracts/import.ts'
import { type Client, clientOver, ways } from '#tests/api/windows.ts'
import { type RunningApp, runApp } from '#tests/loopback/running-app.ts'

async function readAll(
  stream: AsyncIterator<unknown, ImportOutcome>,
): Promise<{ reports: unknown[]; outcome: ImportOutcome }> {
  const reports: unknown[] = []
  for (;;) {
    const step = await stream.next()
    if (step.done) return { reports, outcome: step.value }
    reports.push(step.value)
  }
}

/** A fleet folder with one tractor and `readings` of its drive group. */
async function writeFleet(folder: string, readings: number): Promise<void> {
  await mkdir(folder, { recursive: true })
  const put = (file: string, lines: string[]) => writeFile(join(folder, file), `${lines.join('\r\n')}\r\n`)
  await put('units.csv', ['unit,kind', 'T-1,tractor'])
  await put('axle_groups.csv', ['unit,group,role,axles,measured_by', 'T-1,drive,drive,2,circuit'])
  await put('circuits.csv', ['unit,group,circuit,air_springs', 'T-1,drive,main,4'])
  const start = Date.UTC(2025, 0, 1)
  const lines = Array.from(
    { length: readings },
    (_, at) => `R-${at},${new Date(start + at * 60_000).toISOString()},T-1,drive,main,${40 + (at % 20)}`,
  )
  await put('readings.csv', ['reading,taken_at,unit,group,circuit,psi', ...lines])
}

describe.each(ways)('over %s', (way) => {
  let app: RunningApp
  let client: Client
  let close: () => void
  beforeEach(async () => {
    app = await runApp()
    ;({ client, close } = await clientOver(way, app))
  })
  afterEach(async () => {
    close()
    await app[Symbol.asyncDispose]()
  })

  it('a call is answered, and a file can be changed for another', async () => {
    expect(await client.file.state()).toMatchObject({
      file: join(app.folder, 'fleet.tareline'),
      demo: false,
      units: 0,
      version: '0.0.0',
      revision: 0,
    })
    const other = join(app.folder, 'other.tareline')
    expect(await client.file.open({ path: other })).toMatchObject({ file: other })
    expect(await client.file.state()).toMatchObject({ file: other })
    expect((await client.roster.list()).rows).toEqual([])
  })

  it('what a person can put right comes as a typed error with its sentence', async () => {
    const { error, isDefined } = await safe(client.unit.sheet({ unit: 'T-9' }))
    expect(isDefined && [error.code, error.data.code, error.message]).toEqual([
      'REFUSED',
      'no-such-unit',
      'There is no unit T-9. Look for it on the Roster.',
    ])
    writeFileSync(join(app.folder, 'letter.tareline'), 'Dear shop, this is a letter and not a database.')
    const opened = await safe(client.file.open({ path: join(app.folder, 'letter.tareline') }))
    expect(opened.isDefined && opened.error.data.code).toBe('not-a-database')
    expect(app.reported).toEqual([])
  })

  it('input that does not fit names its field, its value and what is accepted', async () => {
    const { error, isDefined } = await safe(client.unit.sheet({ unit: '' }))
    expect(isDefined && error.data).toMatchObject({ code: 'not-accepted', field: 'unit', value: '""' })
    const wrong = await safe(client.file.open({ path: 7 } as unknown as { path: string }))
    expect(wrong.isDefined && wrong.error.data).toMatchObject({ field: 'path', value: '7' })
    expect(wrong.error?.message).toMatch(/^path is 7, which is not accepted\. .*expected string/)
  })

  it('a fault of the program is told without its inner details, and taken down with its cause', async () => {
    await app.context.fleet.use(async ({ raw }) => raw.exec('drop table books'))
    const { error, isDefined } = await safe(client.file.state())
    expect(isDefined).toBe(false)
    expect(error?.message).toMatch(/^Tareline stopped this step because of a fault in the program/)
    expect(JSON.stringify(error)).not.toMatch(/books|sqlite|\.ts/i)
    expect(app.reported).toHaveLength(1)
    expect(String(app.reported[0])).toContain('no such table: books')
  })

  it('an import reports its progress, then its outcome, and moves the revision', async () => {
    const folder = join(app.folder, 'fleet')
    await writeFleet(folder, 20_000)
    const { reports, outcome } = await readAll(await client.folder.bringIn({ folder }))
    expect(outcome).toMatchObject({ outcome: 'stored' })
    expect(reports.length).toBeGreaterThan(0)
    expect(reports.at(-1)).toMatchObject({
      stage: expect.any(String),
      rows: expect.any(Number),
      rowsPerSecond: expect.any(Number),
    })
    const state = await client.file.state()
    expect([state.units, state.revision]).toEqual([1, 1])
    expect((await client.unit.sheet({ unit: 'T-1' })).readings).toHaveLength(50)
  })

  it('an import of sent files leaves none of them behind', async () => {
    const inbox = join(app.inboxRoot, 'sent-files')
    await writeFleet(inbox, 10)
    const { outcome } = await readAll(await client.folder.bringIn({ inbox: 'sent-files' }))
    expect(outcome.outcome).toBe('stored')
    expect(await readdir(app.inboxRoot)).toEqual([])
    const { error, isDefined } = await safe(client.folder.bringIn({ inbox: 'sent-files' }).then(readAll))
    expect(isDefined).toBe(true)
    expect(error?.message).toBe('The picked files are no longer here. Choose them again.')
  })

  it('an import that is refused names the rows and stores nothing', async () => {
    const folder = join(app.folder, 'fleet')
    mkdirSync(folder)
    writeFileSync(join(folder, 'units.csv'), 'unit,kind\r\nT-1,boat\r\n')
    const { outcome } = await readAll(await client.folder.bringIn({ folder }))
    expect(outcome).toMatchObject({
      outcome: 'refused',
      problems: [{ file: 'units.csv', line: 2, column: 'kind', value: 'boat' }],
    })
    expect(await client.file.state()).toMatchObject({ units: 0, revision: 0 })
  })

  it('an import that is cancelled stops, stores nothing and leaves the file free', async () => {
    const folder = join(app.folder, 'fleet')
    await writeFleet(folder, 150_000)
    const control = new AbortController()
    const stream = await client.folder.bringIn({ folder }, { signal: control.signal })
    await stream.next()
    control.abort()
    await expect(readAll(stream)).rejects.toThrow()
    // The work holds the file until it has stopped; then the fleet can be closed at once.
    await app.context.fleet.close()
    const { openStore } = await import('#core/store/open.ts')
    const { readFileState } = await import('#core/store/file-state.ts')
    const store = await openStore(join(app.folder, 'fleet.tareline'))
    expect(await readFileState(store.db)).toMatchObject({ units: 0, revision: 0 })
    await store.close()
    expect(app.reported).toEqual([])
  })
})
