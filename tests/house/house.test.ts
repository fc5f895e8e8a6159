import { safe } from '@orpc/client'
import { createRouterClient } from '@orpc/server'
import { type ClientHttp2Session, connect } from 'node:http2'
import { writeFileSync } from 'node:fs'
import { request as httpRequest } from 'node:http'
import { request as httpsRequest } from 'node:https'
import { type Socket, connect as connectPlain } from 'node:net'
import { join } from 'node:path'
import { setTimeout } from 'node:timers/promises'
import { type TLSSocket, connect as connectTls } from 'node:tls'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { router } from '#core/api/router.ts'
import type { TurnedAway } from '#core/api/note-call.ts'
import type { News } from '#core/contracts/file.ts'
import { speechHeader } from '#core/words/catalogues.ts'
import { bringInSmallFleet, clientOver } from '#tests/api/windows.ts'
import {
  type HouseUnderTest,
  askOver,
  clientOverHttp2,
  connectTo,
  passwordOf,
  runHouse,
  signIn,
} from '#tests/house/running-house.ts'
import { ownNames } from '#electron/house/own-names.ts'
import { usualLimits } from '#electron/web/limits.ts'

/** The usual limits on a clock that a test can wait for. */
const quick = {
  ...usualLimits,
  callBytes: 64 * 1024,
  headerBytes: 16 * 1024,
  headersMs: 2500,
  bodyMs: 1500,
  bodyBytes: 64,
  lookMs: 100,
  connections: 24,
  muteConnections: 8,
}

let test: HouseUnderTest
let session: ClientHttp2Session
let manager: string

beforeAll(async () => {
  test = await runHouse({ limits: quick, people: ['manager', 'owner'] })
  const { client, close } = await clientOver('a message port', test.app)
  await bringInSmallFleet(test.app, client)
  close()
  session = connectTo(test.desk)
  manager = await signIn(session, 'manager', passwordOf('manager'))
})
afterAll(async () => {
  session.close()
  await test[Symbol.asyncDispose]()
  expect(test.app.reported).toEqual([])
})

const call = { method: 'POST', headers: { 'content-type': 'application/json' } }
const asManager = () => ({ ...call, headers: { ...call.headers, cookie: manager } })
const turnedAway = (why: TurnedAway, status?: number) =>
  expect
    .poll(() => test.app.logged)
    .toContainEqual({ what: 'turned-away', why, ...(status === undefined ? {} : { status }) })

/** Each save is of a moment of its own. */
let saved = 0
const aSave = (note: string, by: string) => ({
  subject: 'event' as const,
  id: null,
  parent: { unitId: 1 },
  was: {},
  values: { kind: 'other', happened_at: `2025-01-03T17:00:${String(saved++).padStart(2, '0')}.000Z`, note },
  reason: null,
  localZone: 'America/Denver',
  workedAt: null,
  by,
})

describe('a desk of the house', () => {
  it('comes over HTTP/2, or HTTP/1.1 where it knows no other, and gets the app’s files before anybody signs in', async () => {
    expect(session.alpnProtocol).toBe('h2')
    const page = await askOver(session, '/')
    expect(page.status).toBe(200)
    expect(page.headers).toMatchObject({
      'strict-transport-security': 'max-age=31536000',
      'x-frame-options': 'DENY',
      'content-security-policy': expect.stringContaining("default-src 'none'"),
    })
    const { port } = test.house
    const old = await new Promise<number | undefined>((resolve, reject) => {
      httpsRequest({ host: '127.0.0.1', port, path: '/', ca: test.desk.authority }, (answer) => {
        answer.resume()
        resolve(answer.statusCode)
      })
        .on('error', reject)
        .end()
    })
    expect(old).toBe(200)
  })

  it('gets the worker that keeps the app’s files under a policy of its own, which lets it fetch and no more', async () => {
    writeFileSync(join(test.app.folder, 'renderer/service-worker.js'), 'self.skipWaiting()')
    const { status, headers } = await askOver(session, '/service-worker.js')
    expect([status, headers['content-type'], headers['cache-control']]).toEqual([
      200,
      'text/javascript; charset=utf-8',
      'no-cache',
    ])
    expect(headers['content-security-policy']).toBe("default-src 'none'; connect-src 'self'; frame-ancestors 'none'")
    const policy = String((await askOver(session, '/')).headers['content-security-policy'])
    expect(policy).toContain("worker-src 'self'; manifest-src 'self'")
  })

  it('is told how to trust the house, and given the authority’s file', async () => {
    const page = await askOver(session, '/trust')
    expect(page.text).toContain(test.house.facts().authority?.fingerprint)
    for (const system of ['Windows', 'macOS', 'iPhone', 'Android', 'Linux', 'Firefox'])
      expect(page.text).toContain(system)
    const file = await askOver(session, '/trust/authority.crt')
    expect(file.headers['content-type']).toBe('application/x-x509-ca-cert')
    expect(file.text).toBe(test.desk.authority)
    expect(page.text + file.text).not.toContain('PRIVATE')
  })

  it('is turned away at the door in its own language', async () => {
    const headers = { ...call.headers, [speechHeader]: 'es;es-US' }
    const { status, text } = await askOver(session, '/rpc/roster/list', { ...call, headers })
    expect([status, text]).toEqual([401, expect.stringContaining('Usted no ha entrado aquí, o ya no.')])
  })

  it('gets nothing of the fleet before somebody has signed in, nor with a foreign cookie', async () => {
    for (const cookie of [undefined, '__Host-tareline=x', `${manager.slice(0, -1)}x`]) {
      const answer = await askOver(session, '/rpc/roster/list', {
        ...call,
        headers: { ...call.headers, ...(cookie === undefined ? {} : { cookie }) },
      })
      expect(answer.status).toBe(401)
      const inbox = await askOver(session, '/inbox/aaaaaaaa/units.csv', {
        method: 'PUT',
        headers: cookie === undefined ? {} : { cookie },
        body: 'unit\n',
      })
      expect(inbox.status).toBe(401)
    }
    const { error } = await safe(clientOverHttp2(session, test.desk).roster.list())
    expect(error).toMatchObject({ code: 'UNAUTHORIZED', message: expect.stringContaining('Sign in') })
    await turnedAway('session', 401)
  })

  it('saves under the name of whoever has signed in, whatever name it sends', async () => {
    const desk = clientOverHttp2(session, test.desk, manager)
    await desk.fleet.save(aSave('a forged name', 'Somebody Else'))
    const { rows } = await desk.log.list({ limit: 1 })
    expect(rows[0]).toMatchObject({ by: 'manager' })
    expect((await desk.roster.list()).rows.length).toBeGreaterThan(0)
  })

  it('may do what its role may, and nothing of the house machine’s own', async () => {
    const owner = clientOverHttp2(session, test.desk, await signIn(session, 'owner', passwordOf('owner')))
    expect((await owner.roster.list()).rows.length).toBeGreaterThan(0)
    expect((await safe(owner.fleet.save(aSave('no', 'owner')))).error).toMatchObject({ code: 'FORBIDDEN' })
    const desk = clientOverHttp2(session, test.desk, manager)
    expect((await safe(desk.file.open({ path: '/etc/passwd' }))).error).toMatchObject({ code: 'FORBIDDEN' })
    expect((await desk.house.facts()).house).toMatchObject({ fingerprint: test.house.facts().fingerprint })
    const inHouse = createRouterClient(router, { context: test.house.context })
    await expect(inHouse.file.open({ path: '/elsewhere.tareline' })).rejects.toThrow('and no other file')
    const { client, close } = await clientOver('a message port', test.app)
    expect((await client.house.facts()).house).toBeNull()
    close()
  })

  it('follows the file over HTTP/2 beside other calls: ten windows on one connection are told of a save', async () => {
    const desk = clientOverHttp2(session, test.desk, manager)
    const followed = await Promise.all(Array.from({ length: 10 }, () => desk.file.follow({ seen: null, seconds: 60 })))
    for (const each of followed) await each.next()
    await desk.fleet.save(aSave('followed', 'any'))
    const { revision } = await desk.file.state()
    for (const each of followed) {
      let news: IteratorResult<News, unknown>
      do news = await each.next()
      while (news.done !== true && news.value.state.revision < revision)
      expect(news.done).not.toBe(true)
      await each.return?.()
    }
    await expect.poll(() => test.app.context.fleet.news.followers).toBe(0)
  })
})

describe('turned away and logged', () => {
  it('other hosts and origins, and what another site started', async () => {
    const { port } = test.house
    for (const host of ['example.com', `example.com:${port}`, '127.0.0.1', `yard-office.example.com:${port}`]) {
      const answer = await askOver(session, '/rpc/file/state', {
        ...asManager(),
        headers: { ...asManager().headers, ':authority': host },
      })
      expect([host, answer.status]).toEqual([host, 403])
    }
    const two = await askOver(session, '/rpc/file/state', {
      ...asManager(),
      headers: { ...asManager().headers, host: 'example.com' },
    })
    expect(two.status).toBe(403)
    await turnedAway('host', 403)
    for (const origin of ['null', 'https://example.com', `http://127.0.0.1:${port}`, `https://yard-office:${port}`]) {
      const answer = await askOver(session, '/rpc/file/state', {
        ...asManager(),
        headers: { ...asManager().headers, origin },
      })
      expect([origin, answer.status]).toEqual([origin, 403])
    }
    await turnedAway('origin', 403)
    for (const site of ['cross-site', 'same-site']) {
      const answer = await askOver(session, '/rpc/file/state', {
        ...asManager(),
        headers: { ...asManager().headers, 'sec-fetch-site': site },
      })
      expect(answer.status).toBe(403)
    }
    await turnedAway('site', 403)
    const link = { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'navigate' }
    expect((await askOver(session, '/', { headers: link })).status).toBe(200)
    for (const name of ['yard-office', 'yard-office.local', 'localhost']) {
      const answer = await askOver(session, '/rpc/file/state', {
        ...asManager(),
        headers: { ...asManager().headers, ':authority': `${name}:${port}`, origin: `https://${name}:${port}` },
      })
      expect([name, answer.status]).toEqual([name, 200])
    }
  })

  it('calls that are no post, unknown procedures and files', async () => {
    const get = await askOver(session, '/rpc/file/state', { headers: { cookie: manager } })
    expect(get.status).toBe(405)
    for (const path of ['/rpc/', '/rpc/file', '/rpc/file/format', '/rpc/__proto__/x', '/rpc/file%2Fstate'])
      expect([path, (await askOver(session, path, asManager())).status]).toEqual([path, 404])
    for (const path of ['/secret.txt', '/..%2fsecret.txt', '/%2e%2e/fleet.tareline', '/trust/authority.key'])
      expect([path, (await askOver(session, path)).status]).toEqual([path, 404])
    await turnedAway('unknown-page', 404)
  })

  it('bodies that are too large, said beforehand or found out, and heads that are', async () => {
    const large = JSON.stringify({ json: { path: 'a'.repeat(quick.callBytes) } })
    const sent = await askOver(session, '/rpc/desk/leave', { ...asManager(), body: large })
    expect(sent.status).toBe(413)
    await turnedAway('too-large', 413)
    const head = await askOver(session, '/rpc/file/state', {
      ...asManager(),
      headers: { ...asManager().headers, 'x-long': 'a'.repeat(2 * quick.headerBytes) },
    }).catch((error: Error) => error)
    expect(head).not.toMatchObject({ status: 200 })
    // Nobody else on the connection suffers for it.
    const again = session.destroyed ? connectTo(test.desk) : session
    expect((await askOver(again, '/rpc/file/state', asManager())).status).toBe(200)
    session = again
  })

  it('bodies that drip, of one request among others on a connection', async () => {
    const stream = session.request({
      ':path': '/rpc/desk/leave',
      ':method': 'POST',
      'content-type': 'application/json',
      'content-length': '50000',
      cookie: manager,
    })
    stream.on('error', () => undefined)
    const status = new Promise<number | undefined>((resolve) => {
      stream.on('response', (answer) => resolve(answer[':status']))
      stream.on('close', () => resolve(undefined))
    })
    const drip = setInterval(() => {
      if (!stream.destroyed) stream.write('a')
    }, 100)
    let answered = 0
    while ((await Promise.race([status, setTimeout(200, 'not yet')])) === 'not yet')
      if ((await askOver(session, '/rpc/file/state', asManager())).status === 200) answered += 1
    clearInterval(drip)
    expect(await status).toBe(408)
    expect(answered).toBeGreaterThan(0)
    await turnedAway('too-slow', 408)
  })

  it('plain HTTP, which is answered by nobody', async () => {
    const { port } = test.house
    const answer = await new Promise<string>((resolve) => {
      httpRequest({ host: '127.0.0.1', port, path: '/' }, () => resolve('answered'))
        .on('error', (error: NodeJS.ErrnoException) => resolve(error.code ?? error.message))
        .end()
    })
    expect(answer).not.toBe('answered')
  })

  it('connections that say nothing, so that they keep nobody out', async () => {
    const { port } = test.house
    const silent: (Socket | TLSSocket)[] = []
    for (let index = 0; index < 40; index += 1) {
      const socket =
        index % 2 === 0
          ? connectPlain({ host: '127.0.0.1', port })
          : connectTls({ host: '127.0.0.1', port, ca: test.desk.authority, ALPNProtocols: ['h2'] })
      socket.on('error', () => undefined).resume()
      silent.push(socket)
      await setTimeout(5)
    }
    const desk = connectTo(test.desk)
    expect((await askOver(desk, '/rpc/file/state', asManager())).status).toBe(200)
    await expect.poll(() => silent.filter((socket) => socket.destroyed).length).toBeGreaterThanOrEqual(30)
    await turnedAway('too-many-connections')
    desk.close()
    for (const socket of silent) socket.destroy()
  })

  it('a client that offers an old TLS', async () => {
    const answer = await new Promise<string>((resolve) => {
      const old = connect(test.desk.origin, { ca: test.desk.authority, maxVersion: 'TLSv1.1', minVersion: 'TLSv1' })
      old.on('error', (error: NodeJS.ErrnoException) => resolve(error.code ?? error.message))
      old.on('connect', () => resolve('connected'))
    })
    expect(answer).not.toBe('connected')
  })
})

it('takes up another address while it runs, with a certificate of the same authority for it', async () => {
  let own = ownNames('yard-office', {})
  const moving = await runHouse({ people: [], look: () => own })
  const asked = async () => {
    const desk = connectTo(moving.desk)
    const answer = await askOver(desk, '/trust', { headers: { ':authority': `10.1.2.3:${moving.house.port}` } })
    desk.close()
    return answer.status
  }
  expect(await asked()).toBe(403)
  own = { ...own, addresses: [...own.addresses, '10.1.2.3'] }
  const before = moving.house.facts()
  await moving.house.lookAgain()
  expect(moving.house.facts()).toMatchObject({
    authority: before.authority,
    addresses: expect.arrayContaining([`https://10.1.2.3:${moving.house.port}/`]),
  })
  expect(moving.house.facts().fingerprint).not.toBe(before.fingerprint)
  expect(await asked()).toBe(200)
  await moving[Symbol.asyncDispose]()
})

it('ends in good order while windows follow the file, and starts again with the same authority', async () => {
  const own = await runHouse()
  const desk = connectTo(own.desk)
  const client = clientOverHttp2(desk, own.desk, await signIn(desk, 'manager', passwordOf('manager')))
  const followed = await client.file.follow({ seen: null, seconds: 60 })
  await followed.next()
  const ended = (async () => {
    while ((await followed.next()).done !== true);
  })()
  await own.house.close()
  await ended
  expect(own.app.reported).toEqual([])
  await own[Symbol.asyncDispose]()
})
