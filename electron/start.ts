import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { hasDisplay } from '#electron/launch/browser.ts'
import { ensureBundles, fromBundle } from '#electron/launch/bundles.ts'
import { runDesktop } from '#electron/launch/desktop-window.ts'
import { inWords } from '#electron/launch/in-words.ts'
import { readOptions, usage } from '#electron/options.ts'
import { keepFilesPrivate } from '#electron/private-files.ts'
import { programRoot } from '#electron/program-root.ts'

const root = programRoot()
const say = (line: string) => console.log(line)

async function start(): Promise<void> {
  const options = readOptions(process.argv.slice(2))
  if (options.help) return say(usage.trimEnd())
  const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string }
  await ensureBundles(root, say)
  if (options.window && !options.loopback && options.port === 0 && hasDisplay()) {
    const desktop = await runDesktop(root, options, say)
    if (desktop.ran) {
      process.exitCode = desktop.code
      return
    }
    say(`${desktop.why}: the app opens in the installed browser instead.`)
  }
  // The server and the store take a moment to load, which neither --help nor Electron's window needs.
  const { runLoopback } = await fromBundle<typeof import('#electron/launch/loopback-main.ts')>(root, 'loopback')
  await runLoopback({ options, root, version, say })
}

keepFilesPrivate()
await inWords(start)
