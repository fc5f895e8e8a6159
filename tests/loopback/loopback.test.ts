import { existsSync, readdirSync, readFileSync, symlinkSync } from 'node:fs'
import { connect } from 'node:net'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { type Admission, enterAt } from '#tests/loopback/admission.ts'
import { ask, enter, type RunningApp, runApp } from '#tests/loopback/running-app.ts'

let app: RunningApp
let mine: Admission

beforeAll(async () => {
  app = await runApp()
  mine = await enter(app)
})
afterAll(async () => await app[Symbol.asyncDispose]())

describe('the one-time address', () => {
  it('is changed for a cookie that other sites cannot send and a pass of the page’s own, then leads to the app', async () => {
    await using fresh = await runApp()
    const { pathname, search } = new URL(fresh.loopback.address)
    const answer = await ask(fresh.origin, pathname + search)
    expect(answer.status).toBe(200)
    expect(answer.text).toMatch(/data-pass="[\w-]{43}".*localStorage.*location\.replace\('\/'\)/)
    expect(answer.headers['cache-control']).toBe('no-store')
    expect(String(answer.headers['set-cookie'])).toMatch(
      /^tareline-[0-9a-f]{12}=[\w-]{43}; Path=\/; HttpOnly; SameSite=Strict$/,
    )
  })

  it('is refused when it is used again, though the cookie is there', async () => {
    const { pathname, search } = new URL(app.loopback.address)
    expect((await ask(app.origin, pathname + search)).status).toBe(403)
    expect((await ask(app.origin, pathname + search, { headers: mine })).status).toBe(403)
  })

  it('is refused with a missing or wrong token, which does not use it up', async () => {
    await using fresh = await runApp()
    expect((await ask(fresh.origin, '/enter')).status).toBe(403)
    expect((await ask(fresh.origin, '/enter?token=')).status).toBe(403)
    expect((await ask(fresh.origin, `/enter?token=${'A'.repeat(43)}`)).status).toBe(403)
    expect((await enter(fresh)).cookie).toMatch(/^tareline-/)
  })

  it('is given anew without a restart, each new one for the one before, and lets a second browser in', async () => {
    await using fresh = await runApp()
    const [second, third] = [fresh.loopback.newAddress(), fresh.loopback.newAddress()]
    for (const used of [fresh.loopback.address, second]) {
      const { pathname, search } = new URL(used)
      expect((await ask(fresh.origin, pathname + search)).status).toBe(403)
    }
    expect((await ask(fresh.origin, '/', { headers: await enterAt(third) })).status).toBe(200)
  })

  it('has a name and a secret of its own in every run', async () => {
    await using other = await runApp()
    const theirs = await enter(other)
    expect(theirs.cookie.split('=')[0]).not.toBe(mine.cookie.split('=')[0])
    expect(theirs['tareline-pass']).not.toBe(mine['tareline-pass'])
    expect((await ask(other.origin, '/', { headers: mine })).status).toBe(401)
    expect((await ask(other.origin, '/rpc/file/state', { method: 'POST', headers: mine })).status).toBe(401)
  })
})

describe('who is answered', () => {
  it('lets nobody in without cookie and pass, on any path', async () => {
    for (const path of ['/', '/index.html', '/assets/app-1.js', '/rpc/file/state', '/inbox/aaaaaaaa/units.csv']) {
      const answer = await ask(app.origin, path)
      expect([path, answer.status]).toEqual([path, 401])
      expect(answer.text).toMatch(/^Open Tareline with the address/)
    }
    const [name = '', value] = mine.cookie.split('=')
    expect((await ask(app.origin, '/', { headers: { cookie: `${name}=` } })).status).toBe(401)
    expect((await ask(app.origin, '/', { headers: { cookie: `other=${value}` } })).status).toBe(401)
  })

  it('gives a neighbor that was sent the cookie the app’s own files and nothing of the fleet', async () => {
    const headers = { cookie: mine.cookie }
    expect((await ask(app.origin, '/', { headers })).status).toBe(200)
    expect((await ask(app.origin, '/', { headers })).text).not.toContain(mine['tareline-pass'])
    for (const wrong of [{}, { 'tareline-pass': '' }, { 'tareline-pass': mine.cookie.split('=')[1] ?? '' }]) {
      const call = { method: 'POST', headers: { ...headers, ...wrong } }
      expect((await ask(app.origin, '/rpc/file/state', call)).status).toBe(401)
      const put = { method: 'PUT', headers: { ...headers, ...wrong }, body: 'unit' }
      expect((await ask(app.origin, '/inbox/first-inbox/units.csv', put)).status).toBe(401)
    }
  })

  it('lets its own browser in though a neighbor has set cookies of the same name', async () => {
    const [name] = mine.cookie.split('=')
    const cookie = `${name}=theirs; x=${'a'.repeat(4000)}; ${mine.cookie}; ${name}=theirs`
    expect((await ask(app.origin, '/', { headers: { cookie } })).status).toBe(200)
  })

  it('refuses every other host name, as a rebound name would send it', async () => {
    const { port } = app.loopback
    for (const host of [
      `localhost:${port}`,
      'example.com',
      `example.com:${port}`,
      '127.0.0.1',
      `127.0.0.1:${port + 1}`,
      `127.0.0.1:${port}.example.com`,
      `[::1]:${port}`,
    ]) {
      const answer = await ask(app.origin, '/', { headers: { host, ...mine } })
      expect([host, answer.status]).toEqual([host, 403])
    }
  })

  it('refuses every other origin, and a post that another site started', async () => {
    const { port } = app.loopback
    for (const origin of [
      'null',
      'https://example.com',
      `http://localhost:${port}`,
      `https://127.0.0.1:${port}`,
      `http://127.0.0.1:${port}0`,
      '',
    ]) {
      const answer = await ask(app.origin, '/rpc/file/state', { method: 'POST', headers: { origin, ...mine } })
      expect([origin, answer.status]).toEqual([origin, 403])
    }
    for (const site of ['cross-site', 'same-site']) {
      expect(
        (await ask(app.origin, '/rpc/file/state', { method: 'POST', headers: { 'sec-fetch-site': site, ...mine } }))
          .status,
      ).toBe(403)
    }
    const own = await ask(app.origin, '/rpc/file/state', {
      method: 'POST',
      headers: { origin: app.origin, 'sec-fetch-site': 'same-origin', ...mine },
    })
    expect(own.status).toBe(200)
  })

  it('does not tell another site what it may do', async () => {
    const answer = await ask(app.origin, '/rpc/file/state', {
      method: 'OPTIONS',
      headers: { origin: 'https://example.com', 'access-control-request-method': 'POST' },
    })
    expect(answer.status).toBe(403)
    expect(answer.headers['access-control-allow-origin']).toBeUndefined()
  })

  it('listens on this machine only', async () => {
    const refused = await new Promise<boolean>((resolve) => {
      const socket = connect({ host: '::1', port: app.loopback.port })
      socket
        .on('error', () => resolve(true))
        .on('connect', () => {
          socket.destroy()
          resolve(false)
        })
    })
    expect(refused).toBe(true)
  })

  it('answers a malformed request with an error and goes on', async () => {
    const text = await new Promise<string>((resolve) => {
      let got = ''
      const socket = connect({ host: '127.0.0.1', port: app.loopback.port }, () =>
        socket.write('GET / HTTP/1.1\r\nHost 127\r\n\r\n'),
      )
      socket
        .on('data', (part) => {
          got += part
        })
        .on('close', () => resolve(got))
        .on('error', () => resolve(got))
    })
    expect(text).toMatch(/^HTTP\/1\.1 400/)
    expect((await ask(app.origin, '/', { headers: mine })).status).toBe(200)
  })
})

describe('the screens', () => {
  it('come with a strict policy whose nonce is another in each answer', async () => {
    const nonces = new Set<string>()
    for (let turn = 0; turn < 3; turn++) {
      const { headers, text } = await ask(app.origin, '/', { headers: mine })
      const policy = String(headers['content-security-policy'])
      const nonce = /script-src 'self' 'nonce-([\w-]{24})'/.exec(policy)?.[1] ?? ''
      expect(text).toContain(`nonce="${nonce}"`)
      expect(text).not.toContain('__NONCE__')
      expect(policy).toContain("default-src 'none'")
      expect(policy).toContain("frame-ancestors 'none'")
      expect(policy).not.toContain('unsafe')
      expect(headers['x-content-type-options']).toBe('nosniff')
      expect(headers['cache-control']).toBe('no-store')
      nonces.add(nonce)
    }
    expect(nonces.size).toBe(3)
  })

  it('are served with their type, and kept by the browser where the name changes with the content', async () => {
    const answer = await ask(app.origin, '/assets/app-1.js', { headers: mine })
    expect(answer.text).toBe('document.title = "Tareline"')
    expect(answer.headers['content-type']).toBe('text/javascript; charset=utf-8')
    expect(answer.headers['cache-control']).toMatch(/immutable/)
    expect(answer.headers['x-content-type-options']).toBe('nosniff')
    const head = await ask(app.origin, '/assets/app-1.js', { method: 'HEAD', headers: mine })
    expect([head.status, head.text, head.headers['content-length']]).toEqual([200, '', '27'])
  })

  it('are all that is served: no way leads out of their folder', async () => {
    symlinkSync(join(app.folder, 'secret.txt'), join(app.folder, 'renderer/assets/link.txt'))
    const tries = [
      '/../secret.txt',
      '/assets/../../secret.txt',
      '/..%2fsecret.txt',
      '/%2e%2e/secret.txt',
      '/%2e%2e%2fsecret.txt',
      '/assets/..%5c..%5csecret.txt',
      '/assets/%2e%2e/%2e%2e/secret.txt',
      '/assets/....//....//secret.txt',
      '//etc/passwd',
      '/etc/passwd',
      '/%00',
      '/assets/app-1.js%00.txt',
      '/%ff%fe',
      '/assets/link.txt',
      '/assets',
      '/assets/',
      '/file:///etc/passwd',
      `/${'a'.repeat(5000)}`,
      '/%252e%252e/secret.txt',
      '/C:/Windows/win.ini',
    ]
    for (const path of tries) {
      const { status, text } = await ask(app.origin, path, { headers: mine })
      // What begins as another host does is no path at all.
      expect([path, status]).toEqual([path, path.startsWith('//') ? 400 : 404])
      expect(text).not.toContain('not for the window')
      expect(text).not.toContain(app.folder)
    }
    expect(app.reported).toEqual([])
  })

  it('can only be read', async () => {
    for (const method of ['POST', 'PUT', 'DELETE', 'PATCH'])
      expect((await ask(app.origin, '/', { method, headers: mine })).status).toBe(405)
  })
})

describe('an inbox', () => {
  const put = (path: string, body: string | Buffer, headers: Record<string, string> = {}) =>
    ask(app.origin, path, { method: 'PUT', headers: { ...mine, ...headers }, body })

  it('keeps a picked file as it was sent, until it is forgotten', async () => {
    const text = 'yard,elevation_ft\r\nÅsgard,12\r\n'
    expect((await put('/inbox/first-inbox/yards.csv', text)).status).toBe(204)
    const folder = await app.context.inboxes.folderOf('first-inbox')
    expect(readFileSync(join(folder, 'yards.csv'), 'utf8')).toBe(text)
    expect(readdirSync(folder)).toEqual(['yards.csv'])
    expect((await ask(app.origin, '/inbox/first-inbox', { method: 'DELETE', headers: mine })).status).toBe(204)
    expect(existsSync(folder)).toBe(false)
    await expect(app.context.inboxes.folderOf('first-inbox')).rejects.toThrow('Choose them again')
  })

  it('takes only the files of a fleet folder, by their plain names', async () => {
    for (const name of [
      'secret.txt',
      'units.CSV',
      'units.csv.exe',
      '..%2funits.csv',
      '%2e%2e',
      'units.csv/units.csv',
      '',
    ]) {
      expect([name, (await put(`/inbox/other-inbox/${name}`, 'x')).status]).toEqual([name, 404])
    }
    for (const inbox of ['..', 'short', 'UPPER-CASE', `${'a'.repeat(65)}`, '%2e%2e%2f%2e%2e']) {
      // Where dots lead out of /inbox/, what is left is a screen's address, which can only be read.
      expect([404, 405], inbox).toContain((await put(`/inbox/${inbox}/units.csv`, 'x')).status)
    }
    expect((await ask(app.origin, '/inbox/other-inbox/units.csv', { headers: mine })).status).toBe(405)
    expect(readdirSync(app.inboxRoot)).toEqual([])
  })

  it('takes attachments into a folder of their own, by plain names, each of 20 MB at most', async () => {
    const bytes = Buffer.from([0xff, 0xd8, 0xff, 0])
    for (const name of ['attachments.csv', 'attachments/ticket%207.jpg', 'attachments/Gr%C3%B6%C3%9Fe.PDF'])
      expect([name, (await put(`/inbox/scan-inbox/${name}`, bytes)).status]).toEqual([name, 204])
    const folder = await app.context.inboxes.folderOf('scan-inbox')
    expect(readdirSync(folder, { recursive: true }).sort()).toEqual([
      'attachments',
      'attachments.csv',
      'attachments/Größe.PDF',
      'attachments/ticket 7.jpg',
    ])
    const names = [
      'attachments',
      'attachments/',
      'attachments/.jpg',
      'attachments/x.exe',
      'attachments/..%2fx.jpg',
      'attachments/%2e%2e%2fx.jpg',
      'attachments/a%5cb.jpg',
      'attachments/a%00.jpg',
      'attachments/%E0%A4.jpg',
      'attachments/CON.jpg',
      'attachments/a/b.jpg',
      'x/a.jpg',
      'attachments/a:b.jpg',
      `attachments/${'a'.repeat(200)}.jpg`,
    ]
    for (const name of names)
      expect([name, (await put(`/inbox/scan-inbox/${name}`, bytes)).status]).toEqual([name, 404])
    const large = await put('/inbox/scan-inbox/attachments/large.jpg', Buffer.alloc(20_971_521))
    expect([large.status, large.text]).toEqual([413, expect.stringContaining('an attachment may have 20.0 MB')])
    expect(readdirSync(folder, { recursive: true })).toHaveLength(4)
    await app.context.inboxes.remove('scan-inbox')
    expect(readdirSync(app.inboxRoot)).toEqual([])
  })

  it('turns away what says or turns out to be too large, and keeps nothing of it', async () => {
    const { serveInbox } = await import('#electron/web/inboxes.ts')
    const stream = (bytes: number) =>
      new Request('http://127.0.0.1/inbox/large-inbox/units.csv', {
        method: 'PUT',
        ...{ duplex: 'half' },
        body: new ReadableStream({
          start(control) {
            for (let at = 0; at < bytes; at += 1000) control.enqueue(new Uint8Array(1000))
            control.close()
          },
        }),
      })
    expect((await serveInbox(app.inboxRoot, stream(5000), 5000)).status).toBe(204)
    await app.context.inboxes.remove('large-inbox')
    expect((await serveInbox(app.inboxRoot, stream(6000), 5000)).status).toBe(413)
    expect(readdirSync(await app.context.inboxes.folderOf('large-inbox'))).toEqual([])
    await app.context.inboxes.remove('large-inbox')
  })
})

describe('a call', () => {
  it('with too large a body is refused before it is read to its end', async () => {
    const body = Buffer.alloc(5 * 1024 ** 2, 'a')
    const told = await ask(app.origin, '/rpc/file/open', {
      method: 'POST',
      headers: { ...mine, 'content-type': 'application/json' },
      body,
    }).then(
      ({ status }) => status,
      ({ code }: NodeJS.ErrnoException) => code,
    )
    // The server may close the connection while the client still writes; a later call must be answered as before.
    expect([413, 'ECONNRESET', 'EPIPE']).toContain(told)
    expect((await ask(app.origin, '/rpc/file/state', { method: 'POST', headers: mine })).status).toBe(200)
  })

  it('of a procedure that is not there, or with a body that is no call, is answered as an error', async () => {
    expect((await ask(app.origin, '/rpc/file/format', { method: 'POST', headers: mine })).status).toBe(404)
    expect((await ask(app.origin, '/rpc/__proto__/constructor', { method: 'POST', headers: mine })).status).toBe(404)
    const broken = await ask(app.origin, '/rpc/file/open', {
      method: 'POST',
      headers: { ...mine, 'content-type': 'application/json' },
      body: '{"json":',
    })
    expect(broken.status).toBe(400)
  })

  it('that changes something cannot be made by following a link', async () => {
    const answer = await ask(app.origin, '/rpc/file/state?data=%7B%7D', { headers: mine })
    expect(answer.status).toBe(405)
  })
})
