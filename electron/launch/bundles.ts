import { existsSync } from 'node:fs'
import { mkdir, readdir, stat, writeFile } from 'node:fs/promises'
import { join } from 'node:path'

const sources = ['core', 'electron', 'renderer', 'migrations', 'package.json', 'package-lock.json', '.config/vite.config.ts']

async function newestChange(path: string): Promise<number> {
  const facts = await stat(path)
  if (!facts.isDirectory()) return facts.mtimeMs
  const inside = await readdir(path)
  // The folder's own time tells of files that were taken away.
  return Math.max(facts.mtimeMs, ...await Promise.all(inside.map((name) => newestChange(join(path, name)))))
}

async function isCurrent(root: string, mark: string): Promise<boolean> {
  if (!existsSync(join(root, 'dist/renderer/index.html')) || !existsSync(mark)) return false
  const built = (await stat(mark)).mtimeMs
  const changes = await Promise.all(sources.map((source) => newestChange(join(root, source))))
  return Math.max(...changes) < built
}

/** Builds the screens and the desktop's bundles where they are missing or older than their sources. */
export async function ensureBundles(root: string, say: (line: string) => void): Promise<void> {
  const mark = join(root, 'dist/built')
  if (await isCurrent(root, mark)) return
  say('Building the screens…')
  const startedAt = new Date()
  const { createBuilder } = await import('vite')
  const builder = await createBuilder({ configFile: join(root, '.config/vite.config.ts'), logLevel: 'warn' }, null)
  await builder.buildApp()
  await mkdir(join(root, 'dist'), { recursive: true })
  await writeFile(mark, startedAt.toISOString())
}
