import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { openFleet } from '#core/api/open-fleet.ts'
import { readFileState } from '#core/store/file-state.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-open-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const at = (name: string) => join(folder, name)

it('answers a question on the file it was asked of, though another file is opened meanwhile', async () => {
  const fleet = await openFleet(at('a.tareline'))
  const { store, giveBack } = fleet.lease()
  await fleet.open(at('b.tareline'))
  expect(await fleet.use(async ({ file }) => file)).toBe(at('b.tareline'))
  expect(store.file).toBe(at('a.tareline'))
  expect(await readFileState(store.db)).toMatchObject({ units: 0, revision: 0 })
  giveBack()
  await fleet.close()
  expect(store.raw.open).toBe(false)
})

it('is closed only when the last question has been answered', async () => {
  const fleet = await openFleet(at('a.tareline'))
  const { store, giveBack } = fleet.lease()
  await fleet.open(at('b.tareline'))
  let closed = false
  const close = fleet.close().then(() => {
    closed = true
  })
  await new Promise((resolve) => {
    setTimeout(resolve, 20)
  })
  expect([closed, store.raw.open]).toEqual([false, true])
  giveBack()
  await close
  expect(store.raw.open).toBe(false)
})

it('keeps the present file when the next one cannot be opened', async () => {
  const fleet = await openFleet(at('a.tareline'))
  writeFileSync(at('letter.tareline'), 'Dear shop, this is a letter and not a database.')
  await expect(fleet.open(at('letter.tareline'))).rejects.toMatchObject({ code: 'not-a-database' })
  expect(await fleet.use(async ({ file, db }) => ({ file, ...(await readFileState(db)) }))).toMatchObject({
    file: at('a.tareline'),
    units: 0,
    revision: 0,
  })
  await fleet.open(at('b.tareline'))
  expect(await fleet.use(async ({ file }) => file)).toBe(at('b.tareline'))
  await fleet.close()
})

it('takes changes one after the other, and the open file again without closing it', async () => {
  const fleet = await openFleet(at('a.tareline'))
  await Promise.all(['b', 'c', 'a', 'd', 'd'].map((name) => fleet.open(at(`${name}.tareline`))))
  const { store, giveBack } = fleet.lease()
  giveBack()
  giveBack()
  expect(store.file).toBe(at('d.tareline'))
  await fleet.open(at('d.tareline'))
  expect(store.raw.open).toBe(true)
  await fleet.close()
  expect(store.raw.open).toBe(false)
})
