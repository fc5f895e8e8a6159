import { cpSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { readFileState } from '#core/store/file-state.ts'
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
  expect(readdirSync(home).toSorted()).toEqual(['demo.sha256', 'demo.tareline'])
  const made = statSync(demo.file).ino
  cpSync(fleet, join(folder, 'copy'), { recursive: true })
  await demoFile(join(folder, 'copy'), home).prepare()
  expect(statSync(demo.file).ino).toBe(made)
  writeFileSync(join(fleet, 'units.csv'), 'unit,kind\r\nT-1,tractor\r\nV-2,trailer\r\n')
  await demo.prepare()
  expect(await units(demo.file)).toBe(2)
})

it('is refused where the demo fleet is missing, and leaves nothing half-made where it cannot be brought in', async () => {
  await expect(demoFile(join(folder, 'nowhere'), home).prepare()).rejects.toMatchObject({ code: 'no-demo' })
  const demo = demoFile(fleet, home)
  await demo.prepare()
  writeFileSync(join(fleet, 'units.csv'), 'unit,kind\r\nT-1,boat\r\n')
  await expect(demo.prepare()).rejects.toThrow('boat')
  expect(await units(demo.file)).toBe(1)
  expect(readdirSync(home).toSorted()).toEqual(['demo.sha256', 'demo.tareline'])
})
