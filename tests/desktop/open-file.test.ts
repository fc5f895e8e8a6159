import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, it, vi } from 'vitest'
import type { contract } from '#core/contracts/contract.ts'
import { openStore } from '#core/store/open.ts'
import { fileAmong, isCommand } from '#electron/desktop/command-mode.ts'
import { app, asked, becomeReady, given, ipcMain } from '#tests/desktop/electron-stand-in.ts'

const folder = mkdtempSync(join(tmpdir(), 'tareline-open-'))
const first = join(folder, 'first.tareline')
const home = process.env['XDG_DATA_HOME']
let client: ContractRouterClient<typeof contract>
let port: MessagePort

beforeAll(async () => {
  process.env['XDG_DATA_HOME'] = join(folder, 'home')
  mkdirSync(join(folder, 'dist/renderer'), { recursive: true })
  writeFileSync(join(folder, 'package.json'), '{ "version": "9.8.7" }')
  await (await openStore(first)).close()
  copyFileSync(first, join(folder, 'second.tareline'))
  given.appPath = folder
  process.argv = ['electron', '.']
  await import('#electron/desktop/main.ts')
  // macOS tells of the file that started the app before it is ready.
  const preventDefault = vi.fn()
  app.emit('open-file', { preventDefault }, first)
  expect(preventDefault).toHaveBeenCalledOnce()
  becomeReady()
  await vi.waitUntil(() => asked.windows[0], { timeout: 60_000 })
  const { port1, port2 } = new MessageChannel()
  port = port1
  ipcMain.emit('tareline:port', { senderFrame: { url: 'tareline://app/', parent: null }, ports: [port2] })
  client = createORPCClient(new RPCLink({ port: port1 }))
  port1.start()
})
afterAll(async () => {
  port.close()
  const ended = asked.threads.map(
    (thread) =>
      new Promise((resolve) => {
        thread.once('exit', resolve)
      }),
  )
  app.quit()
  await Promise.all(ended)
  if (home === undefined) delete process.env['XDG_DATA_HOME']
  else process.env['XDG_DATA_HOME'] = home
  rmSync(folder, { recursive: true, force: true })
})

const openFile = async () => (await client.file.state()).file

it('starts on the file that a person opened', async () => expect(await openFile()).toBe(first))

it('opens the file of a second start in the window that is there, from the folder of that start', async () => {
  app.emit('second-instance', {}, ['tareline', '--flag', 'second.tareline'], folder)
  await expect.poll(openFile).toBe(join(folder, 'second.tareline'))
  app.emit('second-instance', {}, ['tareline'], folder)
  app.emit('open-file', { preventDefault: () => undefined }, first)
  await expect.poll(openFile).toBe(first)
})

it('says why a file cannot be opened, and keeps the one that is', async () => {
  writeFileSync(join(folder, 'letter.tareline'), 'Dear shop, this is a letter and not a database.')
  for (const name of ['letter', 'gone']) app.emit('second-instance', {}, ['tareline', `${name}.tareline`], folder)
  await expect.poll(() => asked.errorBoxes.length).toBe(2)
  expect(asked.errorBoxes).toEqual([
    `Tareline: ${join(folder, 'letter.tareline')} is not a Tareline database. Choose the file of a fleet, or a new name to start one.`,
    `Tareline: ${join(folder, 'gone.tareline')} is no longer there.`,
  ])
  expect(await openFile()).toBe(first)
  expect(asked.exitCodes).toEqual([])
})

it('has a folder picked in the window of the system, which the page cannot answer for', async () => {
  const outside = mkdtempSync(join(tmpdir(), 'tareline-outside-'))
  writeFileSync(join(outside, 'foreign.csv'), 'a,b\n1,2\n')
  const preview = () =>
    client.foreign.preview({ source: { path: join(outside, 'foreign.csv') }, mapping: null, zone: 'UTC' })
  try {
    await expect(preview()).rejects.toMatchObject({ data: { code: 'place-not-allowed', value: outside } })
    await expect(client.places.allow({ folder: outside })).rejects.toMatchObject({ data: { code: 'pick-it' } })
    expect(await client.places.pick({ startAt: outside })).toBeNull()
    await expect(preview()).rejects.toMatchObject({ data: { code: 'place-not-allowed' } })
    given.pickedFolder = outside
    expect(await client.places.pick({ startAt: outside })).toMatchObject({ folder: outside, why: 'picked' })
    expect(asked.folderDialogs.at(-1)).toMatchObject({ defaultPath: outside })
    expect((await preview()).columns).toEqual(['a', 'b'])
  } finally {
    given.pickedFolder = undefined
    rmSync(outside, { recursive: true, force: true })
  }
})

it('has all of that in its log, by base names', () => {
  const text = readFileSync(join(folder, 'home/tareline/log/tareline.log'), 'utf8')
  const events = text
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as Record<string, unknown>)
  expect(events).toContainEqual(expect.objectContaining({ what: 'start', window: 'desktop', version: '9.8.7' }))
  expect(events).toContainEqual(expect.objectContaining({ what: 'start', window: 'service' }))
  expect(events).toContainEqual(expect.objectContaining({ what: 'opened', file: 'second.tareline' }))
  expect(events).toContainEqual(
    expect.objectContaining({ what: 'not-opened', file: 'letter.tareline', code: 'not-a-database' }),
  )
  expect(events).toContainEqual(expect.objectContaining({ what: 'not-opened', file: 'gone.tareline', code: 'missing' }))
  expect(text).not.toContain(folder)
})

it('tells a fleet file from a command and from an option', () => {
  expect(isCommand([])).toBe(false)
  expect(isCommand(['--db', 'x.tareline'])).toBe(false)
  expect(isCommand(['C:\\Fleet\\Shop.TARELINE'])).toBe(false)
  expect(isCommand(['trust', '--db', 'x.tareline'])).toBe(true)
  expect(fileAmong(['--flag=x.tareline', '/a b/x.tareline'])).toBe('/a b/x.tareline')
  expect(fileAmong(['tareline', '--demo'])).toBeUndefined()
})
