import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { copyFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import type { contract } from '#core/contracts/contract.ts'
import { app, asked, becomeReady, given, ipcMain } from '#tests/desktop/electron-stand-in.ts'

/**
 * Starts the packed app on a fleet file as a system does when one is opened, asks it something, and prints what it
 * said.
 */
const packed = process.env['TARELINE_PACKED'] ?? ''
const [, , file = ''] = process.argv

async function until<T>(found: () => T | undefined | Promise<T | undefined>): Promise<T> {
  for (;;) {
    const value = await found()
    if (value !== undefined) return value
    if (asked.errorBoxes.length > 0) throw new Error(asked.errorBoxes.join('\n'))
    await new Promise((again) => {
      setTimeout(again, 20)
    })
  }
}

// Before the file is open: what copies one that is being written may get a part of each of two states.
const other = join(dirname(file), 'other.tareline')
copyFileSync(file, other)
given.appPath = packed
given.runForked = true
process.argv = ['electron', '.', file]
await import(join(packed, 'dist/main/desktop.js'))
becomeReady()
const window = await until(() => asked.windows[0])
const page = await asked.handlers.get('tareline')?.(new Request('tareline://app/') as never)
const { port1, port2 } = new MessageChannel()
ipcMain.emit('tareline:port', { senderFrame: { url: 'tareline://app/', parent: null }, ports: [port2] })
const client: ContractRouterClient<typeof contract> = createORPCClient(new RPCLink({ port: port1 }))
port1.start()
const state = await client.file.state()
const { rows } = await client.roster.list()
// A second start with another file reaches the one that runs.
app.emit('second-instance', {}, ['tareline', 'other.tareline'], dirname(file))
const now = await until(async () => {
  const found = await client.file.state()
  return found.file === file ? undefined : found
})
console.log(
  JSON.stringify({
    loaded: window.loaded[0],
    page: page?.status,
    file: state.file,
    units: state.units,
    rows: rows.length,
    other: now.file,
  }),
)
port1.close()
const ended = asked.threads.map(
  (thread) =>
    new Promise((done) => {
      thread.once('exit', done)
    }),
)
app.quit()
await Promise.all(ended)
