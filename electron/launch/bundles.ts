import { execFile } from 'node:child_process'
import { readdirSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { promisify } from 'node:util'

/** What the bundles that run under Node are made of. */
const nodeSources = [
  'core',
  'electron',
  'migrations',
  'package.json',
  'package-lock.json',
  '.config/vite.config.ts',
  '.config/node-bundle.ts',
]
const sources = [
  ...nodeSources,
  'renderer',
  '.config/reflection.ts',
  '.config/installable.ts',
  '.config/shipped-packages.ts',
]

/** One file of each bundle; a build writes them anew. */
const products = ['dist/renderer/index.html', 'dist/main/desktop.js', 'dist/preload/preload.cjs', 'dist/packages.json']

// Nothing else is to be done before this is known, and a thousand files are looked at in a few ms this way.
const changedAt = (path: string): number => statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? 0

function newestChange(path: string): number {
  if (!statSync(path).isDirectory()) return changedAt(path)
  // A folder's own time tells of files that were taken away.
  const inside = readdirSync(path, { recursive: true, encoding: 'utf8' }).map((name) => changedAt(join(path, name)))
  return inside.reduce((newest, at) => Math.max(newest, at), changedAt(path))
}

function areNewer(root: string, made: readonly string[], from: readonly string[]): boolean {
  const built = Math.min(...made.map((product) => changedAt(join(root, product))))
  return from.every((source) => newestChange(join(root, source)) < built)
}

/** Whether what was bundled to run under Node is of the sources as they lie there. */
export const isBundleCurrent = (root: string, name: 'command'): boolean =>
  areNewer(root, [`dist/main/${name}.js`], nodeSources)

/**
 * Builds the screens and the desktop's bundles where they are missing or older than their sources: in a process of its
 * own, whose memory a house would hold for as long as it runs. Errors: what the build said, where it failed.
 */
export async function ensureBundles(root: string, say: (line: string) => void): Promise<void> {
  if (areNewer(root, products, sources)) return
  say('Building the screens…')
  const vite = join(root, 'node_modules/vite/bin/vite.js')
  await promisify(execFile)(
    process.execPath,
    [vite, 'build', '--app', '--config', '.config/vite.config.ts', '--logLevel', 'warn'],
    // Whoever asks, as a test runner with its own word for it, gets the screens as they are shipped.
    { cwd: root, env: { ...process.env, NODE_ENV: 'production' } },
  )
}

/**
 * Loads a part of the program as it was bundled: a few files in place of a thousand sources start in a fifth of the
 * time.
 */
export async function fromBundle<Part>(root: string, name: 'command' | 'loopback'): Promise<Part> {
  return (await import(pathToFileURL(join(root, `dist/main/${name}.js`)).href)) as Part
}
