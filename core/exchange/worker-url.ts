import { existsSync } from 'node:fs'

/**
 * Where the thread that works on fleet folders starts: the source itself under plain Node; in a bundle the entry
 * `folder-worker.js`, beside this code or, where this code lies in a shared part, one folder up.
 */
export function workerUrl(): URL {
  if (import.meta.url.endsWith('.ts')) return new URL('./folder-worker.ts', import.meta.url)
  const places = ['./folder-worker.js', '../folder-worker.js'].map((path) => new URL(path, import.meta.url))
  const found = places.find((place) => existsSync(place))
  if (!found)
    throw new Error(`folder-worker.js is missing from this copy of the app (looked for ${places.join(' and ')})`)
  return found
}
