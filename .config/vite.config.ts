import { resolve } from 'node:path'
import react from '@vitejs/plugin-react'
import { defineConfig } from 'vite'
import { installable, workerEntry } from './installable.ts'
import { nodeBundle } from './node-bundle.ts'
import { withReflection } from './reflection.ts'
import { sharedGroup, sharedParts } from './shared-parts.ts'
import { shippedPackages } from './shipped-packages.ts'

const root = resolve(import.meta.dirname, '..')
const at = (path: string) => resolve(root, path)

export default defineConfig({
  root: at('renderer'),
  base: '/',
  cacheDir: at('.cache/vite'),
  publicDir: false,
  clearScreen: false,
  plugins: [react(), withReflection(), sharedParts(), installable(), shippedPackages()],
  html: { cspNonce: '__NONCE__' },
  builder: {},
  environments: {
    client: {
      // Data URLs are kept out of scripts and styles, so that fonts are files with a lasting address.
      build: {
        outDir: at('dist/renderer'),
        emptyOutDir: true,
        assetsInlineLimit: 0,
        sourcemap: false,
        chunkSizeWarningLimit: 1200,
        rolldownOptions: {
          input: { index: at('renderer/index.html'), [workerEntry.name]: at('renderer/worker/service-worker.ts') },
          output: {
            codeSplitting: { groups: [sharedGroup] },
            // A worker answers for the folder that it lies in and those below.
            entryFileNames: ({ name }) => (name === workerEntry.name ? workerEntry.file : 'assets/[name]-[hash].js'),
          },
        },
      },
    },
    main: nodeBundle({
      outDir: at('dist/main'),
      input: {
        desktop: at('electron/desktop/main.ts'),
        service: at('electron/desktop/service.ts'),
        command: at('electron/command/main.ts'),
        loopback: at('electron/launch/loopback-main.ts'),
        'file-worker': at('core/jobs/file-worker.ts'),
      },
    }),
    preload: {
      consumer: 'server',
      resolve: { noExternal: true, external: [] },
      build: {
        outDir: at('dist/preload'),
        emptyOutDir: true,
        target: 'chrome140',
        minify: false,
        rolldownOptions: {
          input: { preload: at('electron/preload/preload.ts') },
          external: ['electron'],
          output: { format: 'cjs', entryFileNames: '[name].cjs' },
        },
      },
    },
  },
})
