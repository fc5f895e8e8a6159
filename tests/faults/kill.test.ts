import Database from 'better-sqlite3'
import { copyFileSync, cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { setTimeout } from 'node:timers/promises'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { importIntoFile } from '#core/jobs/import-into-file.ts'
import { attachmentsFolder } from '#core/store/attachments.ts'
import { checkFile } from '#core/store/check-file.ts'
import { Random } from '#demo/simulation/random.ts'
import { ensureBundles } from '#electron/launch/bundles.ts'
import { overwriteBytes } from '#tests/faults/fleet-files.ts'
import {
  type Scenario,
  type World,
  complaintsAfterKill,
  scenarios,
  writeFirstFolder,
} from '#tests/faults/kill-scenarios.ts'
import { startMain } from '#tests/faults/main-process.ts'
import { kills } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'

/**
 * The app's real main process is killed (`kill -9`) at random moments of what people do, TARELINE_KILLS times; then the
 * file on the disk is looked over, and the next start must work on with it. TARELINE_SEED names other moments.
 */
const random = new Random(`kills ${process.env['TARELINE_SEED'] ?? ''}`)
const lasts = new Map<Scenario, number>()
const inTheMiddle = new Map<string, number>()
const survived = new Map<string, number>()
const complaints: string[] = []
let world: World

beforeAll(async () => {
  await ensureBundles(resolve(import.meta.dirname, '../..'), () => undefined)
  const home = mkdtempSync(join(tmpdir(), 'tareline-kills-'))
  const file = join(home, 'fleet.tareline')
  world = {
    home,
    file,
    trial: 0,
    readings: new Set(),
    imports: new Map(),
    swaps: new Set(),
    unitCopies: new Set(),
    visits: new Set(),
    voids: new Set(),
    corrections: new Set(),
    scans: new Set(),
    foreign: new Set(),
    copies: new Set(),
    ruleDays: 365,
  }
  writeFirstFolder(join(home, 'first'))
  expect((await importIntoFile(file, join(home, 'first'))).outcome).toBe('stored')
}, 120_000)

afterAll(() => {
  const sum = (counts: ReadonlyMap<string, number>) => [...counts.values()].reduce((all, count) => all + count, 0)
  keepTally('kills', {
    title: 'Main process killed (kill -9) at a random moment',
    counts: {
      'kills survived': sum(survived),
      ...Object.fromEntries([...survived].map(([name, count]) => [`  ${name}`, count])),
      'of them in the middle of the work': sum(inTheMiddle),
      'saves acknowledged, all there':
        world.readings.size +
        world.swaps.size +
        world.imports.size +
        world.unitCopies.size +
        world.visits.size +
        world.voids.size +
        world.corrections.size +
        world.scans.size +
        world.foreign.size,
    },
    failed: complaints.length,
  })
  rmSync(world.home, { recursive: true, force: true })
})

const count = (counts: Map<string, number>, name: string) => counts.set(name, (counts.get(name) ?? 0) + 1)

/** Does a scenario and kills it at a moment drawn from how long it has been seen to last. */
async function trial(scenario: Scenario): Promise<void> {
  world.trial += 1
  await scenario.prepare?.(world)
  const main = startMain(world.file, world.home)
  const client = scenario.duringStart === true ? undefined : await main.ready
  const started = performance.now()
  let done = false
  const failures: unknown[] = []
  const act = (client ? scenario.act(world, client) : main.ready.then((ready) => scenario.act(world, ready))).then(
    () => {
      done = true
      // What goes on for a known while from its beginning needs no measuring.
      if (!scenario.begun) lasts.set(scenario, performance.now() - started)
    },
    (error: unknown) => {
      if (!main.child.killed) failures.push(error)
    },
  )
  await Promise.race([scenario.begun?.(world), main.ended])
  await setTimeout(random.next() * 1.1 * (lasts.get(scenario) ?? scenario.lastsMs))
  if (!done) count(inTheMiddle, scenario.name)
  await main.kill()
  await act
  const wrong = [
    ...failures.map((error) => `it failed before it was killed: ${String(error)}`),
    ...(await scenario.complaints(world)),
    ...(await complaintsAfterKill(world)),
  ]
  if (wrong.length > 0) {
    complaints.push(`trial ${world.trial}, ${scenario.name}: ${wrong.join('; ')}`)
    return
  }
  count(survived, scenario.name)
}

it(
  `nothing acknowledged is lost and nothing is half done after ${kills} kills`,
  async () => {
    // Each kind in turn, so that even few kills meet all of them.
    for (let index = 0; index < kills; index += 1) await trial(scenarios[index % scenarios.length] as Scenario)
    expect(complaints).toEqual([])
  },
  // Patience for a loaded machine: at rest a kill takes a second and a half.
  60_000 + kills * 20_000,
)

it('what is looked for afterwards is found when it is there', async () => {
  const spoilt: World = {
    ...world,
    file: join(world.home, 'spoilt.tareline'),
    imports: new Map([...world.imports, ['K0', 40]]),
    readings: new Set([...world.readings, 'W-20260101-9999']),
  }
  // The last kill may have left part of the record in the log.
  for (const end of ['', '-wal']) if (existsSync(world.file + end)) copyFileSync(world.file + end, spoilt.file + end)
  if (existsSync(attachmentsFolder(world.file)))
    cpSync(attachmentsFolder(world.file), attachmentsFolder(spoilt.file), { recursive: true })
  const raw = new Database(spoilt.file)
  // On a loaded machine every kill may have come before the first save: the half one is none of theirs.
  raw.exec(`insert into reading (name, taken_at, source) values ('W-half', '2026-01-05T00:00:00.000Z', 'weigh now');
    insert into change_log (changed_at, changed_by, subject, subject_key, action)
      values ('2026-01-05T00:00:00.000Z', 'M. Tarn', 'reading', 'W-half', 'added')`)
  raw.exec("insert into unit (number, kind, service_state) values ('K9999-1', 'truck', 'in service')")
  raw.close()
  const complaintsOf = (name: string, trial = 9999) =>
    scenarios.find((scenario) => scenario.name === name)?.complaints({ ...spoilt, trial })
  expect(await complaintsAfterKill(spoilt)).toEqual(['saved reading W-20260101-9999 is gone', 'import K0 is gone'])
  expect(await complaintsOf('save a reading')).toEqual(['1 half readings'])
  expect(await complaintsOf('import')).toEqual(['half an import: 1 units, 0 readings'])
  overwriteBytes(spoilt.file)
  await expect(
    checkFile(spoilt.file).then(({ sound, message }) => {
      if (!sound) throw new Error(message)
    }),
  ).rejects.toThrow('is damaged')
  rmSync(spoilt.file)
})

it('the app goes on with the file after the last kill', async () => {
  const main = startMain(world.file, world.home)
  const client = await main.ready
  const { rows } = await client.roster.list()
  const brought = [...world.imports.values()].reduce((sum, units) => sum + units, 0)
  expect(rows.length).toBeGreaterThanOrEqual(1 + brought)
  main.child.kill('SIGTERM')
  await main.ended
  expect(await complaintsAfterKill(world)).toEqual([])
}, 60_000)
