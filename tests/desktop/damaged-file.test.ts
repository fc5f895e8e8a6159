import { createORPCClient, safe } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, it, vi } from 'vitest'
import { keepCopy } from '#core/store/copies.ts'
import { openStore } from '#core/store/open.ts'
import type { Client } from '#tests/api/windows.ts'
import { app, asked, becomeReady, given, ipcMain } from '#tests/desktop/electron-stand-in.ts'
import { makeFleetFile, overwriteBytes } from '#tests/faults/fleet-files.ts'

const folder = mkdtempSync(join(tmpdir(), 'tareline-desktop-damaged-'))

afterAll(async () => {
  const ended = asked.threads.map(
    (thread) =>
      new Promise((resolve) => {
        thread.once('exit', resolve)
      }),
  )
  app.quit()
  await Promise.all(ended)
  rmSync(folder, { recursive: true, force: true })
})

it('opens its window on a damaged file, whose copies are then offered and restored over the port', async () => {
  const file = await makeFleetFile(folder)
  const store = await openStore(file)
  await keepCopy(store.raw, file, 'day')
  await store.close()
  overwriteBytes(file)
  const damaged = readFileSync(file)
  mkdirSync(join(folder, 'dist/renderer'), { recursive: true })
  writeFileSync(join(folder, 'dist/renderer/index.html'), '<!doctype html>')
  writeFileSync(join(folder, 'package.json'), '{ "version": "1.0.0" }')
  given.appPath = folder
  process.argv = ['electron', '.', '--db', file]
  await import('#electron/desktop/main.ts')
  becomeReady()
  await vi.waitUntil(() => asked.windows[0], { timeout: 60_000 })
  expect([asked.errorBoxes, asked.exitCodes]).toEqual([[], []])

  const { port1, port2 } = new MessageChannel()
  const client: Client = createORPCClient(new RPCLink({ port: port1 }))
  port1.start()
  ipcMain.emit('tareline:port', { senderFrame: { url: 'tareline://app/', parent: null }, ports: [port2] })
  const [error, , isDefined] = await safe(client.file.state())
  expect([isDefined, error?.message]).toEqual([true, expect.stringContaining('is damaged and was left as it is')])
  const { trouble, copies } = await client.copies.list()
  expect([trouble?.code, copies.map(({ units }) => units)]).toEqual(['damaged', [8]])
  const { keptAs } = await client.copies.restore({ name: copies[0]?.name ?? '' })
  expect((await client.file.state()).units).toBe(8)
  expect(readFileSync(keptAs as string).equals(damaged)).toBe(true)
  port1.close()
})
