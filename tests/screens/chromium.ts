import { existsSync } from 'node:fs'
import { delimiter, join } from 'node:path'

/** What keeps a test's browser to itself: no calls home, and a sandbox only where the user is not root. */
export const chromiumArguments = [
  '--no-sandbox',
  '--disable-quic',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--no-first-run',
]

/** Whose browser it is: the fleet's zone is never the browser's. */
export const browserPlace = { locale: 'en-US', timezoneId: 'Pacific/Auckland' } as const

/**
 * The installed Chromium, without its own windows where that is installed as well: it draws the same and takes a third
 * less of the machine. The environment variable TARELINE_CHROMIUM names another one.
 */
export function findChromium(): string {
  const named = process.env['TARELINE_CHROMIUM']
  if (named) return named
  for (const name of ['chromium-headless-shell', 'chromium', 'chromium-browser']) {
    for (const folder of (process.env['PATH'] ?? '').split(delimiter)) {
      const path = join(folder, name)
      if (existsSync(path)) return path
    }
  }
  throw new Error('No Chromium found: install one, or name it in the environment variable TARELINE_CHROMIUM.')
}
