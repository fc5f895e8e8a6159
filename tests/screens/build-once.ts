import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { ensureBundles } from '#electron/launch/bundles.ts'

/**
 * Builds the screens and the program before the workers start, so that two of them never build at once, and
 * gives a folder to what they make once for all.
 */
export default async function buildOnce(): Promise<() => void> {
  await ensureBundles(resolve(import.meta.dirname, '../..'), (line) => console.log(line))
  const made = mkdtempSync(join(tmpdir(), 'tareline-made-once-'))
  process.env['TARELINE_MADE_ONCE'] = made
  return () => rmSync(made, { recursive: true, force: true })
}
