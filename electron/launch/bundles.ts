import { execFile } from 'node:child_process'
import { readdir, stat } from 'node:fs/promises'
import { join } from 'node:path'
import { promisify } from 'node:util'

const sources = [
  'core',
  'electron',
  'renderer',
  'migrations',
  'package.json',
  'package-lock.json',
  '.config/vite.config.ts',
  '.config/node-bundle.ts',
  '.config/reflection.ts',
  '.config/installable.ts',
  '.config/shipped-packages.ts',
]

/** One file of each bundle; a build writes them anew. */
const products = ['dist/renderer/index.html', 'dist/main/desktop.js', 'dist/preload/preload.cjs', 'dist/packages.json']

const changedAt = (path: string) =>
  stat(path).then(
    ({ mtimeMs }) => mtimeMs,
    () => 0,
  )

async function newestChange(path: string): Promise<number> {
  const facts = await stat(path)
  if (!facts.isDirectory()) return facts.mtimeMs
  const inside = await readdir(path)
  // The folder's own time tells of files that were taken away.
  return Math.max(facts.mtimeMs, ...(await Promise.all(inside.map((name) => newestChange(join(path, name))))))
}

async function isCurrent(root: string): Promise<boolean> {
  const built = Math.min(...(await Promise.all(products.map((product) => changedAt(join(root, product))))))
  if (built === 0) return false
  const changes = await Promise.all(sources.map((source) => newestChange(join(root, source))))
  return Math.max(...changes) < built
}

/**
 * Builds the screens and the desktop's bundles where they are missing or older than their sources: in a process of its
 * own, whose memory a house would hold for as long as it runs. Errors: what the build said, where it failed.
 */
export async function ensureBundles(root: string, say: (line: string) => void): Promise<void> {
  if (await isCurrent(root)) return
  say('Building the screens…')
  const vite = join(root, 'node_modules/vite/bin/vite.js')
  await promisify(execFile)(
    process.execPath,
    [vite, 'build', '--app', '--config', '.config/vite.config.ts', '--logLevel', 'warn'],
    // Whoever asks, as a test runner with its own word for it, gets the screens as they are shipped.
    { cwd: root, env: { ...process.env, NODE_ENV: 'production' } },
  )
}
