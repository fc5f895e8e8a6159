import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { spawnSync } from 'node:child_process'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { makeRunFolder } from '#core/store/run-folder.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-private-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

it('a run removes the folders of its kind that killed runs left, and none of a run that goes on or of anybody else', () => {
  const { pid: gone } = spawnSync(process.execPath, ['-e', ''])
  const left = `tareline-inbox-${gone}-aBc123`
  const others = [
    `tareline-inbox-${process.pid}-aBc123`,
    `tareline-window-${gone}-aBc123`,
    'tareline-inbox-aBc123',
    `my tareline-inbox-${gone}-aBc123`,
  ]
  for (const name of [left, ...others]) {
    mkdirSync(join(folder, name))
    writeFileSync(join(folder, name, 'units.csv'), 'unit')
  }
  const made = makeRunFolder('inbox', folder)
  expect(statSync(made).mode & 0o777).toBe(0o700)
  expect(existsSync(join(folder, left))).toBe(false)
  expect(readdirSync(folder)).toEqual(expect.arrayContaining(others))
})

it('the command line makes files and folders that only their user may read', () => {
  const tareline = (...args: string[]) =>
    spawnSync(process.execPath, [resolve(import.meta.dirname, '../../electron/run.js'), 'tareline', ...args], {
      cwd: folder,
    })
  mkdirSync(join(folder, 'small'))
  writeFileSync(join(folder, 'small/units.csv'), 'unit,kind\nT-1,tractor\n')
  expect(tareline('import', 'small', '--db', 'fleet.tareline').status).toBe(0)
  expect(tareline('export', 'out', '--db', 'fleet.tareline').status).toBe(0)
  const modes = ['fleet.tareline', 'out', 'out/units.csv'].map((name) => statSync(join(folder, name)).mode & 0o777)
  expect(modes).toEqual([0o600, 0o700, 0o600])
})
