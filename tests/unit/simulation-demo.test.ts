import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, expect, it } from 'vitest'
import { heavyUnits, lastCalibratedDaysAgo } from '#demo/demo-troubles.ts'
import { makeDemo } from '#demo/make-demo.ts'
import { folderFiles } from '#demo/simulation/folder-writer.ts'
import { vinCheckDigit } from '#core/words/vin.ts'
import { columnsOf, readColumns, readRows } from '#tests/bed/read-folder.ts'
import { some } from '#tests/some.ts'

const demo = resolve(import.meta.dirname, '../../demo-data')
const kept = join(demo, 'fleet')
const fresh = mkdtempSync(join(tmpdir(), 'tareline-demo-'))
afterAll(() => rmSync(fresh, { recursive: true, force: true }))
const content = (folder: string, file: string) => readFileSync(join(folder, `${file}.csv`), 'utf8')

it('is what the generator writes today', () => {
  makeDemo(fresh)
  for (const file of folderFiles)
    expect(content(fresh, file) === content(kept, file), `${file}.csv; npm run demo writes it anew`).toBe(true)
})

it('has all twelve files with the fixed columns, under 6 MB together', () => {
  for (const file of folderFiles) expect(readColumns(kept, file)).toEqual(columnsOf(file))
  expect(folderFiles.reduce((sum, file) => sum + statSync(join(kept, `${file}.csv`)).size, 0)).toBeLessThan(6_000_000)
})

it('is a fleet of 40 tractors, 45 trailers and some trucks at three yards of different height', () => {
  const units = readRows(kept, 'units')
  const count = (kind: string) => units.filter((r) => r['kind'] === kind).length
  expect([count('tractor'), count('trailer'), count('truck')]).toEqual([40, 45, 4])
  expect(new Set(readRows(kept, 'yards').map((r) => r['elevation_ft'])).size).toBe(3)
  for (const r of some(units)) expect((r['vin'] as string)[8]).toBe(vinCheckDigit(r['vin'] as string))
})

it('tells every planted trouble in its README', () => {
  const story = readFileSync(join(demo, 'README.md'), 'utf8')
  for (const unit of [...Object.keys(lastCalibratedDaysAgo), ...Object.keys(heavyUnits)]) expect(story).toContain(unit)
})

it('ends on the day asked for and shifts everything with it', () => {
  const later = join(fresh, 'later')
  makeDemo(later, '2027-03-01')
  const last = (folder: string) => readRows(folder, 'readings').at(-1)?.['taken_at']?.slice(0, 10)
  expect([last(kept), last(later)]).toEqual(['2026-11-24', '2027-03-01'])
})
