import { ORPCError } from '@orpc/client'
import { randomUUID } from 'node:crypto'
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { setTimeout } from 'node:timers/promises'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { openDoor } from '#core/door/door.ts'
import { importIntoFile } from '#core/jobs/import-into-file.ts'
import { timeNow } from '#core/store/clock.ts'
import { checkFile } from '#core/store/check-file.ts'
import { dayMs } from '#core/words/instant.ts'
import { Random } from '#demo/simulation/random.ts'
import { makeAuthority, makeLeaf } from '#electron/house/authority.ts'
import { givenCertificates } from '#electron/house/certificates.ts'
import { ownNames } from '#electron/house/own-names.ts'
import { ensureBundles } from '#electron/launch/bundles.ts'
import { type Client, bringInSmallFleet, clientOver } from '#tests/api/windows.ts'
import { look, writeFirstFolder } from '#tests/faults/kill-scenarios.ts'
import { isNightly, kills } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import { weighNow } from '#tests/fleet/typed.ts'
import { freePort } from '#tests/free-port.ts'
import { startHouse } from '#tests/house/house-process.ts'
import {
  type HouseUnderTest,
  askOver,
  clientOverHttp2,
  connectTo,
  passwordOf,
  runHouse,
  signIn,
} from '#tests/house/running-house.ts'
import { samples } from '#tests/store/attachment-samples.ts'

const houseKills = isNightly ? kills : 2
const desks = 10
const random = new Random(`house ${process.env['TARELINE_SEED'] ?? ''}`)
const count = {
  kills: 0,
  'saves acknowledged, all there': 0,
  'saves cut off, each there once or not at all': 0,
  'saves cut off and sent again under their marks, each there once': 0,
}
let failed = 0

afterAll(() =>
  keepTally('house-kills', { title: `House killed (kill -9) with ${desks} desks saving`, counts: count, failed }),
)

it(
  `nothing acknowledged is lost and nothing is there twice after ${houseKills} kills of the house with ${desks} desks saving`,
  async () => {
    await ensureBundles(resolve(import.meta.dirname, '../..'), () => undefined)
    const home = mkdtempSync(join(tmpdir(), 'tareline-house-'))
    const file = join(home, 'fleet.tareline')
    writeFirstFolder(join(home, 'first'))
    expect((await importIntoFile(file, join(home, 'first'))).outcome).toBe('stored')
    const door = await openDoor(file)
    await door.add('counter', { role: 'counter', units: [] }, passwordOf('counter'))
    await door.close()
    const port = await freePort()
    /** Marks of saves: what was answered, and what was only sent. */
    const acknowledged = new Map<string, string>()
    const sent = new Set<string>()
    type Marked = Parameters<Client['weigh']['save']>[0] & { readonly note: string }
    /** Saves of the desks that send under marks, as phones do, which nobody has answered yet. */
    const unanswered = new Map<string, Marked>()
    const sentAgain = new Set<string>()
    const sendAgain = async (client: Client) => {
      for (const [mark, save] of unanswered) {
        sentAgain.add(mark)
        const { reading } = await client.weigh.save(save)
        acknowledged.set(mark, reading)
        unanswered.delete(mark)
      }
    }
    let cookie: string | undefined
    const complaints: string[] = []

    for (let trial = 1; trial <= houseKills; trial += 1) {
      const house = startHouse(file, home, port)
      const desk = await house.ready
      const sessions = Array.from({ length: desks }, () => connectTo(desk))
      for (const session of sessions) session.on('error', () => undefined)
      // Who has signed in once stays so through every kill.
      cookie ??= await signIn(sessions[0] as (typeof sessions)[number], 'counter', passwordOf('counter'))
      const saving = sessions.map(async (session, at) => {
        const client = clientOverHttp2(session, desk, cookie)
        if (at === 0) await sendAgain(client)
        for (let index = 0; ; index += 1) {
          const mark = `${trial}.${at}.${index}`
          const psi = 20 + (index % 60)
          const taken = weighNow(new Date(timeNow() - 60_000).toISOString(), {
            'T-1 drive main': psi,
            'T-1 second main': psi,
          })
          sent.add(mark)
          const way = { id: randomUUID() as string, clock: new Date(timeNow()).toISOString(), byClock: false }
          const save: Marked = { ...taken, note: mark, by: 'counter', ...(at % 2 === 0 && { sent: way }) }
          if (save.sent) unanswered.set(mark, save)
          const { reading } = await client.weigh.save(save)
          acknowledged.set(mark, reading)
          unanswered.delete(mark)
        }
      })
      const cut = Promise.allSettled(saving)
      // Some kills come before anybody was answered, the others in the midst of answers, however slow the machine is.
      const before = acknowledged.size
      while (trial % 2 === 0 && acknowledged.size === before)
        if ((await Promise.race([cut, setTimeout(20)])) !== undefined) break
      await setTimeout(random.next() * 600)
      await house.kill()
      const ends = await cut
      // Whatever a cut answer looks like, it is none of the house's own.
      for (const end of ends)
        if (end.status === 'rejected' && end.reason instanceof ORPCError)
          complaints.push(`trial ${trial}: ${String(end.reason)}`)
      for (const session of sessions) session.destroy()
      count.kills += 1

      const { sound, message } = await checkFile(file)
      if (!sound) complaints.push(`trial ${trial}: ${message}`)
      const stored = look(
        file,
        (raw) =>
          raw.prepare("select name, note from reading where source = 'weigh now'").all() as {
            name: string
            note: string
          }[],
      )
      const byMark = Map.groupBy(stored, ({ note }) => note)
      for (const [mark, reading] of acknowledged)
        if (byMark.get(mark)?.[0]?.name !== reading) complaints.push(`trial ${trial}: save ${mark} is gone`)
      for (const [mark, readings] of byMark) {
        if (readings.length > 1) complaints.push(`trial ${trial}: save ${mark} is there ${readings.length} times`)
        if (!sent.has(mark)) complaints.push(`trial ${trial}: nobody saved ${mark}`)
      }
      const authors = look(
        file,
        (raw) =>
          raw.prepare("select distinct changed_by from change_log where subject = 'reading'").pluck().all() as string[],
      )
      if (authors.some((author) => author !== 'counter')) complaints.push(`trial ${trial}: saved by ${authors.join()}`)
    }
    const last = startHouse(file, home, port)
    const session = connectTo(await last.ready)
    const desk = await last.ready
    const client = clientOverHttp2(session, desk, cookie)
    expect((await client.weigh.combinations()).units.length).toBeGreaterThan(0)
    await sendAgain(client)
    last.child.kill('SIGTERM')
    expect(await last.ended).toBe(0)
    for (const mark of sentAgain) {
      const found = look(
        file,
        (raw) => raw.prepare('select name from reading where note = ?').pluck().all(mark) as string[],
      )
      if (found.length !== 1 || found[0] !== acknowledged.get(mark))
        complaints.push(`save ${mark} was sent again and is there ${found.length} times`)
    }
    count['saves acknowledged, all there'] = acknowledged.size
    count['saves cut off, each there once or not at all'] = sent.size - acknowledged.size
    count['saves cut off and sent again under their marks, each there once'] = sentAgain.size
    failed = complaints.length
    expect(complaints).toEqual([])
    expect(acknowledged.size).toBeGreaterThan(0)
    expect(sentAgain.size).toBeGreaterThan(0)
    expect(readdirSync(home).filter((name) => /-wal$|-lease$|unfinished/.test(name))).toEqual([])
    rmSync(home, { recursive: true, force: true })
  },
  // Patience for a loaded machine: at rest a kill takes four seconds.
  240_000 + houseKills * 60_000,
)

describe('the network is cut', () => {
  let house: HouseUnderTest
  let cookie: string
  beforeAll(async () => {
    house = await runHouse()
    const { client, close } = await clientOver('a message port', house.app)
    await bringInSmallFleet(house.app, client)
    close()
    const session = connectTo(house.desk)
    cookie = await signIn(session, 'manager', passwordOf('manager'))
    session.close()
  })
  afterAll(async () => {
    await house[Symbol.asyncDispose]()
    expect(house.app.reported).toEqual([])
  })

  const revision = async () => (await clientOverHttp2(connectTo(house.desk), house.desk, cookie).file.state()).revision
  /** Sends part of a request and has the connection torn down. */
  const cutOff = async (path: string, headers: Record<string, string>, method: string, part: string | Buffer) => {
    const session = connectTo(house.desk)
    session.on('error', () => undefined)
    const stream = session.request({ ':path': path, ':method': method, cookie, ...headers })
    stream.on('error', () => undefined)
    stream.write(part)
    await setTimeout(100)
    session.destroy()
  }

  it('in the middle of a save: nothing of it is stored, and the next one is', async () => {
    const before = await revision()
    const body = JSON.stringify({ json: { unit: 'T-101', numbers: ['T-901'], by: 'any' } })
    const json = { 'content-type': 'application/json', 'content-length': String(body.length) }
    await cutOff('/rpc/fleet/copyUnit', json, 'POST', body.slice(0, -5))
    expect(await revision()).toBe(before)
    const session = connectTo(house.desk)
    const whole = await askOver(session, '/rpc/fleet/copyUnit', { method: 'POST', headers: { ...json, cookie }, body })
    expect(whole.status).toBe(200)
    expect(await revision()).toBe(before + 1)
    session.close()
  })

  it('after a save was sent and before it is answered: it is there once', async () => {
    const before = await revision()
    const body = JSON.stringify({ json: { unit: 'T-101', numbers: ['T-902'], by: 'any' } })
    const session = connectTo(house.desk)
    session.on('error', () => undefined)
    const stream = session.request({
      ':path': '/rpc/fleet/copyUnit',
      ':method': 'POST',
      'content-type': 'application/json',
      cookie,
    })
    stream.on('error', () => undefined)
    stream.end(body)
    await expect.poll(revision).toBe(before + 1)
    session.destroy()
    const again = connectTo(house.desk)
    const twice = await askOver(again, '/rpc/fleet/copyUnit', {
      method: 'POST',
      headers: { 'content-type': 'application/json', cookie },
      body,
    })
    expect([twice.status, /T-902/.test(twice.text)]).toEqual([422, true])
    again.close()
  })

  it('in the middle of an upload: no part of it is kept, and uploads of others go on', async () => {
    const [[name, type, bytes]] = samples
    const form = { 'content-type': 'multipart/form-data; boundary=x', 'content-length': '1000000' }
    const head =
      '--x\r\nContent-Disposition: form-data; name="data"\r\n\r\n{"json":{"ticketId":1,"by":"Ada","file":{}},"meta":[],"maps":[["file"]]}\r\n--x\r\nContent-Disposition: form-data; name="0"; filename="ticket.jpg"\r\n\r\n'
    await Promise.all(
      Array.from({ length: 5 }, () => cutOff('/rpc/attachment/add', form, 'POST', head + 'a'.repeat(100_000))),
    )
    await cutOff('/inbox/cut-off-1/units.csv', {}, 'PUT', 'unit,kind\n'.repeat(5000))
    const client = clientOverHttp2(connectTo(house.desk), house.desk, cookie)
    const before = await client.attachment.list({ ticketId: 1 })
    const file = new File([bytes], name, { type })
    await client.attachment.add({ ticketId: 1, file, by: 'any' })
    expect((await client.attachment.list({ ticketId: 1 })).length).toBe(before.length + 1)
    // The house learns that a connection is gone when its system tells it.
    await expect
      .poll(() => readdirSync(house.app.inboxRoot, { recursive: true }).filter((name) => String(name).includes('.')))
      .toEqual([])
  })
})

it('a certificate that ends while the house runs is told, and the next one is taken up without a new start', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-test-'))
  const own = ownNames('yard-office', {})
  const authority = await makeAuthority(own, Date.now())
  const put = async (at: number) => {
    const leaf = await makeLeaf(authority, own, at)
    writeFileSync(join(folder, 'house.pem'), leaf.certificate + leaf.key)
  }
  const warned: string[] = []
  await put(Date.now() - 400 * dayMs)
  const given = givenCertificates(folder)
  const whileValid = await given.current(own, Date.now() - 10 * dayMs)
  let isLater = false
  const house = await runHouse({
    people: [],
    certificates: { current: (names, now) => (isLater ? given.current(names, now) : Promise.resolve(whileValid)) },
    warn: (sentence) => warned.push(sentence),
  })
  const desk = { ...house.desk, authority: authority.certificate }
  const reach = () =>
    new Promise<string>((done) => {
      const session = connectTo(desk)
      session.once('connect', () => {
        done('trusted')
        session.close()
      })
      session.once('error', (error: NodeJS.ErrnoException) => done(error.code ?? error.message))
    })
  isLater = true
  expect(await reach()).toBe('CERT_HAS_EXPIRED')
  await house.house.lookAgain()
  await house.house.lookAgain()
  expect(warned).toEqual([expect.stringContaining('ended on')])
  expect(house.house.facts().trouble).toBe(warned[0])
  await put(Date.now())
  await house.house.lookAgain()
  expect(house.house.facts().trouble).toBeNull()
  expect(await reach()).toBe('trusted')
  await house[Symbol.asyncDispose]()
  rmSync(folder, { recursive: true, force: true })
})
