import { chmodSync, mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { extractAll } from '@electron/asar'
import { build, Platform } from 'electron-builder'
import config from '../../.config/electron-builder.config.ts'
import { ensureBundles } from '#electron/launch/bundles.ts'

/** By this mark @electron/fuses finds the fuses in Electron's program (SENTINEL of its constants.js). */
const fuseMark = 'dL7pKGdnNz796PbbjQWNKmHXBZaB9tsX'

export const root = resolve(import.meta.dirname, '../..')

/**
 * Stands in for Electron's program where it cannot be downloaded: a file with nine fuses in it, all off, as Electron's
 * has them.
 */
function writeStandIn(folder: string, executable: string): void {
  mkdirSync(join(folder, 'resources'), { recursive: true })
  mkdirSync(join(folder, 'locales'))
  const wire = Buffer.concat([
    Buffer.from(`a program that stands in for Electron's ${fuseMark}`),
    Buffer.from([1, 9]),
    Buffer.from('0'.repeat(9)),
    Buffer.from(' its end'),
  ])
  writeFileSync(join(folder, executable), wire)
  chmodSync(join(folder, executable), 0o755)
  writeFileSync(join(folder, 'version'), '45.4.1')
}

export interface Packaged {
  /** The app's folder as its installer would lay it down. */
  readonly folder: string
  readonly archive: string
  readonly executable: string
  /** The archive, laid out as files, with what lies outside it. */
  readonly extracted: string
}

/** Packages the app for this system's kind of folder with electron-builder and the project's own configuration. */
export async function packageApp(into: string): Promise<Packaged> {
  await ensureBundles(root, () => undefined)
  const standIn = join(into, 'electron')
  writeStandIn(standIn, 'electron')
  const output = join(into, 'release')
  await build({
    targets: Platform.LINUX.createTarget('dir'),
    projectDir: root,
    config: { ...config, electronDist: standIn, directories: { ...config.directories, output } },
  })
  const folder = join(output, 'linux-unpacked')
  const archive = join(folder, 'resources/app.asar')
  const extracted = join(into, 'extracted')
  rmSync(extracted, { recursive: true, force: true })
  extractAll(archive, extracted)
  return { folder, archive, executable: join(folder, 'tareline'), extracted }
}
