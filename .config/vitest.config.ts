import { resolve } from 'node:path'
import { defineConfig } from 'vitest/config'
import { suiteEnvironment } from '../tests/clock.ts'

const root = resolve(import.meta.dirname, '..')

export default defineConfig({
  root,
  cacheDir: '.cache/vitest',
  test: {
    // Whatever a test starts keeps its log and its usual file away from the person's own, compiles the program once,
    // and runs on the suite's day.
    env: {
      ...suiteEnvironment('UTC'),
      XDG_DATA_HOME: resolve(root, '.cache/test-home'),
      NODE_COMPILE_CACHE: resolve(root, '.cache/compiled'),
    },
    maxWorkers: '100%',
    // Patience, not a measure: on a loaded machine a test takes many times what it takes at rest.
    testTimeout: 120_000,
    hookTimeout: 120_000,
    expect: { poll: { timeout: 60_000 } },
    setupFiles: ['tests/fast-check-seed.ts'],
    // On processors with protection keys V8 has ended the program where threads were started and ended many times
    // ("Check failed: jit_page.has_value()"); it does without them on every other processor.
    execArgv: ['--no-memory-protection-keys'],
    projects: [
      // Pure functions leave nothing behind: their tests share a process, which halves their time.
      {
        extends: true,
        test: {
          name: 'pure',
          environment: 'node',
          isolate: false,
          include: ['tests/{unit,reference,lint}/**/*.test.ts'],
        },
      },
      {
        extends: true,
        test: {
          name: 'node',
          environment: 'node',
          include: ['tests/{store,law,api,exchange,command,faults,siege,loopback,house,packaging}/**/*.test.ts'],
        },
      },
      {
        extends: true,
        resolve: {
          alias: {
            'electron/main': resolve(root, 'tests/desktop/electron-stand-in.ts'),
            'electron/common': resolve(root, 'tests/desktop/electron-stand-in.ts'),
          },
        },
        test: { name: 'desktop', environment: 'node', include: ['tests/desktop/**/*.test.ts'] },
      },
    ],
  },
})
