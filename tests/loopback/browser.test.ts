import { expect, it } from 'vitest'
import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { findBrowser, hasDisplay, windowArguments, writeWayIn } from '#electron/launch/browser.ts'

const place = (platform: NodeJS.Platform, env: NodeJS.ProcessEnv, programs: string[]) => ({
  platform,
  env,
  isProgram: (file: string) => programs.includes(file),
})

it('finds an installed browser on Linux, Chromium’s family first', () => {
  const env = { PATH: '/usr/local/bin:/usr/bin' }
  expect(findBrowser(place('linux', env, ['/usr/bin/firefox', '/usr/bin/google-chrome']))).toEqual({
    name: 'Chrome',
    file: '/usr/bin/google-chrome',
    family: 'chromium',
  })
  expect(findBrowser(place('linux', env, ['/usr/bin/chromium', '/usr/local/bin/chromium']))?.file).toBe(
    '/usr/local/bin/chromium',
  )
  expect(findBrowser(place('linux', env, ['/usr/bin/firefox-esr']))?.family).toBe('firefox')
  expect(findBrowser(place('linux', {}, []))).toBeUndefined()
})

it('finds an installed browser on Windows and macOS', () => {
  const windows = { ProgramFiles: 'C:\\Program Files', 'ProgramFiles(x86)': 'C:\\Program Files (x86)' }
  const edge = 'C:\\Program Files (x86)\\Microsoft\\Edge\\Application\\msedge.exe'
  expect(findBrowser(place('win32', windows, [edge]))).toEqual({ name: 'Edge', file: edge, family: 'chromium' })
  const firefox = '/Users/kim/Applications/Firefox.app/Contents/MacOS/firefox'
  expect(findBrowser(place('darwin', { HOME: '/Users/kim' }, [firefox]))).toEqual({
    name: 'Firefox',
    file: firefox,
    family: 'firefox',
  })
})

it('knows whether a session can show a window', () => {
  expect(hasDisplay({ platform: 'linux', env: {} })).toBe(false)
  expect(hasDisplay({ platform: 'linux', env: { DISPLAY: '' } })).toBe(false)
  expect(hasDisplay({ platform: 'linux', env: { WAYLAND_DISPLAY: 'wayland-0' } })).toBe(true)
  expect(hasDisplay({ platform: 'win32', env: {} })).toBe(true)
  expect(hasDisplay({ platform: 'darwin', env: {} })).toBe(true)
})

it('keeps the browser’s sandbox for everyone but root, and the window apart from usual browsing', () => {
  const chromium = { name: 'Chromium', file: '/usr/bin/chromium', family: 'chromium' } as const
  const usual = windowArguments(chromium, 'http://127.0.0.1:1/enter?token=x', '/profile', false)
  expect(usual).toContain('--app=http://127.0.0.1:1/enter?token=x')
  expect(usual).toContain('--user-data-dir=/profile')
  expect(usual).not.toContain('--no-sandbox')
  expect(windowArguments(chromium, 'http://127.0.0.1:1/', '/profile', true)).toContain('--no-sandbox')
  const firefox = windowArguments({ ...chromium, family: 'firefox' }, 'http://127.0.0.1:1/', '/profile', true)
  expect(firefox).toEqual(expect.arrayContaining(['--profile', '/profile', 'http://127.0.0.1:1/']))
})

it('leads the browser to the address by a page that only its own user may read, not by the command line', () => {
  const profile = mkdtempSync(join(tmpdir(), 'tareline-test-'))
  try {
    const way = writeWayIn(profile, 'http://127.0.0.1:1/enter?token=x')
    expect(way).toMatch(/^file:\/\/.*\/open\.html$/)
    const page = join(profile, 'open.html')
    expect(statSync(page).mode & 0o777).toBe(0o600)
    expect(readFileSync(page, 'utf8')).toContain('content="0;url=http://127.0.0.1:1/enter?token=x"')
  } finally {
    rmSync(profile, { recursive: true, force: true })
  }
})
