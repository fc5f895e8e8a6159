import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { ORPCError } from '@orpc/client'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { isOpenToAll, isProcedure, mayCall } from '#core/people/roles.ts'
import { broughtOnDesk, mendedOnDesk } from '#core/words/desk.ts'
import { type Role, roles } from '#core/words/roles.ts'
import { type Desk, type House, runHouse } from '#tests/api/desk.ts'
import { procedureList } from '#tests/api/procedure-list.ts'
import { type Client, bringInSmallFleet } from '#tests/api/windows.ts'
import { jpegPhoto } from '#tests/store/attachment-samples.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'
import { keepTally } from '#tests/faults/tally.ts'

let house: House
const desks = new Map<Role, Desk>()
const at = (role: Role): Desk => {
  const desk = desks.get(role)
  if (!desk) throw new Error(`no desk of ${role}`)
  return desk
}

beforeAll(async () => {
  house = await runHouse()
  await bringInSmallFleet(house.app, house.here)
  for (const role of roles) desks.set(role, await house.signedIn(role, { name: `The ${role}`, units: ['T-101'] }))
})
afterAll(() => house[Symbol.asyncDispose]())

let calls = 0
/** How a call with nothing for its input is answered: 401 and 403 at the door, anything else behind it. */
async function statusOf(client: Client, path: readonly string[]): Promise<number> {
  calls += 1
  let call: unknown = client
  for (const name of path) call = Reflect.get(call as object, name)
  try {
    const output: unknown = await (call as (input: undefined) => Promise<unknown>)(undefined)
    if (typeof output === 'object' && output !== null && Symbol.asyncIterator in output)
      await (output as unknown as AsyncIterator<unknown>).return?.()
    return 200
  } catch (error) {
    return error instanceof ORPCError ? error.status : 500
  }
}

/** Signing out ends the session, so it comes last. */
const inOrder = [...procedureList].sort(
  (a, b) => Number(a.name === 'people.signOut') - Number(b.name === 'people.signOut'),
)

describe('every procedure', () => {
  it.each(roles)('answers %s as the table says, with a real session', async (role) => {
    const desk = await house.signedIn(role, { units: ['T-101'] })
    for (const { path, name } of inOrder) {
      const status = await statusOf(desk.client, path)
      const may = isProcedure(name) && mayCall(role, name)
      expect([name, status === 403 ? 'refused' : status === 401 ? 'unknown' : 'answered']).toEqual([
        name,
        may ? 'answered' : 'refused',
      ])
      expect([name, status]).not.toEqual([name, 500])
    }
  })

  it('answers nobody who has not signed in, but for the ways in', async () => {
    const stranger = house.desk()
    for (const { path, name } of procedureList)
      expect([name, (await statusOf(stranger.client, path)) === 401]).toEqual([
        name,
        !(isProcedure(name) && isOpenToAll(name)),
      ])
  })

  it('is refused by the procedures themselves where the door was not asked', async () => {
    const { call } = await import('@orpc/server')
    const { router } = await import('#core/api/router.ts')
    const caller = { session: null, from: '', origin: '', browser: '', cookie: undefined, setCookie: () => undefined }
    const context = { ...house.app.context, door: house.door, caller }
    await expect(call(router.roster.list, undefined, { context, path: ['roster', 'list'] })).rejects.toMatchObject({
      status: 401,
    })
    const driver = { id: 1, personId: 1, name: 'x', role: 'driver', units: [] } as const
    await expect(
      call(router.roster.list, undefined, {
        context: { ...context, caller: { ...caller, session: driver } },
        path: ['roster', 'list'],
      }),
    ).rejects.toMatchObject({ status: 403 })
  })
})

const yard = (name: string) => ({
  subject: 'yard' as const,
  id: null,
  was: {},
  values: { name },
  reason: null,
  localZone: null,
  workedAt: null,
  by: 'Somebody else',
})
const reading = (unit: string) => ({
  units: [unit],
  takenAt: '2026-03-01T12:00:00Z',
  localZone: null,
  note: null,
  elevationFt: null,
  temperatureF: null,
  lift: null,
  by: 'Somebody else',
})

describe('what is saved', () => {
  it('is signed by the session, whatever name the window sent', async () => {
    await at('manager').client.fleet.save(yard('Signed yard'))
    await at('owner').client.heavy.note({ record: { reading: 'R-1' }, was: null, note: 'Seen', by: 'The manager' })
    const hands = (await house.here.log.list({ limit: 2 })).rows.map(({ by }) => by)
    expect(hands).toEqual(['The owner', 'The manager'])
    // The own window of the house machine says who sits there.
    await house.here.fleet.save(yard('Own yard'))
    expect((await house.here.log.list({ limit: 1 })).rows[0]?.by).toBe('Somebody else')
  })

  it('is signed as well where a folder brings it in', async () => {
    const inbox = join(house.app.inboxRoot, 'sentbymanager')
    mkdirSync(inbox)
    writeFiles(inbox, { 'yards.csv': 'yard,elevation_ft\nBrought yard,100\n' })
    const steps = await at('manager').client.folder.bringIn({ inbox: 'sentbymanager' })
    let step = await steps.next()
    while (!step.done) step = await steps.next()
    expect(step.value).toMatchObject({ outcome: 'stored' })
    expect((await house.here.log.list({ limit: 1 })).rows[0]).toMatchObject({
      by: 'The manager',
      subject: 'fleet folder',
    })
  })

  it('is taken back by whoever saved it last, or by a manager', async () => {
    await at('manager').client.fleet.save(yard('First yard'))
    await at('owner').client.heavy.note({ record: { reading: 'R-1' }, was: 'Seen', note: 'Seen twice', by: 'x' })
    await at('manager').client.fleet.save(yard('Second yard'))
    const newest = await at('manager').client.log.last()
    const own = await at('owner').client.log.last()
    expect([newest?.by, own?.by]).toEqual(['The manager', 'The owner'])
    await expect(
      at('owner').client.log.undo({ revision: newest?.revision ?? 0, by: 'The manager' }),
    ).rejects.toMatchObject({ data: { code: 'not-yours' } })
    await at('owner').client.log.undo({ revision: own?.revision ?? 0, by: 'x' })
    expect((await house.here.log.list({ limit: 1 })).rows[0]).toMatchObject({ by: 'The owner', action: 'undone' })
    expect(await at('shop').client.log.last()).toBeNull()
    await at('owner').client.heavy.note({ record: { reading: 'R-1' }, was: 'Seen', note: 'Seen again', by: 'x' })
    const anybodys = await at('manager').client.log.last()
    expect(anybodys?.by).toBe('The owner')
    await at('manager').client.log.undo({ revision: anybodys?.revision ?? 0, by: 'x' })
  })

  it('and what is not yet saved lies on each person’s own desk', async () => {
    await at('counter').client.desk.leave({ name: 'draft', text: 'half a ticket' })
    expect(await at('counter').client.desk.read({ name: 'draft' })).toEqual({ text: 'half a ticket' })
    expect(await at('manager').client.desk.read({ name: 'draft' })).toEqual({ text: null })
    expect(await house.here.desk.read({ name: 'draft' })).toEqual({ text: null })
  })

  it('and nobody writes what the program itself leaves there; whoever may see it takes it away', async () => {
    const refused = { data: { code: 'program-note' } }
    const before = await house.here.desk.read({ name: broughtOnDesk })
    for (const name of [mendedOnDesk, broughtOnDesk])
      await expect(house.here.desk.leave({ name, text: '{"revision":1,"files":[]}' })).rejects.toMatchObject(refused)
    const manager = at('manager').client
    await expect(manager.desk.leave({ name: mendedOnDesk, text: 'All is well.' })).rejects.toMatchObject(refused)
    expect(await manager.desk.leave({ name: mendedOnDesk, text: null })).toEqual({ left: false })
    // Another's own draft of that name is none of the program's.
    expect(await at('counter').client.desk.leave({ name: broughtOnDesk, text: 'a draft' })).toEqual({ left: true })
    expect(await house.here.desk.read({ name: broughtOnDesk })).toEqual(before)
  })

  it('names no disk of the house machine', async () => {
    const refused = expect.objectContaining({ status: 403, message: expect.stringContaining('house machine') })
    const manager = at('manager').client
    await expect(manager.folder.bringIn({ folder: '/srv/fleet' })).rejects.toEqual(refused)
    await expect(manager.heavy.export({ format: 'csv', folder: '/srv/fleet' })).rejects.toEqual(refused)
    expect((await manager.heavy.export({ format: 'csv' })).path).toBeNull()
    await expect(manager.about.supportBundle({ withFleet: false })).rejects.toEqual(refused)
  })
})

describe('who has which form open', () => {
  const form = 'unit V-201 edit'

  it('is said under the name that somebody has signed in with', async () => {
    await at('counter').client.desk.present({ form, open: true, by: 'The manager' })
    expect(house.app.context.fleet.presence.list()).toEqual([{ form, by: 'The counter' }])
    // Nobody else closes it.
    await at('manager').client.desk.present({ form, open: false, by: 'The counter' })
    expect(house.app.context.fleet.presence.list()).toEqual([{ form, by: 'The counter' }])
  })

  it('is neither told to a driver nor said by one', async () => {
    const refused = expect.objectContaining({ status: 403 })
    await expect(at('driver').client.desk.present({ form, open: true, by: 'x' })).rejects.toEqual(refused)
    await expect(at('driver').client.file.follow({ seen: null, seconds: 1 })).rejects.toEqual(refused)
  })
})

describe('a driver', () => {
  it('weighs the units given, and no others', async () => {
    const { client } = at('driver')
    const shown = await client.weigh.combinations()
    expect(shown.units.map(({ unit }) => unit)).toEqual(['T-101'])
    expect((await house.here.weigh.combinations()).units.length).toBeGreaterThan(1)
    expect((await client.weigh.preview({ units: ['T-101'] })).unitIds).toHaveLength(1)
    const [circuit] = (await house.here.fleet.unit({ unit: 'T-101' })).groups.flatMap((group) =>
      group.circuits.map((each) => ({ group: String(group.values['name']), circuit: String(each.values['name']) })),
    )
    const saved = await client.weigh.save({
      ...reading('T-101'),
      pressures: [{ unit: 'T-101', ...(circuit ?? { group: '', circuit: '' }), psi: 50 }],
    })
    expect((await house.here.log.list({ limit: 1 })).rows[0]?.by).toBe('The driver')
    expect((await client.weigh.preview({ reading: saved.reading })).reading?.reading).toBe(saved.reading)

    const foreign = expect.objectContaining({ status: 403, message: expect.stringContaining('is not given to you') })
    const other = { unit: 'V-201', group: 'tandem', circuit: 'main', psi: 50 }
    await expect(client.weigh.preview({ units: ['T-101', 'V-201'] })).rejects.toEqual(foreign)
    await expect(client.weigh.save({ ...reading('V-201'), pressures: [other] })).rejects.toEqual(foreign)
    await expect(client.weighIn.prepare({ units: ['V-201'] })).rejects.toEqual(foreign)
    await expect(client.cabCard.make({ units: ['V-201'] })).rejects.toEqual(foreign)
    // Stowed away among the pressures or weights of an own unit.
    const before = (await house.here.log.list({})).total
    await expect(client.weigh.save({ ...reading('T-101'), pressures: [other] })).rejects.toThrow()
    const stowed = {
      ticket: 'X-1',
      weighedAt: '2026-03-01T12:00:00Z',
      grossLb: null,
      weights: [{ unit: 'V-201', group: 'tandem', weightLb: 20_000 }],
      reading: null,
    }
    const visit = { units: ['T-101'], scale: 'Cinder Gap', localZone: null, tickets: [stowed], calibrate: [], by: 'x' }
    await expect(client.weighIn.save(visit)).rejects.toThrow()
    expect((await house.here.log.list({})).total).toBe(before)
  })

  it('sends what waited on a phone under the name of whoever typed it, and nobody else’s', async () => {
    const { client } = at('driver')
    const [circuit] = (await house.here.fleet.unit({ unit: 'T-101' })).groups.flatMap((group) =>
      group.circuits.map((each) => ({ group: String(group.values['name']), circuit: String(each.values['name']) })),
    )
    const waited = {
      ...reading('T-101'),
      pressures: [{ unit: 'T-101', ...(circuit ?? { group: '', circuit: '' }), psi: 51 }],
      sent: { id: '5f0c1f62-7a55-4f1e-9d29-0a5b5a0d9d11', clock: new Date().toISOString(), byClock: false },
    }
    const before = (await house.here.log.list({})).total
    await expect(client.weigh.save({ ...waited, by: 'The counter' })).rejects.toEqual(
      expect.objectContaining({ status: 403, message: expect.stringContaining('This was typed by The counter') }),
    )
    expect((await house.here.log.list({})).total).toBe(before)
    const saved = await client.weigh.save({ ...waited, by: 'The driver' })
    expect(await client.weigh.save({ ...waited, by: 'The driver' })).toEqual(saved)
    expect((await house.here.log.list({})).total).toBe(before + 1)
  })

  it('sees and photographs tickets of those units only', async () => {
    const { rows } = await house.here.evidence.tickets({})
    const foreign = rows.find(({ units }) => units.includes('V-201'))
    expect(foreign).toBeDefined()
    const { client } = at('driver')
    const refused = expect.objectContaining({ status: 403 })
    await client.weighIn.save({
      units: ['T-101'],
      scale: rows[0]?.scale ?? '',
      localZone: null,
      tickets: [
        {
          ticket: 'Seen by the driver',
          weighedAt: '2026-03-02T12:00:00Z',
          grossLb: null,
          weights: [{ unit: 'T-101', group: 'drive', weightLb: 20_000 }],
          reading: null,
        },
      ],
      calibrate: [],
      by: 'x',
    })
    const own = (await client.evidence.tickets({ unit: 'T-101' })).rows
    expect(own.map(({ number }) => number)).toContain('Seen by the driver')
    expect(own.flatMap(({ units }) => units).filter((unit) => unit !== 'T-101')).toEqual([])
    const photo = new File([Buffer.from(jpegPhoto)], 'ticket.jpg', { type: 'image/jpeg' })
    const ownId = own.find(({ number }) => number === 'Seen by the driver')?.id ?? 0
    expect(await client.attachment.add({ ticketId: ownId, file: photo, by: 'x' })).toMatchObject({ added: true })
    expect(await client.attachment.list({ ticketId: ownId })).toMatchObject([{ addedBy: 'The driver' }])
    await expect(client.evidence.tickets({})).rejects.toEqual(refused)
    await expect(client.evidence.tickets({ unit: 'V-201' })).rejects.toEqual(refused)
    const ticketId = foreign?.id ?? 0
    await expect(client.evidence.sheet({ kind: 'ticket', id: ticketId })).rejects.toEqual(refused)
    await expect(client.attachment.list({ ticketId })).rejects.toEqual(refused)
    const file = new File([Buffer.from('89504e470d0a1a0a', 'hex')], 'ticket.png', { type: 'image/png' })
    await expect(client.attachment.add({ ticketId, file, by: 'x' })).rejects.toEqual(refused)
  })
})

afterAll(() => keepTally('rights', { title: 'Rights', counts: { 'calls by role': calls }, failed: 0 }))
