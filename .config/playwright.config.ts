import { resolve } from 'node:path'
import { defineConfig } from '@playwright/test'
import { suiteEnvironment } from '../tests/clock.ts'
import { browserPlace, chromiumArguments, findChromium } from '../tests/screens/chromium.ts'

// What the tests start, and their own reckoning, runs on the suite's day.
Object.assign(process.env, suiteEnvironment('America/Denver'))

const root = resolve(import.meta.dirname, '..')

export default defineConfig({
  testDir: resolve(root, 'tests/screens'),
  outputDir: resolve(root, '.cache/playwright'),
  globalSetup: resolve(root, 'tests/screens/build-once.ts'),
  workers: 2,
  fullyParallel: false,
  forbidOnly: true,
  reporter: 'list',
  timeout: 120_000,
  expect: { timeout: 20_000 },
  use: {
    launchOptions: { executablePath: findChromium(), args: chromiumArguments },
    viewport: { width: 1280, height: 800 },
    ...browserPlace,
    screenshot: 'only-on-failure',
  },
})
