import { createORPCClient } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { mkdtempSync, rmSync } from 'node:fs'
import { readFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { Worker } from 'node:worker_threads'
import { afterAll, beforeAll, expect, it } from 'vitest'
import type { contract } from '#core/contracts/contract.ts'
import { ensureBundles } from '#electron/launch/bundles.ts'
import { some } from '#tests/some.ts'

const root = resolve(import.meta.dirname, '../..')
const folder = mkdtempSync(join(tmpdir(), 'tareline-bundle-'))

beforeAll(async () => await ensureBundles(root, () => undefined), 120_000)
afterAll(() => rmSync(folder, { recursive: true, force: true }))

it('the built service brings a folder in with its own thread, as the packaged app does', async () => {
  const start = {
    version: '1.0.0',
    db: join(folder, 'fleet.tareline'),
    startWithDemo: false,
    fleetFolder: join(root, 'demo-data/fleet'),
    inboxRoot: folder,
  }
  const thread = new Worker(new URL('./utility-thread.ts', import.meta.url), {
    argv: [JSON.stringify(start), join(root, 'dist/main/service.js')],
  })
  const ended = new Promise((done) => {
    thread.once('exit', done)
  })
  const news = await new Promise((done, fail) => {
    thread.once('message', done).once('error', fail)
  })
  expect(news).toEqual({ news: 'ready' })
  const { port1, port2 } = new MessageChannel()
  thread.postMessage({ data: 'port', ports: [port2] }, [port2 as unknown as import('node:worker_threads').MessagePort])
  const client: ContractRouterClient<typeof contract> = createORPCClient(new RPCLink({ port: port1 }))
  port1.start()
  const steps = await client.folder.bringIn({ folder: join(root, 'demo-data/fleet') })
  let step = await steps.next()
  while (!step.done) step = await steps.next()
  expect(step.value).toMatchObject({ outcome: 'stored' })
  expect((await client.file.state()).units).toBeGreaterThan(50)
  thread.postMessage({ data: 'end', ports: [] })
  await ended
  port1.close()
}, 120_000)

it('the built preload is plain CommonJS that needs nothing but Electron, as its sandbox demands', async () => {
  const text = await readFile(join(root, 'dist/preload/preload.cjs'), 'utf8')
  expect([...text.matchAll(/require\(['"]([^'"]+)['"]\)/g)].map(([, name]) => name)).toEqual(['electron'])
  expect(text).not.toMatch(/^\s*(import|export) /m)
})

it('the built page loads only what the strict policy lets it load', async () => {
  const page = await readFile(join(root, 'dist/renderer/index.html'), 'utf8')
  for (const [tag] of some(page.matchAll(/<script\b[^>]*>/g))) {
    expect(tag).toContain('nonce="__NONCE__"')
    expect(tag).toMatch(/src="\/assets\/[\w.-]+"/)
  }
  expect(page).not.toMatch(/<style\b(?![^>]*nonce)|\son\w+=|https?:/)
})
