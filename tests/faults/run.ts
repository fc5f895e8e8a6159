import { spawn } from 'node:child_process'
import { resolve } from 'node:path'
import { ensureBundles } from '#electron/launch/bundles.ts'
import { forgetTallies, readTallies } from '#tests/faults/tally.ts'

/**
 * `npm run faults`: every suite of faults in its long form, then one table of what was counted. A new suite needs a
 * line here and a call of `keepTally` where it ends; it asks `isNightly` (nightly.ts) how long it should run. Names of
 * suites as arguments run only those.
 */
const suites = [
  'tests/faults',
  'tests/siege',
  'tests/law',
  'tests/loopback/refused.test.ts',
  'tests/api/fuzz-procedures.test.ts',
  'tests/exchange/foreign-fuzz.test.ts',
]

const root = resolve(import.meta.dirname, '../..')

function runTests(filters: readonly string[]): Promise<number> {
  const vitest = resolve(root, 'node_modules/vitest/vitest.mjs')
  const child = spawn(
    process.execPath,
    [vitest, 'run', '--config', '.config/vitest.config.ts', '--project', 'node', '--no-file-parallelism', ...filters],
    {
      cwd: root,
      env: { ...process.env, TARELINE_NIGHTLY: '1', TARELINE_KILLS: process.env['TARELINE_KILLS'] ?? '200' },
      stdio: 'inherit',
    },
  )
  return new Promise((done, failed) => {
    child.once('error', failed)
    child.once('close', (code) => done(code ?? 1))
  })
}

await ensureBundles(root, (line) => console.log(line))
forgetTallies()
const asked = process.argv.slice(2)
const started = Date.now()
const code = await runTests(asked.length > 0 ? asked : suites)
const tallies = readTallies()
const rows = tallies.flatMap(({ title, counts, failed }) => [
  [title, ''],
  ...Object.entries(counts).map(([what, count]) => [`  ${what}`, count.toLocaleString('en-US')]),
  ['  lost, half done or unclear', String(failed)],
])
const width = Math.max(0, ...rows.map(([what = '']) => what.length))
console.log(
  `\n${rows.map(([what = '', count = '']) => `${what.padEnd(width)}  ${count.padStart(10)}`.trimEnd()).join('\n')}`,
)
console.log(
  `\n${Math.round((Date.now() - started) / 1000)} s. ${code === 0 && tallies.every(({ failed }) => failed === 0) ? 'Nothing was lost.' : 'NOT ALL WELL: see above.'}`,
)
process.exitCode = code === 0 && tallies.length > 0 && tallies.every(({ failed }) => failed === 0) ? 0 : 1
