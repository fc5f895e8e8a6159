import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { parseArgs } from 'node:util'
import { dayMs } from '#demo/simulation/clock.ts'
import { type DelayScore, type Look, scoreDelay } from '#tests/bed/delay.ts'
import { delayLines, scoreLines } from '#tests/bed/print-scores.ts'
import { findingRows, trustRows } from '#tests/bed/reports.ts'
import { addScores, type BedScore, scoreFindings } from '#tests/bed/score.ts'
import { type BedSettings, everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import type { FleetTruth } from '#tests/bed/truth.ts'

const commandLine = resolve(import.meta.dirname, '../../electron/tareline.ts')
const tareline = (...words: string[]): string =>
  execFileSync(process.execPath, [commandLine, ...words], { encoding: 'utf8', maxBuffer: 1 << 30, stdio: ['ignore', 'pipe', 'inherit'] })

/** Simulates a fleet, brings it into a fresh file through the command line, and hands file and truth on. */
function withFleet<T>(settings: Omit<BedSettings, 'folder'>, use: (db: string, truth: FleetTruth) => T): T {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-bed-'))
  try {
    const truth = simulateFleet({ ...settings, folder: join(folder, 'fleet') })
    const db = join(folder, 'fleet.tareline')
    tareline('import', join(folder, 'fleet'), '--db', db)
    return use(db, truth)
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

function scoreFleet(settings: Omit<BedSettings, 'folder'>): BedScore {
  return withFleet(settings, (db, truth) => scoreFindings(
    truth,
    findingRows.parse(JSON.parse(tareline('findings', '--db', db, '--as-of', truth.lastDay, '--json'))),
    trustRows.parse(JSON.parse(tareline('trust', '--db', db, '--as-of', truth.lastDay, '--json'))),
  ))
}

/** Offsets worth 1,000 lb that begin about twelve weeks before the end, looked at every third day since shortly before. */
function measureDelay(seed: string): DelayScore {
  return withFleet({ seed, units: 320, months: 18, faults: { 'offset-1000-lb': 130 } }, (db, truth) => {
    const last = Date.parse(`${truth.lastDay}T23:59:59.999Z`)
    const looks: Look[] = []
    for (let daysAgo = 87; daysAgo >= 0; daysAgo -= 3) {
      const asOf = last - daysAgo * dayMs
      const day = new Date(asOf).toISOString().slice(0, 10)
      looks.push({ asOf, findings: findingRows.parse(JSON.parse(tareline('findings', '--db', db, '--as-of', day, '--json'))) })
    }
    return scoreDelay(truth, looks)
  })
}

/** Runs the test bed over some seeds: fleets with every fault, clean fleets, and the delay. Answers the lines to print. */
export function runTestBed(seeds: readonly string[], { verbose = false, delay = true } = {}): string[] {
  const faulty = addScores(seeds.map((seed) => scoreFleet({ seed: `faults ${seed}`, units: 600, months: 24, faults: everyFault(16) })))
  const clean = addScores(seeds.map((seed) => scoreFleet({ seed: `clean ${seed}`, units: 400, months: 24, faults: {} })))
  const lines = ['Fleets with planted faults', ...scoreLines(faulty), '', 'Clean fleets', ...scoreLines(clean).slice(2)]
  if (delay) lines.push('', 'Delay', ...delayLines(measureDelay(`delay ${seeds[0] ?? ''}`)))
  if (verbose) {
    lines.push('', 'Missed', ...faulty.kinds.flatMap(({ kind, missed }) => missed.map(({ unit, group, startedAt, what }) => `  ${kind}: ${unit ?? ''} ${group ?? ''} since ${startedAt.slice(0, 10)}: ${what}`)))
  }
  return lines
}

if (import.meta.main) {
  const { values } = parseArgs({ options: { seeds: { type: 'string', default: '3' }, verbose: { type: 'boolean', default: false }, 'no-delay': { type: 'boolean', default: false } } })
  const seeds = Array.from({ length: Number(values.seeds) }, (_, i) => String(i + 1))
  for (const line of runTestBed(seeds, { verbose: values.verbose, delay: !values['no-delay'] })) console.log(line)
}
