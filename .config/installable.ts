import { createHash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { resolve } from 'node:path'
import type { Plugin } from 'vite'

const root = resolve(import.meta.dirname, '..')

/** What a phone is told of the app that it puts among its own. */
const manifest = {
  id: '/',
  name: 'Tareline',
  short_name: 'Tareline',
  description: 'Keeps a fleet’s onboard axle weights honest',
  start_url: '/',
  scope: '/',
  display: 'standalone',
  background_color: '#f7f7f3',
  theme_color: '#0e3039',
  icons: [
    { src: '/icon-192.png', sizes: '192x192', type: 'image/png' },
    { src: '/icon-512.png', sizes: '512x512', type: 'image/png' },
    { src: '/icon-whole.png', sizes: '512x512', type: 'image/png', purpose: 'maskable' },
  ],
}

const icons = { 'icon-192.png': 'icon-192.png', 'icon-512.png': 'icon.png', 'icon-whole.png': 'icon-whole.png' }

/** The entry of the worker that keeps the app's files, and what the build calls it: an address that never changes. */
export const workerEntry = { name: 'service-worker', file: 'service-worker.js' }

/**
 * Makes the built screens an app that can be installed on a phone: its manifest and icons, and the list of all its
 * files for the worker that keeps them.
 */
export function installable(): Plugin {
  return {
    name: 'installable',
    applyToEnvironment: ({ name }) => name === 'client',
    generateBundle: {
      order: 'post',
      handler(_options, bundle) {
        const worker = bundle[workerEntry.file]
        if (worker?.type !== 'chunk') throw new Error(`the build has no ${workerEntry.file}`)
        for (const [fileName, source] of Object.entries(icons))
          this.emitFile({ type: 'asset', fileName, source: readFileSync(resolve(root, 'electron/icon', source)) })
        this.emitFile({
          type: 'asset',
          fileName: 'tareline.webmanifest',
          source: `${JSON.stringify(manifest, null, 2)}\n`,
        })
        const digest = createHash('sha256')
        const files: string[] = []
        for (const [fileName, part] of Object.entries(bundle).toSorted(([a], [b]) => (a < b ? -1 : 1))) {
          digest.update(fileName).update(part.type === 'chunk' ? part.code : part.source)
          // The page is kept under its own address.
          if (part !== worker && fileName !== 'index.html') files.push(`/${fileName}`)
        }
        worker.code = worker.code
          .replaceAll('__SHELL_FILES__', JSON.stringify(files))
          .replaceAll('__SHELL_MARK__', JSON.stringify(digest.digest('hex').slice(0, 16)))
      },
    },
  }
}
