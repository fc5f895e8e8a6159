import { readFileSync } from 'node:fs'
import { builtinModules } from 'node:module'
import { resolve } from 'node:path'
import type { EnvironmentOptions } from 'vite'

const { dependencies } = JSON.parse(readFileSync(resolve(import.meta.dirname, '../package.json'), 'utf8')) as {
  dependencies: Record<string, string>
}

/** What Electron or Node load themselves; everything else is in the bundle. */
const outside = [
  ...builtinModules,
  ...builtinModules.map((name) => `node:${name}`),
  /^electron($|\/)/,
  ...Object.keys(dependencies),
]

interface Wanted {
  readonly outDir: string
  readonly input: Record<string, string>
  /** Packages that this bundle does not take along either. */
  readonly alsoOutside?: readonly string[]
}

/** How what runs under Node or in Electron's own processes is bundled. */
export const nodeBundle = ({ outDir, input, alsoOutside = [] }: Wanted): EnvironmentOptions => ({
  consumer: 'server',
  resolve: { noExternal: true, external: [], conditions: ['node', 'import', 'module', 'default'] },
  build: {
    outDir,
    emptyOutDir: true,
    target: 'node24',
    minify: false,
    rolldownOptions: {
      input,
      external: [...outside, ...alsoOutside],
      output: {
        format: 'es',
        entryFileNames: '[name].js',
        chunkFileNames: 'parts/[name]-[hash].js',
        // pdfmake and what it is made of ask for these, which a module does not have.
        banner: 'const __dirname = import.meta.dirname, __filename = import.meta.filename;',
      },
    },
  },
})
