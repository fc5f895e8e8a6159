import { spawn } from 'node:child_process'
import { resolve } from 'node:path'
import { ensureBundles } from '#electron/launch/bundles.ts'
import { type Tally, forgetTallies, readTallies } from '#tests/faults/tally.ts'

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

/** Runs suites in their long form, or those that the command line names, and prints one table of what they counted. */
export async function runLongForm(
  suites: readonly string[],
  tableOf: (tallies: readonly Tally[]) => string,
): Promise<void> {
  await ensureBundles(root, (line) => console.log(line))
  forgetTallies()
  const asked = process.argv.slice(2)
  const started = Date.now()
  const code = await runTests(asked.length > 0 ? asked : suites)
  const tallies = readTallies()
  const isWell =
    code === 0 &&
    tallies.length > 0 &&
    tallies.every(({ failed, letIn = 0, misleading = 0 }) => failed + letIn + misleading === 0)
  console.log(`\n${tableOf(tallies)}`)
  console.log(
    `\n${Math.round((Date.now() - started) / 1000)} s. ${isWell ? 'Nothing was lost.' : 'NOT ALL WELL: see above.'}`,
  )
  process.exitCode = isWell ? 0 : 1
}

/** Rows of texts with the last ones under each other at the right. */
export function tableText(rows: readonly (readonly string[])[]): string {
  const widths = rows.reduce<number[]>(
    (wide, row) => row.map((text, column) => Math.max(wide[column] ?? 0, text.length)),
    [],
  )
  return rows
    .map((row) =>
      row
        .map((text, column) => (column === 0 ? text.padEnd(widths[0] ?? 0) : text.padStart((widths[column] ?? 0) + 2)))
        .join('')
        .trimEnd(),
    )
    .join('\n')
}
