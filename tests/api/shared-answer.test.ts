import { afterAll, beforeAll, expect, it } from 'vitest'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { sharedAnswer } from '#core/api/shared-answer.ts'
import { workSpoken } from '#core/api/speaking.ts'
import { changeHouseRule } from '#core/store/house-rules.ts'
import type { Store } from '#core/store/open.ts'
import { phrase } from '#core/words/phrase.ts'
import { openNewStore } from '#tests/store/temporary-store.ts'

const home = mkdtempSync(join(tmpdir(), 'tareline-shared-'))
let store: Store
let reads = 0
const read = async () => {
  reads += 1
  return await Promise.resolve({ of: reads, said: phrase('Findings') })
}
const ask = (question = 'page') => sharedAnswer(store, question, read)

beforeAll(async () => {
  store = await openNewStore(join(home, 'fleet.tareline'))
})
afterAll(async () => {
  await store.close()
  rmSync(home, { recursive: true, force: true })
})

it('an answer is read once for all that ask, until something is changed', async () => {
  const [first, second] = await Promise.all([ask(), ask()])
  expect(second).toBe(first)
  expect(await ask()).toBe(first)
  expect((await ask('another')).of).toBe(first.of + 1)
  const rule = { name: 'drivers', was: 0, value: 1 } as const
  await store.db.transaction().execute((trx) => changeHouseRule(trx, rule, 'a test', '2026-11-25T18:00:00.000Z'))
  expect((await ask()).of).toBe(first.of + 2)
})

it('each language has its own', async () => {
  const english = await ask()
  const french = await workSpoken('fr-CA;fr-CA', () => ask())
  expect([english.said, french.said]).toEqual(['Findings', 'Constats'])
  expect(await workSpoken('fr-CA;fr-CA', () => ask())).toBe(french)
})

it('one that failed is asked for anew', async () => {
  const fails = () => Promise.reject(new Error('not now'))
  await expect(sharedAnswer(store, 'failing', fails)).rejects.toThrow('not now')
  expect(await sharedAnswer(store, 'failing', () => Promise.resolve(7))).toBe(7)
})
