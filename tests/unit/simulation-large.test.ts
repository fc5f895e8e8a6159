import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, it } from 'vitest'
import { fitLine } from '#core/line/fit.ts'
import { folderFiles } from '#demo/simulation/folder-writer.ts'
import { columnsOf, readColumns, readRows } from '#tests/bed/read-folder.ts'
import { writeLargeFleet } from '#tests/bench/large-fleet.ts'

const home = mkdtempSync(join(tmpdir(), 'tareline-large-'))
afterAll(() => rmSync(home, { recursive: true, force: true }))
const folder = join(home, 'a')
const counts = writeLargeFleet(folder, { units: 80, readingRows: 8_000 })

it('has two and a half sensed groups a unit and the rows asked for, short by less than one reading', () => {
  expect(readRows(folder, 'units').length).toBe(80)
  expect(readRows(folder, 'axle_groups').filter((r) => r['measured_by'] === 'circuit').length).toBe(200)
  expect(counts.readings).toBe(readRows(folder, 'readings').length)
  expect(counts.readings).toBeGreaterThan(8_000 - 7)
  expect(counts.readings).toBeLessThanOrEqual(8_000)
})

it('has all twelve files with the fixed columns, the same for a seed', () => {
  for (const file of folderFiles) expect(readColumns(folder, file)).toEqual(columnsOf(file))
  writeLargeFleet(join(home, 'b'), { units: 80, readingRows: 8_000 })
  for (const file of folderFiles)
    expect(readFileSync(join(home, 'b', `${file}.csv`), 'utf8')).toBe(readFileSync(join(folder, `${file}.csv`), 'utf8'))
})

it('weighs with a ticket most of the time, over about three years', () => {
  const readings = readRows(folder, 'readings')
  expect(readings.filter((r) => r['ticket'] !== '').length / readings.length).toBeGreaterThan(0.85)
  const times = readings.map((r) => Date.parse(r['taken_at'] as string))
  expect((Math.max(...times) - Math.min(...times)) / (365 * 86_400_000)).toBeGreaterThan(2.5)
})

it('makes lines that fit: three calibrations of every group, chi-squared near its degrees of freedom', () => {
  const weights = new Map(
    readRows(folder, 'tickets').map((r) => [
      `${r['scale']}/${r['ticket']}/${r['unit']}/${r['group']}`,
      Number(r['weight_lb']),
    ]),
  )
  const psi = new Map(
    [...Map.groupBy(readRows(folder, 'readings'), (r) => `${r['reading']}/${r['unit']}/${r['group']}`)].map(
      ([one, circuits]) => [one, circuits.reduce((sum, r) => sum + Number(r['psi']), 0) / circuits.length],
    ),
  )
  const calibrations = [
    ...Map.groupBy(
      readRows(folder, 'calibrations'),
      (r) => `${r['unit']}/${r['group']}/${r['calibrated_at']}`,
    ).values(),
  ]
  expect(calibrations.length).toBe(600)
  let chi2 = 0
  let dof = 0
  for (const points of calibrations) {
    const fit = fitLine(
      points.map((r) => ({
        x: psi.get(`${r['reading']}/${r['unit']}/${r['group']}`) as number,
        ux: 0.36,
        y: weights.get(`${r['scale']}/${r['ticket']}/${r['unit']}/${r['group']}`) as number,
        uy: 31,
      })),
    )
    if (!fit.ok) throw new Error(fit.problem.message)
    chi2 += fit.value.chi2
    dof += fit.value.dof
  }
  expect(chi2 / dof).toBeGreaterThan(0.85)
  expect(chi2 / dof).toBeLessThan(1.2)
})
