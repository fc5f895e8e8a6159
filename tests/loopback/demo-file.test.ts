import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { listCopyNames } from '#core/store/copies.ts'
import { readFileState } from '#core/store/file-state.ts'
import { changeHouseRule, readHouseRules } from '#core/store/house-rules.ts'
import { openStore } from '#core/store/open.ts'
import { demoFile } from '#electron/demo-file.ts'

let folder: string
let fleet: string
let home: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-demo-'))
  fleet = join(folder, 'fleet')
  home = join(folder, 'home')
  mkdirSync(fleet)
  mkdirSync(home)
  writeFileSync(join(fleet, 'units.csv'), 'unit,kind\r\nT-1,tractor\r\n')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

async function units(file: string): Promise<number> {
  const store = await openStore(file, { mustExist: true })
  try {
    return (await readFileState(store.db)).units
  } finally {
    await store.close()
  }
}

it('is made from the demo fleet, kept as long as that is the same, and made anew when it has changed', async () => {
  const demo = demoFile(fleet, home)
  await Promise.all([demo.prepare(), demo.prepare()])
  expect(await units(demo.file)).toBe(1)
  expect(readdirSync(home).toSorted()).toEqual(['demo.made.json', 'demo.tareline'])
  const made = statSync(demo.file).ino
  cpSync(fleet, join(folder, 'copy'), { recursive: true })
  await demoFile(join(folder, 'copy'), home).prepare()
  expect(statSync(demo.file).ino).toBe(made)
  writeFileSync(join(fleet, 'units.csv'), 'unit,kind\r\nT-1,tractor\r\nV-2,trailer\r\n')
  await demo.prepare()
  expect(await units(demo.file)).toBe(2)
})

it('is refused where the demo fleet is missing, and leaves nothing half-made where it cannot be imported', async () => {
  await expect(demoFile(join(folder, 'nowhere'), home).prepare()).rejects.toMatchObject({ code: 'no-demo' })
  const demo = demoFile(fleet, home)
  await demo.prepare()
  writeFileSync(join(fleet, 'units.csv'), 'unit,kind\r\nT-1,boat\r\n')
  await expect(demo.prepare()).rejects.toThrow('boat')
  expect(await units(demo.file)).toBe(1)
  expect(readdirSync(home).toSorted()).toEqual(['demo.made.json', 'demo.tareline'])
})

const hour = 3_600_000
const day = 24 * hour
/** The demo of a yard and one tractor, read at noon of 24 November 2026 in Denver, and an hour before. */
function writeStory() {
  const files = {
    'units.csv': 'unit,kind\r\nT-1,tractor\r\n',
    'axle_groups.csv': 'unit,group,role,axles\r\nT-1,drive,drive,2\r\n',
    'circuits.csv': 'unit,group,circuit\r\nT-1,drive,main\r\n',
    'readings.csv':
      'reading,taken_at,unit,group,circuit,psi\r\n' +
      'r1,2026-11-24T11:00:00-07:00,T-1,drive,main,40\r\nr2,2026-11-24T12:00:00-07:00,T-1,drive,main,60\r\n',
  }
  for (const [name, text] of Object.entries(files)) writeFileSync(join(fleet, name), text)
}
async function readingsOf(file: string): Promise<number[]> {
  const store = await openStore(file, { mustExist: true })
  try {
    const rows = await store.db.selectFrom('reading').select('taken_at').orderBy('taken_at').execute()
    return rows.map(({ taken_at }) => Date.parse(taken_at))
  } finally {
    await store.close()
  }
}

it('ends its story in the week before whichever day it is opened, on the weekdays of its own', async () => {
  writeStory()
  const told = Date.parse('2026-11-24T19:00:00Z')
  for (const [today, weeks] of [
    ['2026-11-25T18:00:00Z', 0],
    ['2026-12-01T18:00:00Z', 0],
    ['2026-12-01T20:00:00Z', 1],
    ['2027-11-29T18:00:00Z', 52],
    ['2028-02-29T18:00:00Z', 65],
    ['2026-11-24T18:00:00Z', -1],
  ] as const) {
    const demo = demoFile(fleet, home, () => Date.parse(today))
    await demo.prepare()
    expect(await readingsOf(demo.file), today).toEqual([told - hour, told].map((at) => at + 7 * weeks * day))
  }
  expect(listCopyNames(join(home, 'demo.tareline'))).toEqual([])
})

it('keeps what somebody has changed in it among its copies when it is made anew', async () => {
  writeStory()
  const at = (text: string) => demoFile(fleet, home, () => Date.parse(text))
  const demo = at('2026-11-25T18:00:00Z')
  await demo.prepare()
  const store = await openStore(demo.file, { mustExist: true })
  const { maximumAgeDays: was } = await readHouseRules(store.db)
  await store.db
    .transaction()
    .execute((db) =>
      changeHouseRule(db, { name: 'maximumAgeDays', was, value: was - 30 }, 'M. Adair', '2026-11-25T18:00:00.000Z'),
    )
  await store.close()
  await demo.prepare()
  expect(listCopyNames(demo.file)).toEqual([])
  await at('2027-03-03T18:00:00Z').prepare()
  expect(listCopyNames(demo.file).map(({ reason }) => reason)).toEqual(['before-import'])
})

it('is not taken from under a window that has it open, and one that cannot be read is put aside', async () => {
  writeStory()
  const at = (text: string) => demoFile(fleet, home, () => Date.parse(text))
  const { file } = at('2026-11-25T18:00:00Z')
  await at('2026-11-25T18:00:00Z').prepare()
  const open = await openStore(file, { mustExist: true })
  await at('2027-03-03T18:00:00Z').prepare()
  await open.close()
  expect(await readingsOf(file)).toEqual([Date.parse('2026-11-24T18:00:00Z'), Date.parse('2026-11-24T19:00:00Z')])
  writeFileSync(file, 'no database, whatever its name says. '.repeat(100))
  await at('2027-03-03T18:00:00Z').prepare()
  expect(await readingsOf(file)).toHaveLength(2)
  expect(listCopyNames(file).map(({ reason }) => reason)).toEqual(['rescued'])
})
