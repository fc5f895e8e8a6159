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

/** The installed Chromium; the environment variable TARELINE_CHROMIUM names another one. */
export function findChromium(): string {
  const named = process.env['TARELINE_CHROMIUM']
  if (named) return named
  for (const folder of (process.env['PATH'] ?? '').split(delimiter)) {
    for (const name of ['chromium', 'chromium-browser', 'google-chrome']) {
      const path = join(folder, name)
      if (existsSync(path)) return path
    }
  }
  throw new Error('No Chromium found: install one, or name it in the environment variable TARELINE_CHROMIUM.')
}
