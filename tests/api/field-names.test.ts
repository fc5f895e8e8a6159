import { safe } from '@orpc/client'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { type InputShape, procedureList, shapeOf } from '#tests/api/procedure-list.ts'
import { type Client, bringInSmallFleet, clientOver, ways } from '#tests/api/windows.ts'
import type { Admission } from '#tests/loopback/admission.ts'
import { enter, type RunningApp, runApp } from '#tests/loopback/running-app.ts'

/** Names that every object of the language has without having been given them. */
const everybodysNames = ['constructor', 'toString', 'hasOwnProperty', 'valueOf', '__defineGetter__']

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

/** Where an input takes a record of fields by names that are typed: the key of each such place. */
const recordsIn = ({ properties = {}, anyOf = [], allOf = [] }: InputShape): string[] => [
  ...Object.entries(properties).flatMap(([key, part]) =>
    typeof part.additionalProperties === 'object' ? [key] : recordsIn(part),
  ),
  ...[...anyOf, ...allOf].flatMap(recordsIn),
]
const withRecords = procedureList.flatMap(({ name, input }) =>
  (input ? recordsIn(shapeOf(input)) : []).map((key) => `${name} ${key}`),
)

const by = 'M. Tarn'
const common = { reason: null, localZone: 'America/Denver', workedAt: null, by }
const newUnit = {
  groups: [],
  mountedAt: '2026-01-05T12:00:00Z',
  newReference: 'gauge' as const,
  sensor: {},
  localZone: null,
  by,
}
/** A call of each procedure with some more fields at one place of its input. */
const calls: Readonly<Record<string, (client: Client, fields: Record<string, string>) => Promise<unknown>>> = {
  'fleet.save was': (client, fields) =>
    client.fleet.save({ ...common, subject: 'yard', id: 1, was: fields, values: { name: 'Cinder Gap' } }),
  'fleet.save values': (client, fields) =>
    client.fleet.save({ ...common, subject: 'yard', id: null, was: {}, values: fields }),
  'fleet.mount values': (client, fields) =>
    client.fleet.mount({ ...common, serial: 'PA-9', circuitId: 1, values: fields, newReference: 'gauge' }),
  'fleet.mount sensor': (client, fields) =>
    client.fleet.mount({
      ...common,
      serial: 'PA-9',
      circuitId: 999_999,
      values: { mounted_at: '2026-01-05T12:00:00.000Z' },
      newReference: 'gauge',
      sensor: fields,
    }),
  'fleet.mountMany sensor': (client, fields) =>
    client.fleet.mountMany({
      ...common,
      mounts: [{ circuitId: 999_999, serial: 'PA-9', mountedAt: '2026-01-05T12:00:00Z' }],
      newReference: 'gauge',
      sensor: fields,
    }),
  'fleet.addUnit values': (client, fields) => client.fleet.addUnit({ ...newUnit, values: fields }),
  'fleet.addUnit sensor': (client, fields) =>
    client.fleet.addUnit({
      ...newUnit,
      values: { number: 'Z-1', kind: 'tractor' },
      groups: [{ values: {}, circuits: [] }],
      sensor: fields,
    }),
  'evidence.correct was': (client, fields) =>
    client.evidence.correct({ kind: 'ticket', id: 1, was: fields, now: {}, reason: 'why', by, tryOut: false }),
  'evidence.correct now': (client, fields) =>
    client.evidence.correct({ kind: 'ticket', id: 1, was: {}, now: fields, reason: 'why', by, tryOut: false }),
}

it('every procedure that takes a record of fields is tried', () => {
  expect(withRecords.toSorted()).toEqual(Object.keys(calls).toSorted())
})

it.each(ways.flatMap((way) => everybodysNames.map((name) => [name, way] as const)))(
  'a field named %s over %s is refused in a sentence and is no fault',
  async (name, way) => {
    const { client, close } = await clientOver(way, app, mine)
    const revision = (await client.file.state()).revision
    for (const [place, call] of Object.entries(calls)) {
      // Not by an assignment, which would change what `__proto__` stands for.
      const { error, isDefined } = await safe(call(client, Object.fromEntries([[name, 'x']])))
      expect([place, isDefined, error?.message]).toEqual([place, true, expect.stringContaining(`no field ${name}`)])
    }
    expect([(await client.file.state()).revision, app.reported]).toEqual([revision, []])
    close()
  },
)

it.each(ways)(
  'a field named __proto__ over %s stores nothing, is no fault, and reaches no other object',
  async (way) => {
    const { client, close } = await clientOver(way, app, mine)
    const revision = (await client.file.state()).revision
    for (const [place, call] of Object.entries(calls)) {
      // The borders let it fall; a call that has nothing else is refused for what it lacks.
      const { error, isDefined } = await safe(
        call(client, Object.fromEntries([['__proto__', { polluted: 'x' }]]) as never),
      )
      expect([place, error === null || isDefined]).toEqual([place, true])
    }
    expect([(await client.file.state()).revision, app.reported]).toEqual([revision, []])
    expect(Reflect.get({}, 'polluted')).toBeUndefined()
    close()
  },
)
