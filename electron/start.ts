import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { TarelineError } from '#core/words/problem.ts'
import { hasDisplay } from '#electron/launch/browser.ts'
import { ensureBundles } from '#electron/launch/bundles.ts'
import { runDesktop } from '#electron/launch/desktop-window.ts'
import { openLog } from '#electron/log/log.ts'
import { readOptions, usage } from '#electron/options.ts'
import { keepFilesPrivate } from '#electron/private-files.ts'
import { programRoot } from '#electron/program-root.ts'
import { logFolder, reportTo } from '#electron/session.ts'

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
  const { startLoopback } = await import('#electron/launch/loopback-window.ts')
  await startLoopback({ options, root, version, say })
}

keepFilesPrivate()
try {
  await start()
} catch (error) {
  if (error instanceof TarelineError) console.error(error.message)
  else reportTo(openLog(logFolder()))(error)
  process.exitCode = error instanceof TarelineError ? 2 : 1
}
