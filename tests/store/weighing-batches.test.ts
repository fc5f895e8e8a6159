import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { ByteText } from '#core/exchange/documents/byte-text.ts'
import { weighedStretches, writeJson } from '#core/exchange/documents/weighing-json.ts'
import type { Store } from '#core/store/open.ts'
import { openSpool } from '#core/store/spool.ts'
import { weighNamed } from '#core/store/weigh-each.ts'
import { batchesOf } from '#core/store/weighing-batches.ts'
import { eachWeighing } from '#core/store/weighings.ts'
import { insertTrips, trips } from '#tests/store/loaded-fleet.ts'
import { fleets, insertFleet } from '#tests/store/random-fleet.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const rising = (a: number, b: number) => a - b

describe('batches of weighings', () => {
  const combinations = fc.uniqueArray(fc.nat(30), { maxLength: 4 })

  it('hold each weighing once, with all of its units, of which there are no more than are asked for', () => {
    fc.assert(
      fc.property(fc.array(combinations, { maxLength: 60 }), fc.integer({ min: 1, max: 12 }), (stood, most) => {
        const batches = batchesOf(
          stood.map((unitIds, id) => [id, unitIds]),
          most,
        )
        expect(batches.flatMap(({ weighings }) => weighings.map(([id]) => id)).sort(rising)).toEqual([...stood.keys()])
        for (const { unitIds, weighings } of batches) {
          for (const [id, own] of weighings) expect(own).toEqual(stood[id])
          expect([...unitIds].sort(rising)).toEqual([...new Set(weighings.flatMap(([, own]) => own))].sort(rising))
          const alone = new Set(weighings.map(([, own]) => own.join(' '))).size === 1
          expect(alone || unitIds.length <= most).toBe(true)
        }
      }),
    )
  })

  it('make a rig that stays together ready once', () => {
    const stood = Array.from({ length: 400 }, (_, id) => [id, [id % 40, 100 + (id % 40)]] as const)
    const batches = batchesOf(stood, 10)
    expect(batches.map(({ unitIds }) => unitIds.length)).toEqual(Array.from({ length: 8 }, () => 10))
    expect(new Set(batches.flatMap(({ unitIds }) => unitIds)).size).toBe(80)
  })
})

describe('a spool', () => {
  it('gives back in the order of the numbers what was kept in any, and leaves nothing behind', () =>
    withStore((store) => {
      const numbers = fc.uniqueArray(fc.integer({ min: 1, max: 5000 }), { maxLength: 50 })
      fc.assert(
        fc.property(numbers, fc.integer({ min: 1, max: 600 }), fc.integer({ min: 1, max: 9 }), (kept, of, atOnce) => {
          const spool = openSpool(store, of)
          for (let from = 0; from < kept.length; from += atOnce)
            spool.keep(
              kept.slice(from, from + atOnce).map((number) => [number, Buffer.from('x'.repeat(number % 3) + number)]),
            )
          const texts = Array.from(spool.inOrder(), (stretch) => stretch.map((bytes) => Buffer.from(bytes).toString()))
          spool.remove()
          const inOrder = kept.toSorted(rising)
          expect(texts.flat()).toEqual(inOrder.map((number) => 'x'.repeat(number % 3) + number))
          expect(texts.map(({ length }) => length)).toEqual(
            Array.from(Map.groupBy(inOrder, (number) => Math.floor((number - 1) / of)).values(), (own) => own.length),
          )
        }),
      )
      expect(store.raw.prepare('select count(*) from temp.sqlite_schema').pluck().get()).toBe(0)
    }))
})

const now = Date.UTC(2025, 11, 1)

/** Every reading as it is printed, weighed so many units at a time. */
async function printed(store: Store, unitsAtOnce?: number): Promise<string> {
  const parts: string[] = []
  const list = { write: writeJson, between: ',', now, ...(unitsAtOnce === undefined ? {} : { unitsAtOnce }) }
  for await (const part of weighedStretches(store, list)) parts.push(Buffer.from(part).toString())
  return `[${parts.join('')}]`
}

/** Each reading weighed by itself, by rising id. */
async function oneByOne(store: Store): Promise<string> {
  const readings = await store.db.selectFrom('reading').select('name').orderBy('id').execute()
  const out = new ByteText()
  const texts: string[] = []
  for (const { name } of readings) {
    const weighed = await weighNamed(store, name)
    if (!weighed) throw new Error(`reading ${name} was not found`)
    out.clear()
    writeJson(out, weighed, now)
    texts.push(Buffer.from(out.slice()).toString())
  }
  return `[${texts.join(',')}]`
}

describe('a record weighed some units at a time', () => {
  it('is printed by rising id, each reading to the last digit as weighed by itself', async () => {
    await fc.assert(
      fc.asyncProperty(trips, fc.integer({ min: 1, max: 4 }), (list, unitsAtOnce) =>
        withStore(async (store) => {
          await insertTrips(store, list)
          const expected = await oneByOne(store)
          expect(expected.length).toBeGreaterThan(100)
          expect(await printed(store, unitsAtOnce)).toBe(expected)
          expect(await printed(store)).toBe(expected)
        }),
      ),
      { numRuns: 12 },
    )
  })

  it('is the same of fleets of any shape', async () => {
    await fc.assert(
      fc.asyncProperty(fleets, (plan) =>
        withStore(async (store) => {
          await insertFleet(store, plan)
          expect(await printed(store, 1)).toBe(await oneByOne(store))
        }),
      ),
      { numRuns: 20 },
    )
  })

  it('is handed on by number, tickets first, whole stretches of ids together', async () => {
    await fc.assert(
      fc.asyncProperty(trips, fc.integer({ min: 1, max: 5 }), (list, ids) =>
        withStore(async (store) => {
          await insertTrips(store, list)
          const stretches: (readonly (readonly [number, boolean])[])[] = []
          for await (const some of eachWeighing(
            store,
            ({ weighing, ticketId }) => [weighing, ticketId === null] as const,
            { asOf: Date.UTC(2100, 0, 1), ids },
          ))
            stretches.push(some)
          const all = stretches.flat()
          const tickets = await store.db.selectFrom('ticket').select('id').orderBy('id').execute()
          const alone = await store.db
            .selectFrom('reading')
            .select('id')
            .where('ticket_id', 'is', null)
            .orderBy('id')
            .execute()
          expect(all).toEqual([
            ...tickets.map(({ id }) => [2 * id + 1, false]),
            ...alone.map(({ id }) => [2 * id, true]),
          ])
          const stretchOf = ([weighing, isAlone]: readonly [number, boolean]) =>
            `${isAlone} ${Math.floor((Math.floor(weighing / 2) - 1) / ids)}`
          expect(stretches.map((some) => new Set(some.map(stretchOf)).size)).toEqual(stretches.map(() => 1))
          expect(new Set(stretches.map(([first]) => first && stretchOf(first))).size).toBe(stretches.length)
        }),
      ),
      { numRuns: 12 },
    )
  })
})
