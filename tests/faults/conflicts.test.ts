import { ORPCError } from '@orpc/client'
import type { ClientHttp2Session } from 'node:http2'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { bringInSmallFleet, clientOver } from '#tests/api/windows.ts'
import { isNightly } from '#tests/faults/nightly.ts'
import { keepTally } from '#tests/faults/tally.ts'
import {
  type HouseUnderTest,
  clientOverHttp2,
  connectTo,
  passwordOf,
  runHouse,
  signIn,
} from '#tests/house/running-house.ts'

const rounds = isNightly ? 1000 : 25
const count = { 'rounds on one field, one wins and the other hears': 0, 'rounds on different fields, both kept': 0 }
const complaints: string[] = []

let house: HouseUnderTest
const sessions: ClientHttp2Session[] = []
const desks: ReturnType<typeof clientOverHttp2>[] = []

beforeAll(async () => {
  house = await runHouse({ people: ['manager'] })
  const { client, close } = await clientOver('a message port', house.app)
  await bringInSmallFleet(house.app, client)
  close()
  await house.people.add('second manager', { role: 'manager', units: [] }, passwordOf('second manager'))
  for (const name of ['manager', 'second manager']) {
    const session = connectTo(house.desk)
    sessions.push(session)
    desks.push(clientOverHttp2(session, house.desk, await signIn(session, name, passwordOf(name))))
  }
}, 120_000)
afterAll(async () => {
  for (const session of sessions) session.close()
  await house[Symbol.asyncDispose]()
  keepTally('conflicts', { title: 'Two desks saving the same unit', counts: count, failed: complaints.length })
})

const theUnit = () =>
  house.app.context.fleet.use(
    async ({ raw }) =>
      raw.prepare("select id, make, model, plate from unit where number = 'T-101'").get() as {
        id: number
        make: string | null
        model: string | null
        plate: string | null
      },
  )

type Column = 'make' | 'model'

/** What a desk saves that saw the unit as it was. */
const saving = (desk: number, id: number, column: Column, was: string | null, value: string) =>
  (desks[desk] as (typeof desks)[number]).fleet.save({
    subject: 'unit',
    id,
    was: { [column]: was },
    values: { [column]: value },
    reason: null,
    localZone: null,
    workedAt: null,
    by: 'x',
  })

/** What became of both saves; the one that goes first changes from round to round. */
function both<T>(round: number, one: () => Promise<T>, other: () => Promise<T>) {
  const order = round % 2 === 0 ? [one, other] : [other, one]
  return Promise.allSettled(order.map((send) => send())).then((ends) => (round % 2 === 0 ? ends : ends.reverse()))
}

it(
  `of two desks that save one field at once exactly one wins, and the other is told both values: ${rounds} rounds`,
  async () => {
    for (let round = 0; round < rounds; round += 1) {
      const { id, make } = await theUnit()
      const values = [`Brennock ${round} a`, `Brennock ${round} b`]
      const ends = await both(
        round,
        () => saving(0, id, 'make', make, values[0] ?? ''),
        () => saving(1, id, 'make', make, values[1] ?? ''),
      )
      const won = ends.findIndex(({ status }) => status === 'fulfilled')
      const lost = ends.find((end) => end.status === 'rejected')
      const stored = (await theUnit()).make
      const reason: unknown = lost?.reason
      const heard =
        reason instanceof ORPCError && reason.code === 'CONFLICT'
          ? (reason.data as { fields: { field: string; stored: unknown; typed: unknown }[] }).fields
          : []
      const [field] = heard
      if (ends.filter(({ status }) => status === 'fulfilled').length !== 1 || stored !== values[won])
        complaints.push(`round ${round}: ${ends.map(({ status }) => status).join()}, stored ${stored}`)
      else if (field?.field !== 'make' || field.stored !== stored || field.typed !== values[1 - won])
        complaints.push(`round ${round}: the other heard ${JSON.stringify(heard)} (${String(reason)})`)
      else count['rounds on one field, one wins and the other hears'] += 1
    }
    expect(complaints).toEqual([])
  },
  60_000 + rounds * 3000,
)

it(
  `of two desks that save different fields of one unit at once both are kept: ${rounds} rounds`,
  async () => {
    for (let round = 0; round < rounds; round += 1) {
      const { id, make, model } = await theUnit()
      const ends = await both(
        round,
        () => saving(0, id, 'make', make, `Brennock ${round} c`),
        () => saving(1, id, 'model', model, `Ridge ${round}`),
      )
      const stored = await theUnit()
      if (
        ends.some(({ status }) => status === 'rejected') ||
        stored.make !== `Brennock ${round} c` ||
        stored.model !== `Ridge ${round}`
      )
        complaints.push(`round ${round}: ${ends.map(({ status }) => status).join()}, ${JSON.stringify(stored)}`)
      else count['rounds on different fields, both kept'] += 1
    }
    expect(complaints).toEqual([])
  },
  60_000 + rounds * 3000,
)
