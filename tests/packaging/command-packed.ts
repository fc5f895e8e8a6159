import { join } from 'node:path'
import { asked, given } from '#tests/desktop/electron-stand-in.ts'

/** Starts the packed app with the words of a command, and ends as it asks Electron to. */
const packed = process.env['TARELINE_PACKED'] ?? ''
given.appPath = packed
process.argv = ['electron', '.', ...process.argv.slice(2)]
await import(join(packed, 'dist/main/desktop.js'))
while (asked.exitCodes.length === 0)
  await new Promise((again) => {
    setTimeout(again, 10)
  })
process.exitCode = asked.exitCodes[0] ?? 1
