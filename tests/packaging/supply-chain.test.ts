import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { beforeAll, expect, it } from 'vitest'
import type { ShippedPackage } from '../../.config/shipped-packages.ts'
import { ensureBundles } from '#electron/launch/bundles.ts'
import { root } from '#tests/packaging/package-once.ts'
import { some } from '#tests/some.ts'

interface Locked {
  readonly version?: string
  readonly resolved?: string
  readonly integrity?: string
  readonly hasInstallScript?: boolean
  readonly dev?: boolean
  readonly optional?: boolean
  readonly link?: boolean
}

const read = <T>(path: string): T => JSON.parse(readFileSync(join(root, path), 'utf8')) as T
const list = 'renderer/screens/about/shipped-packages.json'
const lock = read<{ lockfileVersion: number; packages: Record<string, Locked> }>('package-lock.json').packages
const locked = Object.entries(lock).filter(([path]) => path !== '')

beforeAll(async () => await ensureBundles(root, () => undefined), 120_000)

it('the lock file says every package by its content, and no host', () => {
  expect(locked.length).toBeGreaterThan(300)
  expect(locked.filter(([, { integrity }]) => !/^sha512-/.test(integrity ?? '')).map(([path]) => path)).toEqual([])
  expect(locked.filter(([, { resolved }]) => resolved !== undefined).map(([path]) => path)).toEqual([])
})

it('package.json asks for exact versions, and the lock file holds those', () => {
  const { dependencies, devDependencies, optionalDependencies } =
    read<Record<string, Record<string, string>>>('package.json')
  for (const [name, version] of Object.entries({ ...dependencies, ...devDependencies, ...optionalDependencies })) {
    expect([name, version]).toEqual([name, expect.stringMatching(/^\d+\.\d+\.\d+$/)])
    expect([name, lock[`node_modules/${name}`]?.version]).toEqual([name, version])
  }
})

it('nothing that is shipped needs an install script, and each that has one is decided on', () => {
  const shipped = new Set(read<ShippedPackage[]>('dist/packages.json').map(({ name }) => name))
  const allow = read<{ allowScripts: Record<string, boolean> }>('package.json').allowScripts
  const withScript = locked
    .filter(([, { hasInstallScript }]) => hasInstallScript === true)
    .map(([path]) => path.split('node_modules/').at(-1) ?? '')
  // npm believes that better-sqlite3 has one, because it comes with a description of how to build it; its binaries are
  // in the package.
  expect(withScript.filter((name) => shipped.has(name) && name !== 'better-sqlite3')).toEqual([])
  for (const name of [...some(withScript), 'better-sqlite3']) expect([name, allow[name]]).toEqual([name, false])
  expect(Object.values(allow)).not.toContain(true)
})

it('no package runs a script when it is installed, and none of our own scripts relies on one before or after it', () => {
  // npm 10 builds whatever has a binding.gyp, and fails where there is no Python.
  expect(readFileSync(join(root, '.npmrc'), 'utf8').split('\n')).toContain('ignore-scripts=true')
  const names = Object.keys(read<{ scripts: Record<string, string> }>('package.json').scripts)
  expect(names.length).toBeGreaterThan(5)
  expect(names.filter((name) => /^(pre|post|install|prepare)/.test(name))).toEqual([])
})

it('the list of shipped packages is that of the bundles; TARELINE_WRITE=1 writes it anew', () => {
  const built = read<ShippedPackage[]>('dist/packages.json')
  if (process.env['TARELINE_WRITE'] === '1')
    writeFileSync(join(root, list), `[\n${built.map((each) => `  ${JSON.stringify(each)}`).join(',\n')}\n]\n`)
  expect(read(list)).toEqual(built)
})

it('every shipped package has a licence that allows shipping it, and its text goes along', () => {
  const allowed = [
    'MIT',
    'ISC',
    '0BSD',
    'BSD-2-Clause',
    'BSD-3-Clause',
    'Apache-2.0',
    'BSL-1.0',
    'OFL-1.1',
    'BlueOak-1.0.0',
    'CC0-1.0',
    'Unlicense',
  ]
  const notices = readFileSync(join(root, 'dist/renderer/notices.txt'), 'utf8')
  for (const { name, version, license } of some(read<ShippedPackage[]>('dist/packages.json'))) {
    expect([
      name,
      license
        .split(/ AND | OR |[()]/)
        .filter(Boolean)
        .every((each) => allowed.includes(each)),
    ]).toEqual([name, true])
    expect(notices).toContain(`${name} ${version}`)
  }
})
