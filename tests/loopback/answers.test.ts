import { afterAll, beforeAll, expect, it } from 'vitest'
import { bringInSmallFleet, clientOver } from '#tests/api/windows.ts'
import { samples } from '#tests/store/attachment-samples.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { type Answer, ask, enter, type RunningApp, runApp } from '#tests/loopback/running-app.ts'

let app: RunningApp
let mine: Admission

beforeAll(async () => {
  app = await runApp()
  mine = await enter(app)
  const { client, close } = await clientOver('a message port', app)
  await bringInSmallFleet(app, client)
  close()
})
afterAll(async () => await app[Symbol.asyncDispose]())

const call = (procedure: string, json: unknown): Promise<Answer> =>
  ask(app.origin, `/rpc/${procedure}`, {
    method: 'POST',
    headers: { ...mine, 'content-type': 'application/json' },
    body: JSON.stringify({ json }),
  })

it.each([
  ['cabCard/make', { units: ['T-101'] }, 'application/pdf', /^%PDF-/],
  ['bench/workListPdf', {}, 'application/pdf', /^%PDF-/],
  ['fleet/baySheet', { unit: 'T-101' }, 'application/pdf', /^%PDF-/],
  ['about/supportBundle', { withFleet: false }, 'application/zip', /^PK/],
])(
  'the file that %s makes goes out with its own type and name, in an answer that no browser takes for a page',
  async (procedure, input, type, start) => {
    const { status, headers, text } = await call(procedure, input)
    expect([status, headers['x-content-type-options'], headers['content-security-policy']]).toEqual([
      200,
      'nosniff',
      "default-src 'none'; frame-ancestors 'none'; sandbox",
    ])
    expect(String(headers['content-type'])).toMatch(/^multipart\/form-data/)
    // The part that holds the file: its head, an empty line, its bytes.
    const [, head = '', body = ''] = /(Content-Disposition: [^\r]*filename=[\s\S]*?)\r\n\r\n([\s\S]*)/i.exec(text) ?? []
    expect(head).toMatch(new RegExp(`content-type: ${type}$`, 'im'))
    expect(body).toMatch(start)
  },
)

it.each(samples)(
  'an attachment such as %s goes out as %s under a safe name, byte for byte, in an answer that no browser takes for a page',
  async (name, type, bytes) => {
    const { client, close } = await clientOver('a message port', app)
    const { sha256 } = await client.attachment.add({
      ticketId: 1,
      file: new File([bytes], `..\\"${name}`, { type: 'text/html' }),
      by: 'Ada',
    })
    close()
    const answer = await fetch(`${app.origin}/rpc/attachment/read`, {
      method: 'POST',
      headers: { ...mine, 'content-type': 'application/json' },
      body: JSON.stringify({ json: { ticketId: 1, sha256 } }),
    })
    const { headers } = answer
    expect([
      answer.status,
      headers.get('x-content-type-options'),
      headers.get('content-security-policy'),
      headers.get('cache-control'),
    ]).toEqual([200, 'nosniff', "default-src 'none'; frame-ancestors 'none'; sandbox", 'no-store'])
    const raw = Buffer.from(await answer.clone().arrayBuffer()).toString('latin1')
    expect(raw).toMatch(
      new RegExp(
        `Content-Disposition: form-data; name="0"; filename="%22${name}"\\r\\nContent-Type: ${type}\\r\\n`,
        'i',
      ),
    )
    const part = (await answer.formData()).get('0')
    expect(part).toBeInstanceOf(File)
    expect([(part as File).type, Buffer.from(await (part as File).arrayBuffer()).equals(bytes)]).toEqual([type, true])
  },
)

it('a file inside a larger answer keeps its type, and none is served as a page', async () => {
  const { status, headers, text } = await call('heavy/export', { format: 'csv' })
  expect([status, headers['x-content-type-options']]).toEqual([200, 'nosniff'])
  expect(String(headers['content-type'])).toMatch(/^multipart\/form-data/)
  expect(text).toMatch(/content-type: text\/csv/i)
})

it('every answer, good or bad, carries a policy without inline scripts, and is neither framed, sniffed nor kept', async () => {
  const answers: [string, Answer][] = [
    ['page', await ask(app.origin, '/', { headers: mine })],
    ['index', await ask(app.origin, '/index.html', { headers: mine })],
    ['asset', await ask(app.origin, '/assets/app-1.js', { headers: mine })],
    ['missing', await ask(app.origin, '/nothing', { headers: mine })],
    ['method', await ask(app.origin, '/', { method: 'PUT', headers: mine })],
    ['no cookie', await ask(app.origin, '/')],
    ['host', await ask(app.origin, '/', { headers: { host: 'example.com' } })],
    ['call', await call('file/state', undefined)],
    ['refused call', await call('unit/sheet', { unit: '' })],
    ['no procedure', await call('no/such', {})],
    ['inbox', await ask(app.origin, '/inbox/x', { headers: mine })],
  ]
  for (const [name, { headers }] of answers) {
    const policy = String(headers['content-security-policy'])
    expect([name, policy]).toEqual([name, expect.stringMatching(/^default-src 'none'/)])
    expect([name, policy]).toEqual([name, expect.not.stringMatching(/unsafe|\*|https?:/)])
    expect([name, headers['x-content-type-options'], headers['x-frame-options'], headers['referrer-policy']]).toEqual([
      name,
      'nosniff',
      'DENY',
      'no-referrer',
    ])
    expect([name, headers['access-control-allow-origin']]).toEqual([name, undefined])
    expect([name, headers['content-type'] ?? 'none']).not.toEqual([name, 'none'])
    // An asset's name says its content, so that it may be kept.
    const keeping = name === 'asset' ? 'private, max-age=31536000, immutable' : 'no-store'
    expect([name, headers['cache-control']]).toEqual([name, keeping])
  }
})
