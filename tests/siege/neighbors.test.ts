import { type Server, createServer } from 'node:http'
import type { AddressInfo } from 'node:net'
import { type Browser, type BrowserContext, chromium } from 'playwright-core'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { type RunningApp, ask, runApp } from '#tests/loopback/running-app.ts'
import { chromiumArguments, findChromium } from '#tests/screens/chromium.ts'

/**
 * A web server on another port of this machine, whose pages are open in the same real Chromium as the app: whatever
 * they send, embed, open or set, they learn nothing of the fleet, change nothing of it, and lock nobody out. What the
 * browser sends the neighbor, such as a cookie, it uses from outside as well.
 */
let app: RunningApp
let browser: Browser
let context: BrowserContext
let neighbor: Server
let theirs: string
const stolen = new Set<string>()
const counts = {
  'requests of a page of a neighbor': 0,
  'uses of what it was sent': 0,
  'rounds after which the app still opened': 0,
}
let letIn = 0
let lost = 0

beforeAll(async () => {
  app = await runApp()
  await app.context.fleet.use(async ({ raw }) => raw.exec("insert into yard (name) values ('Cinder Gap')"))
  // It takes all the cookies that it has set.
  neighbor = createServer({ maxHeaderSize: 1024 ** 2 }, ({ headers }, response) => {
    if (headers.cookie !== undefined) stolen.add(headers.cookie)
    response.setHeader('content-type', 'text/html')
    // As many cookies as a browser keeps, under the name of the app's and under others.
    const names = (headers.cookie ?? '').split('; ').map((pair) => pair.split('=')[0] ?? '')
    response.setHeader('set-cookie', [
      ...names.map((name) => `${name || 'x'}=theirs; Path=/rpc`),
      ...Array.from({ length: 60 }, (_, i) => `n${i}=${'y'.repeat(3000)}`),
    ])
    response.end('<!doctype html><title>A neighbor</title><body></body>')
  })
  await new Promise<void>((ready) => {
    neighbor.listen(0, '127.0.0.1', () => ready())
  })
  theirs = `http://127.0.0.1:${(neighbor.address() as AddressInfo).port}`
  browser = await chromium.launch({ executablePath: findChromium(), args: chromiumArguments })
  context = await browser.newContext()
  const page = await context.newPage()
  await page.goto(app.loopback.address)
  await page.waitForURL(`${app.origin}/`)
})
afterAll(async () => {
  keepTally('siege-neighbors', {
    title: 'Neighbors on other ports, with a real Chromium',
    counts,
    failed: lost,
    letIn,
  })
  await browser?.close()
  neighbor?.close()
  await app[Symbol.asyncDispose]()
})

const paths = [
  '/',
  '/rpc/file/state',
  '/rpc/roster/list',
  '/rpc/file/openDemo',
  '/rpc/places/allow',
  '/inbox/aaaaaaaa/units.csv',
]
/** Runs in a page of the neighbor's; answers all that it could read. */
const attack = async ({ origin, path }: { origin: string; path: string }): Promise<string[]> => {
  const url = origin + path
  const body = '{"json":{"folder":"/home"}}'
  const json = { 'content-type': 'application/json' }
  const tries: (() => Promise<string>)[] = [
    async () => (await fetch(url, { method: 'POST', credentials: 'include', body })).text(),
    async () => (await fetch(url, { method: 'POST', credentials: 'include', headers: json, body })).text(),
    async () =>
      (await fetch(url, { method: 'POST', credentials: 'include', headers: { 'tareline-pass': 'x' }, body })).text(),
    async () => (await fetch(url, { mode: 'no-cors', method: 'POST', credentials: 'include', body })).text(),
    async () => (await fetch(url, { mode: 'no-cors', credentials: 'include' })).text(),
    async () => (await fetch(url, { method: 'PUT', credentials: 'include', body })).text(),
    async () => String(navigator.sendBeacon(url, body) && ''),
    () =>
      new Promise((done) => {
        const socket = new WebSocket(url.replace('http', 'ws'))
        socket.onmessage = ({ data }) => done(String(data))
        socket.onerror = () => done('')
        socket.onclose = () => done('')
      }),
    () =>
      new Promise((done) => {
        const frame = document.createElement('iframe')
        frame.src = url
        frame.onload = () => {
          try {
            done(frame.contentDocument?.body.textContent ?? '')
          } catch {
            done('')
          }
          frame.remove()
        }
        document.body.append(frame)
        setTimeout(() => done(''), 3000)
      }),
    () =>
      new Promise((done) => {
        const script = document.createElement('script')
        script.src = url
        script.onload = script.onerror = () => done('')
        document.head.append(script)
      }),
    () =>
      new Promise((done) => {
        const form = document.createElement('form')
        const frame = document.createElement('iframe')
        frame.name = `f${Math.floor(performance.now() * 1000)}`
        document.body.append(frame, form)
        Object.assign(form, { method: 'POST', action: url, target: frame.name, enctype: 'text/plain' })
        frame.onload = () => done('')
        form.submit()
        setTimeout(() => done(''), 1500)
      }),
    async () => Object.values(localStorage).join(' '),
    async () => {
      const opened = window.open(url)
      try {
        return opened?.document.body.textContent ?? ''
      } catch {
        return ''
      } finally {
        opened?.close()
      }
    },
  ]
  const read: string[] = []
  for (const each of tries) read.push(await each().catch(() => ''))
  return read
}

it('learn nothing, change nothing and lock nobody out', async () => {
  const state = () =>
    app.context.fleet.use(async ({ raw }) =>
      raw.prepare('select (select revision from ledger), (select count(*) from yard)').raw().get(),
    )
  const before = [app.context.fleet.file(), await state(), (await app.context.places.list()).length]
  for (let round = 0; round < (isNightly ? 10 : 1); round += 1) {
    const page = await context.newPage()
    await page.goto(`${theirs}/${round}`)
    for (const path of paths) {
      const read = await page.evaluate(attack, { origin: app.origin, path })
      counts['requests of a page of a neighbor'] += read.length
      letIn += read.filter((text) => text !== '').length
    }
    await page.close()
    // What the browser sent the neighbor, used by a program of its own.
    for (const cookie of [...stolen].slice(-20))
      for (const path of paths.filter((each) => each !== '/')) {
        counts['uses of what it was sent'] += 1
        const method = path.startsWith('/inbox/') ? 'PUT' : 'POST'
        const { status } = await ask(app.origin, path, { method, headers: { cookie } })
        if (status < 400) letIn += 1
      }
    const mine = await context.newPage()
    await mine.goto(`${app.origin}/`)
    const answered = await mine.evaluate(async () => {
      const headers = { 'tareline-pass': localStorage.getItem('tareline-pass') ?? '' }
      return (await fetch('/rpc/file/state', { method: 'POST', headers, credentials: 'omit' })).status
    })
    if (answered === 200 && (await mine.title()) === 'Tareline') counts['rounds after which the app still opened'] += 1
    else lost += 1
    await mine.close()
  }
  const now = [app.context.fleet.file(), await state(), (await app.context.places.list()).length]
  if (JSON.stringify(now) !== JSON.stringify(before)) letIn += 1
  expect(stolen.size).toBeGreaterThan(0)
  expect({ letIn, lost, now }).toEqual({ letIn: 0, lost: 0, now: before })
  expect(app.reported).toEqual([])
}, 1_800_000)
