import { readFileSync } from 'node:fs'
import { builtinModules } from 'node:module'
import { resolve } from 'node:path'
import react from '@vitejs/plugin-react'
import { defineConfig } from 'vite'
import { installable, workerEntry } from './installable.ts'
import { withReflection } from './reflection.ts'
import { shippedPackages } from './shipped-packages.ts'

const root = resolve(import.meta.dirname, '..')
const at = (path: string) => resolve(root, path)
const nodeModules = [...builtinModules, ...builtinModules.map((name) => `node:${name}`)]
const { dependencies } = JSON.parse(readFileSync(at('package.json'), 'utf8')) as {
  dependencies: Record<string, string>
}

/** What Electron or Node load themselves; everything else is in the bundle. */
const outside = [...nodeModules, /^electron($|\/)/, ...Object.keys(dependencies)]

export default defineConfig({
  root: at('renderer'),
  base: '/',
  cacheDir: at('.cache/vite'),
  publicDir: false,
  clearScreen: false,
  plugins: [react(), withReflection(), installable(), shippedPackages()],
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
            // A worker answers for the folder that it lies in and those below.
            entryFileNames: ({ name }) => (name === workerEntry.name ? workerEntry.file : 'assets/[name]-[hash].js'),
          },
        },
      },
    },
    main: {
      consumer: 'server',
      resolve: { noExternal: true, external: [], conditions: ['node', 'import', 'module', 'default'] },
      build: {
        outDir: at('dist/main'),
        emptyOutDir: true,
        target: 'node24',
        minify: false,
        rolldownOptions: {
          input: {
            desktop: at('electron/desktop/main.ts'),
            service: at('electron/desktop/service.ts'),
            'file-worker': at('core/jobs/file-worker.ts'),
          },
          external: outside,
          output: {
            format: 'es',
            entryFileNames: '[name].js',
            chunkFileNames: 'parts/[name]-[hash].js',
            // pdfmake and what it is made of ask for these, which a module does not have.
            banner: 'const __dirname = import.meta.dirname, __filename = import.meta.filename;',
          },
        },
      },
    },
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
