import { globSync, readFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { describe, expect, it } from 'vitest'

const root = resolve(import.meta.dirname, '../..')
const sources = (folders: readonly string[]) =>
  folders.flatMap((folder) =>
    globSync('**/*.{ts,tsx}', { cwd: join(root, folder) }).map((file) => `${folder}/${file.replaceAll('\\', '/')}`),
  )
const filesThatSay = (pattern: RegExp, folders: readonly string[]): string[] =>
  sources(folders)
    .filter((file) => pattern.test(readFileSync(join(root, file), 'utf8')))
    .sort()

describe('the program has one clock', () => {
  it('which alone asks the system for the time, but for what is compared with the times of files and of other machines', () => {
    expect(filesThatSay(/\bDate\.now\(|\bnew Date\(\)/, ['core', 'electron', 'migrations'])).toEqual([
      'core/api/tend-file.ts',
      'core/exchange/place-folder.ts',
      'core/store/clock.ts',
      'core/store/file-lease.ts',
      'core/store/whole-copy.ts',
      'electron/house/serve-house.ts',
      'electron/launch/desktop-window.ts',
    ])
  })

  it('which alone asks the system for its zone', () => {
    expect(filesThatSay(/resolvedOptions\(\)/, ['core', 'electron', 'migrations'])).toEqual(['core/store/clock.ts'])
    // A window stands in with its own until it knows the fleet's.
    expect(filesThatSay(/resolvedOptions\(\)/, ['renderer'])).toEqual(['renderer/app/fleet-in-use.tsx'])
  })
})

describe('days', () => {
  it('are reckoned in one module: no other imports Temporal', () => {
    expect(filesThatSay(/temporal-polyfill/, ['core', 'electron', 'renderer', 'migrations'])).toEqual([
      'core/words/day.ts',
    ])
  })

  it('are never cut off an instant’s text, nor taken from the computer’s zone', () => {
    const cut = /\.slice\(0, 10\)|T00:00:00Z`|T12:00:00Z`|\.get(FullYear|Month|Date|Day|Hours|Minutes)\(\)/
    expect(filesThatSay(cut, ['core', 'electron', 'renderer'])).toEqual([])
  })
})
