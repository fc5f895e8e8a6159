import { resolve } from 'node:path'
import { defineConfig } from 'vite'
import { nodeBundle } from './node-bundle.ts'
import { withReflection } from './reflection.ts'

const root = resolve(import.meta.dirname, '..')
const at = (path: string) => resolve(root, path)

/**
 * What people start from its sources, the app without a window of Electron and the command line, as a bundle: it starts
 * in half the time, which tests in a browser take dozens of times.
 */
export default defineConfig({
  root,
  cacheDir: at('.cache/vite'),
  publicDir: false,
  clearScreen: false,
  plugins: [withReflection()],
  builder: {
    buildApp: async (builder) => {
      const { main } = builder.environments
      if (main) await builder.build(main)
    },
  },
  environments: {
    main: nodeBundle({
      outDir: at('.cache/program'),
      input: {
        start: at('electron/start.ts'),
        tareline: at('electron/tareline.ts'),
        'file-worker': at('core/jobs/file-worker.ts'),
      },
      alsoOutside: ['vite'],
    }),
  },
})
