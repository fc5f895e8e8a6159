import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import type { Plugin } from 'vite'

export interface ShippedPackage {
  readonly name: string
  readonly version: string
  readonly license: string
}

interface Found extends ShippedPackage {
  readonly folder: string
}

const root = resolve(import.meta.dirname, '..')

/** Not in a bundle, but in the packaged app. */
const besideBundles = ['better-sqlite3', 'electron']

const noticeIn = (folder: string): string =>
  readdirSync(folder)
    .filter((file) => /^(?:licen[cs]e|copying|notice|ofl)(?:[.-].*)?$/i.test(file) && !/\.(?:js|ts|json)$/i.test(file))
    .toSorted()
    .map((file) => readFileSync(join(folder, file), 'utf8').trim())
    .join('\n\n')

/** Of a package whose description names no licence, but which comes with the text of one. */
const licenseByText = (folder: string): string =>
  /^Permission is hereby granted, free of charge/m.test(noticeIn(folder)) ? 'MIT' : 'unknown'

/** The package that a bundled file belongs to; the folder that first says its name and version. */
function packageOf(file: string): Found | undefined {
  const path = file.replace(/^\0+/, '').split('?')[0] ?? ''
  if (!path.includes('/node_modules/')) return undefined
  for (let folder = dirname(path); folder.includes('/node_modules/'); folder = dirname(folder)) {
    const description = join(folder, 'package.json')
    if (!existsSync(description)) continue
    const { name, version, license } = JSON.parse(readFileSync(description, 'utf8')) as Partial<ShippedPackage>
    if (name && version)
      return { name, version, license: typeof license === 'string' ? license : licenseByText(folder), folder }
  }
  return undefined
}

/** One text of all licences; packages that share a text to the letter stand above it together. */
function notices(found: readonly Found[]): string {
  const groups = Map.groupBy(found, (each) => noticeIn(each.folder) || `Licence: ${each.license}`)
  return [...groups]
    .map(([text, group]) => `${group.map(({ name, version }) => `${name} ${version}`).join('\n')}\n\n${text}\n`)
    .join(`\n${'-'.repeat(80)}\n\n`)
}

/**
 * Notes which packages' code is really in the bundles, once all of them are built: `dist/packages.json` lists them, and
 * `dist/renderer/notices.txt` holds their licences' texts, which travel with the app.
 */
export function shippedPackages(): Plugin {
  return {
    name: 'shipped-packages',
    sharedDuringBuild: true,
    generateBundle(_options, bundle) {
      for (const part of Object.values(bundle)) {
        for (const id of part.type === 'chunk' ? part.moduleIds : []) remember(packageOf(id))
      }
    },
    buildApp: {
      order: 'post',
      handler: async (builder) => {
        for (const environment of Object.values(builder.environments))
          if (!environment.isBuilt) await builder.build(environment)
        for (const name of besideBundles) remember(packageOf(join(root, 'node_modules', name, 'package.json')))
        const found = [...known.values()].toSorted((a, b) => a.name.localeCompare(b.name, 'en'))
        mkdirSync(join(root, 'dist/renderer'), { recursive: true })
        writeFileSync(
          join(root, 'dist/packages.json'),
          `${JSON.stringify(
            found.map(({ name, version, license }) => ({ name, version, license })),
            null,
            2,
          )}\n`,
        )
        writeFileSync(join(root, 'dist/renderer/notices.txt'), notices(found))
      },
    },
  }
}

const known = new Map<string, Found>()
const remember = (found: Found | undefined) => found && known.set(`${found.name} ${found.version}`, found)
