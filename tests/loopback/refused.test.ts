import { type Socket, connect } from 'node:net'
import { setTimeout as wait } from 'node:timers/promises'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import type { TurnedAway } from '#core/api/note-call.ts'
import { usualLimits } from '#electron/web/limits.ts'
import { keepTally } from '#tests/faults/tally.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { type RunningApp, ask, enter, runApp } from '#tests/loopback/running-app.ts'

/** The usual limits on a clock that a test can wait for, and a loaded machine can keep. */
const quick = {
  ...usualLimits,
  callBytes: 64 * 1024,
  uploadBytes: 160 * 1024,
  headerBytes: 16 * 1024,
  headersMs: 2500,
  bodyMs: 1500,
  bodyBytes: 64,
  lookMs: 100,
  connections: 12,
  muteConnections: 8,
}

let app: RunningApp
let mine: Admission
let own: string
let count = 0
let failed = 0

beforeAll(async () => {
  app = await runApp({ limits: quick })
  mine = await enter(app)
  own = new URL(app.origin).host
})
afterAll(async () => {
  keepTally('refused-requests', { title: 'Loopback window', counts: { 'requests refused and logged': count }, failed })
  await app[Symbol.asyncDispose]()
})
/** However it was abused, the window goes on answering its own browser. */
afterEach(async () => {
  expect((await ask(app.origin, '/rpc/file/state', { method: 'POST', headers: mine })).status).toBe(200)
  expect(app.reported).toEqual([])
})

interface Talk {
  readonly status: number
  readonly text: string
  readonly closed: boolean
}

const open = (): Promise<Socket> =>
  new Promise((resolve, reject) => {
    const socket = connect({ host: '127.0.0.1', port: app.loopback.port })
    socket.once('connect', () => resolve(socket)).once('error', reject)
  })

/**
 * A real client on a bare socket: sends exactly these bytes, then `more` bit by bit, and listens until the server hangs
 * up.
 */
async function talk(
  bytes: string,
  more: { bit: string; everyMs: number } | undefined = undefined,
  patienceMs = 20_000,
): Promise<Talk> {
  const socket = await open()
  let text = ''
  const ended = new Promise<boolean>((resolve) => {
    const impatient = setTimeout(() => resolve(false), patienceMs)
    socket
      .on('data', (part) => {
        text += part.toString('latin1')
      })
      .on('error', () => undefined)
      .on('close', () => {
        clearTimeout(impatient)
        resolve(true)
      })
  })
  socket.write(bytes)
  const drip =
    more &&
    setInterval(() => {
      if (!socket.destroyed) socket.write(more.bit)
    }, more.everyMs)
  const closed = await ended
  clearInterval(drip)
  socket.destroy()
  return { status: Number(/^HTTP\/1\.1 (\d{3})/.exec(text)?.[1] ?? 0), text, closed }
}

/** Sends a request and expects it to be turned away with the status, and the log to say why. */
async function expectRefused(
  name: string,
  bytes: string,
  status: number,
  why: TurnedAway,
  more?: { bit: string; everyMs: number },
): Promise<void> {
  count += 1
  const before = app.logged.length
  const answer = await talk(bytes, more)
  try {
    expect([name, answer.status]).toEqual([name, status])
    expect(answer.closed).toBe(true)
    expect(answer.text).not.toMatch(
      /set-cookie|access-control-allow|tareline-[0-9a-f]{12}=|node_modules|\.ts:|\n\s+at /i,
    )
    await expect
      .poll(() => app.logged.slice(before))
      .toContainEqual({ what: 'turned-away', why, ...(status === 0 ? {} : { status }) })
  } catch (error) {
    failed += 1
    throw error
  }
}

interface Parts {
  readonly method?: string
  readonly target?: string
  readonly host?: string | null
  readonly headers?: readonly string[]
  readonly body?: string
}

/** `close` is asked for, so that the end of the connection is the end of the answer. */
function request({ method = 'POST', target = '/rpc/file/state', host = own, headers = [], body = '' }: Parts): string {
  const lines = [
    `${method} ${target} HTTP/1.1`,
    ...(host === null ? [] : [`Host: ${host}`]),
    'Connection: close',
    ...headers,
  ]
  if (body !== '' && !headers.some((line) => /^(content-length|transfer-encoding):/i.test(line)))
    lines.push(`Content-Length: ${Buffer.byteLength(body)}`)
  return `${lines.join('\r\n')}\r\n\r\n${body}`
}
const admitted = (parts: Parts): string =>
  request({
    ...parts,
    headers: [`Cookie: ${mine.cookie}`, `Tareline-Pass: ${mine['tareline-pass']}`, ...(parts.headers ?? [])],
  })

describe('turned away and logged', () => {
  it('other host names, as a name rebound to this machine sends them', async () => {
    const { port } = app.loopback
    const hosts = [
      'example.com',
      `example.com:${port}`,
      `localhost:${port}`,
      '127.0.0.1',
      `127.0.0.1:${port}.example.com`,
      `127.0.0.1.:${port}`,
      `0.0.0.0:${port}`,
      `[::1]:${port}`,
      `2130706433:${port}`,
      `127.1:${port}`,
      `0x7f.1:${port}`,
      `user@127.0.0.1:${port}`,
      `127.0.0.1:${port}@example.com`,
      `127.0.0.1:0${port}`,
      '',
    ]
    for (const host of hosts) await expectRefused(host, admitted({ host }), 403, 'host')
    // Of two Host headers Node keeps the first: a foreign one is refused as ever, and after our own a second gains
    // nothing.
    await expectRefused(
      'two hosts, theirs first',
      admitted({ host: 'example.com', headers: [`Host: ${own}`] }),
      403,
      'host',
    )
  })

  it('other origins', async () => {
    const { port } = app.loopback
    const origins = [
      'null',
      '',
      'https://example.com',
      `http://localhost:${port}`,
      `https://${own}`,
      `http://${own}.example.com`,
      `http://${own}/`,
      `HTTP://${own}`,
      'file://',
      'tareline://app',
      'chrome-extension://abcdefgh',
      `http://${own}, https://example.com`,
      `http://user@${own}`,
    ]
    for (const origin of origins)
      await expectRefused(origin, admitted({ headers: [`Origin: ${origin}`] }), 403, 'origin')
  })

  it('posts, pictures and links that another site started', async () => {
    for (const site of ['cross-site', 'same-site', 'CROSS-SITE', 'nonsense', '']) {
      await expectRefused(site, admitted({ headers: [`Sec-Fetch-Site: ${site}`] }), 403, 'site')
      await expectRefused(
        site,
        admitted({ method: 'GET', target: '/', headers: [`Sec-Fetch-Site: ${site}`] }),
        403,
        'site',
      )
    }
    const form = {
      headers: ['Content-Type: text/plain', 'Origin: https://example.com'],
      body: '{"json":{"path":"/tmp/x"}}',
    }
    await expectRefused('a form that says JSON as text', admitted({ target: '/rpc/file/open', ...form }), 403, 'origin')
  })

  it('missing, wrong and reused tokens', async () => {
    const { pathname, search } = new URL(app.loopback.address)
    const targets = [
      pathname + search,
      '/enter',
      '/enter?token=',
      `/enter?token=${'A'.repeat(43)}`,
      `${pathname}${search}x`,
      `/enter?TOKEN=${search.slice(7)}`,
      `/enter?token=%00${search.slice(7)}`,
      `/enter?token=${search.slice(7)}&token=x`,
      `/enter?token=${'A'.repeat(9000)}`,
    ]
    for (const target of targets)
      await expectRefused(target.slice(0, 40), request({ method: 'GET', target }), 403, 'token')
    await expectRefused(
      'a token again, with the cookie',
      admitted({ method: 'GET', target: pathname + search }),
      403,
      'token',
    )
    await expectRefused('a token by post', request({ target: pathname + search }), 403, 'token')
  })

  it('missing and wrong cookies, on every kind of page', async () => {
    const [name = '', value = ''] = mine.cookie.split('=')
    const cookies = [
      '',
      name,
      `${name}=`,
      `${name}=${value}x`,
      `${name}=${value.slice(1)}`,
      `${name.toUpperCase()}=${value}`,
      `other=${value}`,
      `${name}="${value}"`,
      `x;${name}=${value.toLowerCase()}x`,
    ]
    const page = { method: 'GET', target: '/' }
    for (const wrong of cookies)
      await expectRefused(wrong, request({ ...page, headers: [`Cookie: ${wrong}`] }), 401, 'cookie')
    for (const target of ['/', '/index.html', '/assets/app-1.js', '/nothing', '/rpc'])
      await expectRefused(target, request({ method: 'GET', target }), 401, 'cookie')
  })

  it('missing and wrong passes, though the cookie is there, on every kind of call', async () => {
    const pass = mine['tareline-pass']
    const withCookie = `Cookie: ${mine.cookie}`
    for (const wrong of ['', 'x', `${pass}x`, pass.slice(1), pass.toLowerCase(), `${pass}, ${pass}`, mine.cookie])
      await expectRefused(wrong, request({ headers: [withCookie, `Tareline-Pass: ${wrong}`] }), 401, 'pass')
    for (const target of ['/rpc/file/state', '/rpc/', '/rpc/__proto__', '/inbox/aaaaaaaa/units.csv'])
      for (const method of ['GET', 'POST', 'PUT', 'DELETE'])
        await expectRefused(target, request({ method, target, headers: [withCookie] }), 401, 'pass')
  })

  it('addresses that are no path, as a proxy is asked for', async () => {
    for (const target of [
      `http://${own}/rpc/file/state`,
      'http://example.com/',
      '//example.com/rpc/file/state',
      '*',
      '//[/',
      'http://[',
    ]) {
      await expectRefused(target, admitted({ target }), 400, 'address')
    }
    await expectRefused('a path without its slash', admitted({ target: 'rpc/file/state' }), 400, 'malformed')
  })

  it('procedures, pages and methods that are not there', async () => {
    for (const target of [
      '/rpc/file/format',
      '/rpc/__proto__/constructor',
      '/rpc/file',
      '/rpc/',
      '/rpc/file%2Fstate/x',
      '/rpc/../rpc/x',
      '/rpc/%00',
    ]) {
      await expectRefused(target, admitted({ target }), 404, 'unknown-procedure')
    }
    for (const target of [
      '/secret.txt',
      '/..%2fsecret.txt',
      '/%2e%2e/secret.txt',
      '/assets/..%5c..%5csecret.txt',
      '/assets/%00',
      '/C:/x',
      '/inbox/..%2f..%2f/units.csv',
      '/.well-known/x',
    ]) {
      await expectRefused(target, admitted({ method: 'GET', target }), 404, 'unknown-page')
    }
    for (const method of ['PUT', 'DELETE', 'PATCH', 'OPTIONS', 'PROPFIND'])
      await expectRefused(method, admitted({ method, target: '/' }), 405, 'method')
    await expectRefused(
      'a call by a link',
      admitted({ method: 'GET', target: '/rpc/file/state?data=%7B%7D' }),
      405,
      'method',
    )
    for (const method of ['HEAD', 'PUT', 'DELETE', 'PATCH', 'OPTIONS', 'TRACE'])
      await expectRefused(`a call by ${method}`, admitted({ method }), 405, 'method')
  })

  it('bodies that are too large, said beforehand or found out', async () => {
    const json = 'Content-Type: application/json'
    const large = 'a'.repeat(quick.callBytes + 1)
    await expectRefused(
      'said',
      admitted({ target: '/rpc/file/open', headers: [json, 'Content-Length: 999999999999'], body: '{' }),
      413,
      'too-large',
    )
    await expectRefused(
      'sent',
      admitted({ target: '/rpc/file/open', headers: [json], body: `{"json":{"path":"${large}"}}` }),
      413,
      'too-large',
    )
    const chunked = `${large.length.toString(16)}\r\n${large}\r\n0\r\n\r\n`
    await expectRefused(
      'in chunks',
      admitted({ target: '/rpc/file/open', headers: [json, 'Transfer-Encoding: chunked'], body: chunked }),
      413,
      'too-large',
    )
  })

  it('uploads that are too large, too slow, or sent to another procedure; those within their own bound are taken', async () => {
    const form = (bytes: number) =>
      `--x\r\nContent-Disposition: form-data; name="data"\r\n\r\n{"json":{"ticketId":1,"by":"Ada","file":{}},"meta":[],"maps":[["file"]]}\r\n--x\r\nContent-Disposition: form-data; name="0"; filename="ticket.jpg"\r\nContent-Type: image/jpeg\r\n\r\n${'a'.repeat(bytes)}\r\n--x--\r\n`
    const headers = ['Content-Type: multipart/form-data; boundary=x']
    const add = '/rpc/attachment/add'
    await expectRefused(
      'said',
      admitted({ target: add, headers: [...headers, 'Content-Length: 999999999999'], body: '--x' }),
      413,
      'too-large',
    )
    await expectRefused('sent', admitted({ target: add, headers, body: form(quick.uploadBytes) }), 413, 'too-large')
    const chunked = `${form(quick.uploadBytes).length.toString(16)}\r\n${form(quick.uploadBytes)}\r\n0\r\n\r\n`
    await expectRefused(
      'in chunks',
      admitted({ target: add, headers: [...headers, 'Transfer-Encoding: chunked'], body: chunked }),
      413,
      'too-large',
    )
    for (const target of ['/rpc/file/open', '/rpc/attachment/read', '/rpc/attachment/list', `${add}/`]) {
      await expectRefused(target, admitted({ target, headers, body: form(quick.callBytes) }), 413, 'too-large')
    }
    await expectRefused(
      'an upload that drips',
      admitted({ target: add, headers: [...headers, 'Content-Length: 100000'], body: '--x\r\n' }),
      408,
      'too-slow',
      { bit: 'a', everyMs: 40 },
    )
    const [long, short] = await Promise.all([
      talk(admitted({ target: add, headers, body: form(quick.callBytes + 1000) })),
      talk(admitted({ target: add, headers, body: form(1000) })),
    ])
    count += 2
    // There is no such ticket; the body was read all the same.
    expect([long.status, short.status, /no-such-ticket/.test(long.text)]).toEqual([422, 422, true])
  })

  it('bodies that are no call', async () => {
    const bodies = [
      '{"json":',
      '',
      'null',
      '[]',
      '7',
      '"x"',
      '{"json":{},"meta":7}',
      '{"json":{},"meta":[[1,"__proto__","polluted"]]}',
      '{"json":{},"meta":[["x"]],"maps":[["__proto__"]]}',
      '\u0000',
      '{"json":{"path":"x"},"meta":[[4,"path"]]}',
    ]
    for (const body of bodies) {
      const answer = await talk(
        admitted({ target: '/rpc/file/open', headers: ['Content-Type: application/json'], body }),
      )
      count += 1
      if (![400, 422].includes(answer.status)) failed += 1
      expect([body, answer.status === 400 || answer.status === 422]).toEqual([body, true])
      expect(answer.text).not.toMatch(/\n\s+at |node_modules|\.ts:/)
    }
    expect(Object.getPrototypeOf({})).not.toHaveProperty('polluted')
    expect(app.logged).toContainEqual({ what: 'turned-away', why: 'not-a-call', status: 400 })
  })

  it('requests that are none, and two that are folded into one', async () => {
    const rows: [string, string][] = [
      ['no protocol', 'hello\r\n\r\n'],
      ['a TLS greeting', '\u0016\u0003\u0001\u0002\u0000\u0001\u0000\u0001\u00fc\u0003\u0003'],
      ['a header without a colon', `GET / HTTP/1.1\r\nHost ${own}\r\n\r\n`],
      [
        'a length and chunks',
        admitted({ headers: ['Content-Length: 4', 'Transfer-Encoding: chunked'], body: '0\r\n\r\n' }),
      ],
      ['two lengths', admitted({ headers: ['Content-Length: 1', 'Content-Length: 2'], body: 'ab' })],
      ['a length that is none', admitted({ headers: ['Content-Length: -1'], body: 'a' })],
      ['a header with a line feed in it', admitted({ headers: ['X-Y: a\nb\u0000c'] })],
      ['an unknown method', admitted({ method: 'TARE' })],
      ['no host at all', admitted({ host: null })],
    ]
    for (const [name, bytes] of rows) {
      if (name === 'no host at all') await expect(talk(bytes)).resolves.toMatchObject({ status: 400 })
      else await expectRefused(name, bytes, 400, 'malformed')
    }
    await expectRefused(
      'headers without end',
      admitted({ headers: [`X-Long: ${'a'.repeat(quick.headerBytes)}`] }),
      431,
      'headers-too-large',
    )
    await expectRefused(
      'very many headers',
      admitted({ headers: Array.from({ length: 3000 }, (_, at) => `X-${at}: aaaaaaa`) }),
      431,
      'headers-too-large',
    )
  })

  it('slow clients: a head that does not come, a head and a body that drip', async () => {
    await Promise.all([
      expectRefused('a head that stops', `GET / HTTP/1.1\r\nHost: ${own}\r\n`, 408, 'too-slow'),
      expectRefused('a head that drips', `GET / HTTP/1.1\r\nHost: ${own}\r\n`, 408, 'too-slow', {
        bit: 'X-A: b\r\n',
        everyMs: 50,
      }),
      expectRefused(
        'a body that stops',
        admitted({
          target: '/rpc/file/open',
          headers: ['Content-Type: application/json', 'Content-Length: 100'],
          body: '{"json":',
        }),
        408,
        'too-slow',
      ),
      expectRefused(
        'a body that drips',
        admitted({
          target: '/rpc/file/open',
          headers: ['Content-Type: application/json', 'Content-Length: 5000'],
          body: '{',
        }),
        408,
        'too-slow',
        { bit: 'a', everyMs: 40 },
      ),
      expectRefused(
        'a picked file that drips',
        admitted({
          method: 'PUT',
          target: '/inbox/slow-inbox/units.csv',
          headers: ['Content-Length: 5000'],
          body: 'unit',
        }),
        408,
        'too-slow',
        { bit: 'a', everyMs: 40 },
      ),
    ])
    expect(await (async () => app.context.inboxes.remove('slow-inbox'))()).toBeUndefined()
  })

  it('mute connections, the oldest first, so that they keep nobody out', async () => {
    const before = app.logged.length
    const held: Socket[] = []
    for (let at = 0; at < 3 * quick.connections; at += 1) held.push(await open())
    count += held.length - quick.muteConnections
    await expect.poll(() => held.filter(({ closed }) => closed).length).toBe(held.length - quick.muteConnections)
    expect(held.slice(-quick.muteConnections).some(({ closed }) => closed)).toBe(false)
    expect(app.logged.slice(before)).toContainEqual({ what: 'turned-away', why: 'too-many-connections' })
    expect((await ask(app.origin, '/', { headers: mine })).status).toBe(200)
    for (const socket of held) socket.destroy()
  })

  it('too many connections that say something, and again lets in who comes when there is room', async () => {
    const held = await Promise.all(
      Array.from({ length: quick.connections }, async () => {
        const socket = await open()
        const answered = new Promise((resolve) => {
          socket.on('data', resolve)
        })
        socket.write(`GET / HTTP/1.1\r\nHost: ${own}\r\nCookie: ${mine.cookie}\r\n\r\n`)
        await answered
        return socket
      }),
    )
    const before = app.logged.length
    const refused = await Promise.all(
      Array.from({ length: 20 }, () =>
        talk(request({ method: 'GET', target: '/' }), undefined, 2000).catch(() => ({ status: 0, closed: true })),
      ),
    )
    count += refused.length
    expect(refused.every(({ status, closed }) => status === 0 && closed)).toBe(true)
    expect(app.logged.slice(before)).toContainEqual({ what: 'turned-away', why: 'too-many-connections' })
    for (const socket of held) socket.destroy()
    await wait(100)
  })
})

it('a body that comes steadily is taken though it takes longer than one look', async () => {
  const path = `${app.folder}/${'a'.repeat(1800)}`
  const body = `{"json":{"path":"${path}"}}`
  const socket = await open()
  let text = ''
  const ended = new Promise((resolve) => {
    socket
      .on('data', (part) => {
        text += part.toString()
      })
      .on('close', resolve)
  })
  socket.write(
    admitted({
      target: '/rpc/file/open',
      headers: ['Content-Type: application/json', `Content-Length: ${body.length}`],
    }),
  )
  for (let at = 0; at < body.length; at += 200) {
    socket.write(body.slice(at, at + 200))
    await wait(200)
  }
  await ended
  expect(text).toMatch(/^HTTP\/1\.1 422/)
})
