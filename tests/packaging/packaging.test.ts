import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { listPackage, statFile } from '@electron/asar'
import { FuseState, FuseV1Options, getCurrentFuseWire } from '@electron/fuses'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import config from '../../.config/electron-builder.config.ts'
import { freePort } from '#tests/free-port.ts'
import { startHouse } from '#tests/house/house-process.ts'
import { askOver, connectTo } from '#tests/house/running-house.ts'
import { packageApp, type Packaged, root } from '#tests/packaging/package-once.ts'
import { some } from '#tests/some.ts'

const into = mkdtempSync(join(tmpdir(), 'tareline-packaging-'))
let packaged: Packaged
let files: string[]

beforeAll(async () => {
  packaged = await packageApp(into)
  files = listPackage(packaged.archive, { isPack: false }).map((file) => file.replaceAll('\\', '/'))
}, 180_000)
afterAll(() => rmSync(into, { recursive: true, force: true }))

describe('the archive', () => {
  it('holds the bundles, the renderer, the demo fleet and SQLite’s module, and nothing else', () => {
    for (const file of [
      '/dist/main/desktop.js',
      '/dist/main/service.js',
      '/dist/main/file-worker.js',
      '/dist/preload/preload.cjs',
      '/dist/renderer/index.html',
      '/dist/renderer/notices.txt',
      '/demo-data/fleet/units.csv',
      '/package.json',
      '/node_modules/better-sqlite3/package.json',
    ])
      expect(files).toContain(file)
    const tops = new Set(files.map((file) => file.split('/')[1]))
    expect([...tops].toSorted()).toEqual(['demo-data', 'dist', 'node_modules', 'package.json'])
    const packages = new Set(
      files.filter((file) => file.startsWith('/node_modules/')).map((file) => file.split('/')[2]),
    )
    expect([...packages]).toEqual(['better-sqlite3'])
    expect(
      files.filter((file) => /\.(?:ts|tsx|map|test\.js)$/.test(file) && !file.startsWith('/node_modules/')),
    ).toEqual([])
    expect(files.filter((file) => /\.(?:tareline|log|env|pem|key)$|\/\./.test(file))).toEqual([])
  })

  it('has every migration in its bundles', async () => {
    const { migrations } = await import('#migrations/index.ts')
    const text = files
      .filter((file) => file.startsWith('/dist/main/') && file.endsWith('.js'))
      .map((file) => readFileSync(join(packaged.extracted, file), 'utf8'))
      .join('\n')
    for (const name of some(Object.keys(migrations))) expect(text).toContain(name)
  })

  it('leaves the native module outside, for this system only', () => {
    const native = files.filter((file) => file.endsWith('.node'))
    expect(native).toHaveLength(1)
    expect(native[0]).toContain(`${process.platform}-${process.arch}`)
    expect(statFile(packaged.archive, (native[0] ?? '').slice(1))).toMatchObject({ unpacked: true })
    expect(existsSync(join(`${packaged.archive}.unpacked`, native[0] ?? ''))).toBe(true)
  })

  it('is small', () => expect(statSync(packaged.archive).size).toBeLessThan(25 * 1024 ** 2))
})

it('the program’s fuses are set as the security checklist asks', async () => {
  const wire = await getCurrentFuseWire(packaged.executable)
  const on = [
    FuseV1Options.EnableCookieEncryption,
    FuseV1Options.EnableEmbeddedAsarIntegrityValidation,
    FuseV1Options.OnlyLoadAppFromAsar,
  ]
  const off = [
    FuseV1Options.RunAsNode,
    FuseV1Options.EnableNodeOptionsEnvironmentVariable,
    FuseV1Options.EnableNodeCliInspectArguments,
    FuseV1Options.LoadBrowserProcessSpecificV8Snapshot,
    FuseV1Options.GrantFileProtocolExtraPrivileges,
  ]
  expect(on.map((fuse) => [fuse, wire[fuse]])).toEqual(on.map((fuse) => [fuse, FuseState.ENABLE]))
  expect(off.map((fuse) => [fuse, wire[fuse]])).toEqual(off.map((fuse) => [fuse, FuseState.DISABLE]))
})

describe('what each system is told', () => {
  it('has an icon of the app’s own in each system’s format, and one for its files', () => {
    const icons = join(root, config.directories?.buildResources ?? '')
    const starts = {
      'icon.png': '89504e47',
      'icon.ico': '00000100',
      'icon.icns': '69636e73',
      'fleet-file.ico': '00000100',
      'fleet-file.icns': '69636e73',
    }
    for (const [name, start] of Object.entries(starts))
      expect([name, readFileSync(join(icons, name)).subarray(0, 4).toString('hex')]).toEqual([name, start])
    expect(readFileSync(join(icons, 'icon.png')).readUInt32BE(16)).toBe(512)
  })

  it('knows the fleet file’s ending, and packs for Windows, macOS and Linux', () => {
    expect(config.fileAssociations).toEqual([expect.objectContaining({ ext: 'tareline' })])
    expect([config.win?.target, config.mac?.target, config.linux?.target].every((target) => target !== undefined)).toBe(
      true,
    )
  })
})

describe('the packed app, taken out of its archive and started under plain Node', () => {
  const run = (args: readonly string[]) =>
    spawnSync(process.execPath, ['--import', join(root, 'tests/packaging/stand-in-hooks.ts'), ...args], {
      cwd: into,
      encoding: 'utf8',
      timeout: 60_000,
      env: { PATH: process.env['PATH'], XDG_DATA_HOME: join(into, 'home'), TARELINE_PACKED: packaged.extracted },
    })

  it('runs its command line', () => {
    const command = join(root, 'tests/packaging/command-packed.ts')
    const brought = run([
      command,
      'import',
      join(packaged.extracted, 'demo-data/fleet'),
      '--db',
      join(into, 'packed.tareline'),
      '--json',
    ])
    expect([brought.stderr.includes('Error'), brought.status, JSON.parse(brought.stdout)]).toEqual([
      false,
      0,
      expect.anything(),
    ])
    const trust = run([command, 'trust', '--db', join(into, 'packed.tareline'), '--json'])
    expect(trust.status).toBe(0)
    expect((JSON.parse(trust.stdout) as unknown[]).length).toBeGreaterThan(50)
    expect(run([command, 'no-such-command']).status).toBe(2)
  })

  it('serves a house', async () => {
    const program = ['--import', join(root, 'tests/packaging/stand-in-hooks.ts')]
    const house = startHouse(join(into, 'house.tareline'), join(into, 'house'), await freePort(), {
      program: [...program, join(root, 'tests/packaging/command-packed.ts')],
      env: { TARELINE_PACKED: packaged.extracted },
    })
    const desk = await house.ready
    const session = connectTo(desk)
    expect((await askOver(session, '/')).text).toContain('<title>')
    expect((await askOver(session, '/rpc/file/state', { method: 'POST' })).status).toBe(401)
    session.close()
    house.child.kill('SIGTERM')
    expect(await house.ended).toBe(0)
  })

  it('opens its window on a file it was given, and answers procedures from its own service', () => {
    const started = run([join(root, 'tests/packaging/start-packed.ts'), join(into, 'packed.tareline')])
    expect(started.stderr).toBe('')
    expect(JSON.parse(started.stdout)).toMatchObject({
      loaded: 'tareline://app/',
      page: 200,
      file: join(into, 'packed.tareline'),
      units: expect.any(Number),
      rows: expect.any(Number),
      other: join(into, 'other.tareline'),
    })
    expect(readdirSync(join(into, 'home/tareline/log'))).toEqual(['tareline.log'])
  })
})
