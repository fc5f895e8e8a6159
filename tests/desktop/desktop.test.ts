import { createORPCClient, safe } from '@orpc/client'
import { RPCLink } from '@orpc/client/message-port'
import type { ContractRouterClient } from '@orpc/contract'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import type { contract } from '#core/contracts/contract.ts'
import {
  type BrowserWindow,
  app,
  asked,
  becomeReady,
  forked,
  given,
  ipcMain,
} from '#tests/desktop/electron-stand-in.ts'

const folder = mkdtempSync(join(tmpdir(), 'tareline-desktop-'))
/** Where the app keeps picked files: a place that no other run of it puts any. */
const temporary = join(folder, 'temporary')
let window: BrowserWindow

function inboxRoots() {
  return readdirSync(temporary).filter((name) => name.startsWith('tareline-inbox-')).length
}

beforeAll(async () => {
  mkdirSync(temporary)
  for (const name of ['TMPDIR', 'TMP', 'TEMP']) vi.stubEnv(name, temporary)
  mkdirSync(join(folder, 'dist/renderer'), { recursive: true })
  writeFileSync(
    join(folder, 'dist/renderer/index.html'),
    '<!doctype html><script nonce="__NONCE__" src="/a.js"></script>',
  )
  writeFileSync(join(folder, 'package.json'), '{ "version": "9.8.7" }')
  given.appPath = folder
  process.argv = ['electron', '.', '--db', join(folder, 'fleet.tareline')]
  await import('#electron/desktop/main.ts')
  becomeReady()
  window = await vi.waitUntil(() => asked.windows[0], { timeout: 60_000 })
})

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

function ports() {
  const { port1, port2 } = new MessageChannel()
  return { port1, port2 }
}

function clientOver(port: MessagePort): ContractRouterClient<typeof contract> {
  const client: ContractRouterClient<typeof contract> = createORPCClient(new RPCLink({ port }))
  port.start()
  return client
}

const handOver = (port: MessagePort, senderFrame: { url: string; parent: unknown } | null) =>
  ipcMain.emit('tareline:port', { senderFrame, ports: [port] })

describe('the window', () => {
  it('is opened once, on the app’s own address, and shown when it is ready', () => {
    expect(asked.windows).toHaveLength(1)
    expect(window.loaded).toEqual(['tareline://app/'])
    expect(window.shown).toBe(true)
  })

  it('gives its page no reach beyond the web’s own', () => {
    expect(window.options.webPreferences).toMatchObject({
      contextIsolation: true,
      sandbox: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      nodeIntegrationInSubFrames: false,
      webSecurity: true,
      allowRunningInsecureContent: false,
      experimentalFeatures: false,
      webviewTag: false,
    })
    expect(window.options.webPreferences?.preload).toBe(join(folder, 'dist/preload/preload.cjs'))
    expect(asked.beforeReady).toEqual(['registerSchemesAsPrivileged', 'enableSandbox'])
  })

  it.each(['will-navigate', 'will-redirect', 'will-frame-navigate'])(
    'stays on the app: %s elsewhere is prevented',
    (name) => {
      const tries = [
        'https://example.com/',
        'https://example.com/?next=tareline://app/',
        'https://tareline/',
        'http://127.0.0.1/',
        'file:///etc/passwd',
        'javascript:alert(1)',
        'data:text/html,x',
        'tareline://other/',
        'tareline://app.example.com/',
        'tareline://user@app/',
        'tareline:app',
        'about:blank',
        '',
      ]
      for (const url of tries) {
        const preventDefault = vi.fn()
        window.webContents.emit(name, { url, preventDefault })
        expect(preventDefault, url).toHaveBeenCalledOnce()
      }
      const stays = vi.fn()
      window.webContents.emit(name, { url: 'tareline://app/#/unit/T-104', preventDefault: stays })
      expect(stays).not.toHaveBeenCalled()
    },
  )

  it('never holds another page', () => {
    const preventDefault = vi.fn()
    window.webContents.emit('will-attach-webview', { preventDefault })
    expect(preventDefault).toHaveBeenCalledOnce()
  })

  it('opens no window, and only known https links in the browser', () => {
    const open = (url: string) => window.webContents.openHandler?.({ url } as Electron.HandlerDetails)
    const unknown = [
      'https://example.com/',
      'http://www.ecfr.gov/',
      'https://www.ecfr.gov.example.com/',
      'https://example.com/www.ecfr.gov',
      'https://www.ecfr.gov@example.com/',
      'https://someone@www.ecfr.gov/',
      'https://www.ecfr.gov:8443/',
      'file:///etc/passwd',
      'javascript:alert(1)',
      'tareline://app/',
      'mailto:a@example.com',
      'nonsense',
    ]
    for (const url of unknown) expect(open(url), url).toEqual({ action: 'deny' })
    expect(asked.opened).toEqual([])
    expect(open('https://www.ecfr.gov/current/title-23')).toEqual({ action: 'deny' })
    expect(asked.opened).toEqual(['https://www.ecfr.gov/current/title-23'])
  })

  it('is granted no permission, asked or only looked up', () => {
    const { request, check, device } = asked.permissions
    for (const permission of [
      'media',
      'geolocation',
      'notifications',
      'clipboard-read',
      'openExternal',
      'fileSystem',
    ] as const) {
      const decide = vi.fn()
      request?.({} as Electron.WebContents, permission, decide, {} as Electron.PermissionRequest)
      expect(decide).toHaveBeenCalledExactlyOnceWith(false)
    }
    expect(check?.(null, 'media', 'tareline://app', {} as Electron.PermissionCheckHandlerHandlerDetails)).toBe(false)
    expect(device?.({} as Electron.DevicePermissionHandlerHandlerDetails)).toBe(false)
  })
})

describe('the app’s own scheme', () => {
  const answer = async (address: string, init?: RequestInit) =>
    await asked.handlers.get('tareline')?.(new Request(address, init) as GlobalRequest)

  it('is a secure standard origin that takes no part in other sites', () => {
    expect(asked.schemes).toEqual([
      {
        scheme: 'tareline',
        privileges: expect.objectContaining({ standard: true, secure: true, bypassCSP: false, corsEnabled: false }),
      },
    ])
  })

  it('serves the screens under the strict policy', async () => {
    const response = await answer('tareline://app/')
    expect(response?.status).toBe(200)
    expect(response?.headers.get('content-security-policy')).toMatch(/^default-src 'none'; script-src 'self' 'nonce-/)
    expect(response?.headers.get('x-content-type-options')).toBe('nosniff')
    expect(await response?.text()).not.toContain('__NONCE__')
  })

  it('serves nothing else and no other host', async () => {
    expect((await answer('tareline://app/..%2f..%2fpackage.json'))?.status).toBe(404)
    expect((await answer('tareline://app/package.json'))?.status).toBe(404)
    expect((await answer('tareline://other/'))?.status).toBe(403)
  })

  it('takes picked files as the loopback window does', async () => {
    const sent = await answer('tareline://app/inbox/desktop-inbox/yards.csv', { method: 'PUT', body: 'yard\nNorth\n' })
    expect(sent?.status).toBe(204)
  })
})

describe('the port to the procedures', () => {
  it('is handed over from the app’s top frame: a call is answered by the service from the real file', async () => {
    const { port1, port2 } = ports()
    handOver(port2, { url: 'tareline://app/#/roster', parent: null })
    const client = clientOver(port1)
    expect(await client.file.state()).toMatchObject({
      file: join(folder, 'fleet.tareline'),
      demo: false,
      units: 0,
      version: '9.8.7',
      revision: 0,
    })
    const { error, isDefined } = await safe(client.unit.sheet({ unit: 'T-1' }))
    expect(isDefined && error.code).toBe('REFUSED')
    expect(existsSync(join(folder, 'fleet.tareline'))).toBe(true)
    expect(forked).toEqual([join(folder, 'dist/main/service.js')])
    port1.close()
  })

  it('is taken from nobody else, and closed', async () => {
    const strangers = [
      { url: 'https://example.com/?x=tareline://app/', parent: null },
      { url: 'tareline://other/', parent: null },
      { url: 'about:blank', parent: null },
      { url: 'tareline://app/', parent: { url: 'tareline://app/' } },
      null,
    ]
    for (const frame of strangers) {
      const { port1, port2 } = ports()
      const closed = new Promise((resolve) => {
        port1.addEventListener('close', resolve)
      })
      handOver(port2, frame)
      await closed
    }
    ipcMain.emit('tareline:port', { senderFrame: { url: 'tareline://app/', parent: null }, ports: [] })
  })

  it('survives a message that is no call', async () => {
    const { port1, port2 } = ports()
    handOver(port2, { url: 'tareline://app/', parent: null })
    port1.postMessage('{ not a call')
    port1.postMessage(null)
    const other = ports()
    handOver(other.port2, { url: 'tareline://app/', parent: null })
    expect((await clientOver(other.port1).file.state()).units).toBe(0)
    port1.close()
    other.port1.close()
  })
})

it('leaves no picked file behind when it ends', async () => {
  expect(inboxRoots()).toBe(1)
  app.emit('quit', {}, 0)
  expect(inboxRoots()).toBe(0)
})
