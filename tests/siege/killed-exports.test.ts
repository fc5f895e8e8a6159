import { spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, readdirSync, rmSync, utimesSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { setTimeout } from 'node:timers/promises'
import { afterAll, expect, it } from 'vitest'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importIntoFile } from '#core/jobs/import-into-file.ts'
import { openStore } from '#core/store/open.ts'
import { Random } from '#demo/simulation/random.ts'
import { makeFleetFile } from '#tests/faults/fleet-files.ts'
import { isNightly, kills } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'

/**
 * A program that writes a fleet out over an earlier export is ended at a random moment: the folder is there, holds one
 * whole export, old or new, and the next export leaves nothing else behind. What somebody else keeps beside it stays.
 */
const random = new Random(`killed exports ${process.env['TARELINE_SEED'] ?? ''}`)
const counts = { 'kills during exports': 0, 'of them while files took their places': 0 }
let failed = 0
const home = mkdtempSync(join(tmpdir(), 'tareline-exports-'))
afterAll(() => {
  keepTally('siege-exports', { title: 'Exports killed (kill -9) at a random moment', counts, failed })
  rmSync(home, { recursive: true, force: true })
})

/** Writes the fleet out again and again, and tells when it begins. */
const work = `const { openStore } = await import('#core/store/open.ts')
  const { exportFolder } = await import('#core/exchange/export-folder.ts')
  const [, file, folder] = process.argv
  const store = await openStore(file)
  console.log('begins')
  for (;;) await exportFolder(store, folder)`

async function killOneExport(file: string, folder: string, lastsMs: number): Promise<void> {
  const child = spawn(process.execPath, ['--input-type=module', '-e', work, file, folder], {
    cwd: resolve(import.meta.dirname, '../..'),
    stdio: ['ignore', 'pipe', 'inherit'],
  })
  const ended = new Promise((done) => {
    child.once('close', done)
  })
  await new Promise((done) => {
    child.stdout.once('data', done)
  })
  await setTimeout(random.next() * lastsMs)
  child.kill('SIGKILL')
  await ended
}

it('the folder is there and whole after each, and nothing is left for good', async () => {
  const file = await makeFleetFile(home)
  const [out, beside] = [join(home, 'out'), 'letter.txt']
  const folder = join(out, 'fleet')
  mkdirSync(out)
  writeFileSync(join(out, beside), 'mine')
  const store = await openStore(file)
  const units = store.raw.prepare('select count(*) from unit').pluck().get()
  await exportFolder(store, folder)
  for (let kill = 0; kill < (isNightly ? kills : 3); kill += 1) {
    await killOneExport(file, folder, 120)
    counts['kills during exports'] += 1
    if (readdirSync(folder).includes('.tareline-export')) counts['of them while files took their places'] += 1
    const brought = join(home, 'brought.tareline')
    const { outcome } = await importIntoFile(brought, folder)
    const found = await openStore(brought)
    const foundUnits = found.raw.prepare('select count(*) from unit').pluck().get()
    await found.close()
    for (const name of readdirSync(home)) if (name.startsWith('brought')) rmSync(join(home, name), { recursive: true })
    // What is left is swept once it is certain that nobody writes it any more.
    for (const name of readdirSync(out)) if (name.startsWith('.')) utimesSync(join(out, name), new Date(0), new Date(0))
    await exportFolder(store, folder)
    const left = readdirSync(out).sort()
    if (outcome !== 'stored' || foundUnits !== units || left.join() !== `fleet,${beside}`) failed += 1
    expect([outcome, foundUnits, left, readdirSync(folder).filter((name) => name.startsWith('.'))]).toEqual([
      'stored',
      units,
      ['fleet', beside],
      [],
    ])
  }
  await store.close()
}, 1_800_000)
