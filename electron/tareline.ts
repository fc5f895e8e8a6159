import { fromBundle, isBundleCurrent } from '#electron/launch/bundles.ts'
import { keepFilesPrivate } from '#electron/private-files.ts'
import { programRoot } from '#electron/program-root.ts'

keepFilesPrivate()
const root = programRoot()
const { runTareline } = isBundleCurrent(root, 'command')
  ? await fromBundle<typeof import('#electron/command/main.ts')>(root, 'command')
  : await import('#electron/command/main.ts')
await runTareline(process.argv.slice(2))
