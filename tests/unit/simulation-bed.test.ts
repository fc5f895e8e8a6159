import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { atmosphericPsi } from '#core/evidence/pressure.ts'
import { fitLine } from '#core/line/fit.ts'
import { folderFiles } from '#demo/simulation/folder-writer.ts'
import { faultKinds } from '#tests/bed/fault-kinds.ts'
import { type TextRow, columnsOf, readColumns, readRows } from '#tests/bed/read-folder.ts'
import { everyFault, simulateFleet } from '#tests/bed/simulate-fleet.ts'
import type { FleetTruth } from '#tests/bed/truth.ts'
import { some } from '#tests/some.ts'

const home = mkdtempSync(join(tmpdir(), 'tareline-simulation-'))
afterAll(() => rmSync(home, { recursive: true, force: true }))
const folderOf = (name: string) => join(home, name)
const text = (folder: string) => folderFiles.map((file) => readFileSync(join(folder, `${file}.csv`), 'utf8'))
const unique = (values: readonly string[]) => new Set(values).size === values.length
const key = (...parts: (string | undefined)[]) => parts.join('|')
const deviation = (values: readonly number[]) => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length)
}

const clean = folderOf('clean')
const cleanTruth = simulateFleet({ folder: clean, seed: 11, units: 120, months: 24, faults: {}, absoluteShare: 0.2 })
const faulty = folderOf('faulty')
const faultyTruth = simulateFleet({ folder: faulty, seed: 12, units: 240, months: 24, faults: everyFault(6) })

it('gives the same files for a seed and other files for another', () => {
  const settings = { units: 40, months: 18, faults: everyFault(1) }
  const first = simulateFleet({ folder: folderOf('a'), seed: 1, ...settings })
  expect(simulateFleet({ folder: folderOf('b'), seed: 1, ...settings })).toEqual(first)
  expect(text(folderOf('b'))).toEqual(text(folderOf('a')))
  simulateFleet({ folder: folderOf('c'), seed: 2, ...settings })
  expect(text(folderOf('c'))).not.toEqual(text(folderOf('a')))
})

describe.each([
  ['clean', clean],
  ['faulty', faulty],
])('the folder of a %s fleet', (_, folder) => {
  const rows = Object.fromEntries(folderFiles.map((file) => [file, readRows(folder, file)])) as Record<
    (typeof folderFiles)[number],
    TextRow[]
  >

  it('has all twelve files with the fixed columns', () => {
    for (const file of folderFiles) expect(readColumns(folder, file)).toEqual(columnsOf(file))
  })

  it('has no row twice', () => {
    expect(unique(rows.units.map((r) => key(r['unit'])))).toBe(true)
    expect(unique(rows.circuits.map((r) => key(r['unit'], r['group'], r['circuit'])))).toBe(true)
    expect(unique(rows.sensors.map((r) => key(r['serial'])))).toBe(true)
    expect(unique(rows.tickets.map((r) => key(r['scale'], r['ticket'], r['unit'], r['group'])))).toBe(true)
    expect(unique(rows.readings.map((r) => key(r['reading'], r['unit'], r['group'], r['circuit'])))).toBe(true)
  })

  it('says the same in all rows of one ticket and of one reading', () => {
    for (const together of some(Map.groupBy(rows.tickets, (r) => key(r['scale'], r['ticket'])).values())) {
      expect(new Set(together.map((r) => key(r['weighed_at'], r['gross_lb']))).size).toBe(1)
    }
    for (const together of some(Map.groupBy(rows.readings, (r) => key(r['reading'])).values())) {
      expect(
        new Set(
          together.map((r) =>
            key(r['taken_at'], r['scale'], r['ticket'], r['elevation_ft'], r['temperature_f'], r['lift']),
          ),
        ).size,
      ).toBe(1)
    }
  })

  it('names only units, groups, circuits, sensors, tickets and readings that it has', () => {
    const groups = new Set(rows.axle_groups.map((r) => key(r['unit'], r['group'])))
    const circuits = new Set(rows.circuits.map((r) => key(r['unit'], r['group'], r['circuit'])))
    const sensors = new Set(rows.sensors.map((r) => key(r['serial'])))
    const tickets = new Set(rows.tickets.map((r) => key(r['scale'], r['ticket'], r['unit'], r['group'])))
    const readings = new Set(
      rows.readings.map((r) => key(r['reading'], r['unit'], r['group'], r['scale'], r['ticket'])),
    )
    for (const r of some(rows.tickets)) expect(groups.has(key(r['unit'], r['group']))).toBe(true)
    for (const r of [...some(rows.readings), ...some(rows.mounts)])
      expect(circuits.has(key(r['unit'], r['group'], r['circuit']))).toBe(true)
    for (const r of [...some(rows.mounts), ...some(rows.battery_changes)])
      expect(sensors.has(key(r['serial']))).toBe(true)
    for (const r of some(rows.calibrations)) {
      expect(tickets.has(key(r['scale'], r['ticket'], r['unit'], r['group']))).toBe(true)
      expect(readings.has(key(r['reading'], r['unit'], r['group'], r['scale'], r['ticket']))).toBe(true)
    }
  })

  it('reads a circuit only while a sensor sits on it', () => {
    const mounts = Map.groupBy(rows.mounts, (r) => key(r['unit'], r['group'], r['circuit']))
    for (const r of rows.readings) {
      const at = Date.parse(r['taken_at'] as string)
      const covered = mounts
        .get(key(r['unit'], r['group'], r['circuit']))
        ?.some(
          (mount) =>
            Date.parse(mount['mounted_at'] as string) <= at &&
            (mount['removed_at'] === '' || at < Date.parse(mount['removed_at'] as string)),
        )
      if (covered !== true) throw new Error(`reading ${r['reading']} of ${r['unit']} has no sensor`)
    }
  })
})

/** Residuals of the check weighings against the group's latest calibration, in psi, absolute sensors taken to gauge. */
function residualsPsi(folder: string): { psi: number; months: number; scale: string; relative: number }[] {
  const springs = new Map(
    readRows(folder, 'circuits').map((r) => [key(r['unit'], r['group'], r['circuit']), Number(r['air_springs'])]),
  )
  const absolute = new Set(
    readRows(folder, 'sensors')
      .filter((r) => r['reference'] === 'absolute')
      .map((r) => r['serial']),
  )
  const absoluteCircuits = new Set(
    readRows(folder, 'mounts')
      .filter((r) => absolute.has(r['serial']))
      .map((r) => key(r['unit'], r['group'], r['circuit'])),
  )
  const weights = new Map(
    readRows(folder, 'tickets').map((r) => [
      key(r['scale'], r['ticket'], r['unit'], r['group']),
      Number(r['weight_lb']),
    ]),
  )
  const observed = [
    ...Map.groupBy(readRows(folder, 'readings'), (r) => key(r['reading'], r['unit'], r['group'])).values(),
  ].map((circuits) => {
    let psi = 0
    let total = 0
    for (const r of circuits) {
      const circuit = key(r['unit'], r['group'], r['circuit'])
      const gauge = Number(r['psi']) - (absoluteCircuits.has(circuit) ? atmosphericPsi(Number(r['elevation_ft'])) : 0)
      psi += gauge * (springs.get(circuit) as number)
      total += springs.get(circuit) as number
    }
    const r = circuits[0] as TextRow
    return {
      reading: r['reading'] as string,
      group: key(r['unit'], r['group']),
      at: Date.parse(r['taken_at'] as string),
      scale: r['scale'] as string,
      psi: psi / total,
      weight: weights.get(key(r['scale'], r['ticket'], r['unit'], r['group'])),
    }
  })
  const byKey = new Map(observed.map((one) => [key(one.reading, one.group), one]))
  const lines = [
    ...Map.groupBy(readRows(folder, 'calibrations'), (r) => key(r['unit'], r['group'], r['calibrated_at'])).values(),
  ].map((points) => {
    const group = key(points[0]?.['unit'], points[0]?.['group'])
    const used = points.map((r) => byKey.get(key(r['reading'], group)) as (typeof observed)[number])
    const fit = fitLine(used.map(({ psi, weight }) => ({ x: psi, y: weight as number, ux: 0.35, uy: 30 })))
    if (!fit.ok) throw new Error(fit.problem.message)
    return {
      group,
      at: Math.max(...used.map(({ at }) => at)),
      line: fit.value,
      readings: new Set(used.map(({ reading }) => reading)),
    }
  })
  const linesOf = Map.groupBy(lines, ({ group }) => group)
  return observed.flatMap((one) => {
    const before = (linesOf.get(one.group) ?? []).filter(
      ({ at, readings }) => at < one.at && !readings.has(one.reading),
    )
    const line = before.toSorted((a, b) => b.at - a.at)[0]
    if (line === undefined || one.weight === undefined) return []
    const { a, b } = line.line
    const offLb = one.weight - a - b * one.psi
    return [
      {
        psi: offLb / b,
        months: (one.at - line.at) / (30.44 * 86_400_000),
        scale: one.scale,
        relative: offLb / one.weight,
      },
    ]
  })
}

describe('a clean fleet', () => {
  it('is weighed every 10 to 22 days', () => {
    for (const { checks } of some(cleanTruth.groups)) {
      expect(checks.length).toBeGreaterThan(1)
      for (let i = 1; i < checks.length; i += 1) {
        const days = ((checks[i] as number) - (checks[i - 1] as number)) / 86_400_000
        // A calibration between two checks starts the count anew; day and night make the rest.
        expect(days).toBeGreaterThan(9.4)
        expect(days).toBeLessThan(44.6)
      }
    }
  })

  it('has printed sums', () => {
    for (const together of some(
      Map.groupBy(readRows(clean, 'tickets'), (r) => key(r['scale'], r['ticket'])).values(),
    )) {
      expect(together.reduce((sum, r) => sum + Number(r['weight_lb']), 0)).toBe(Number(together[0]?.['gross_lb']))
    }
  })

  it('is calibrated with 3 to 5 tickets of one day that span at least half the limit and reach three quarters of it', () => {
    const limits = new Map(
      readRows(clean, 'axle_groups').map((r) => [key(r['unit'], r['group']), Number(r['limit_lb'])]),
    )
    const weights = new Map(
      readRows(clean, 'tickets').map((r) => [
        key(r['scale'], r['ticket'], r['unit'], r['group']),
        Number(r['weight_lb']),
      ]),
    )
    for (const points of some(
      Map.groupBy(readRows(clean, 'calibrations'), (r) => key(r['unit'], r['group'], r['calibrated_at'])).values(),
    )) {
      const limit = limits.get(key(points[0]?.['unit'], points[0]?.['group'])) as number
      const shares = points.map(
        (r) => (weights.get(key(r['scale'], r['ticket'], r['unit'], r['group'])) as number) / limit,
      )
      expect(points.length).toBeGreaterThanOrEqual(3)
      expect(points.length).toBeLessThanOrEqual(5)
      expect(Math.max(...shares) - Math.min(...shares)).toBeGreaterThan(0.5)
      expect(Math.max(...shares)).toBeGreaterThan(0.72)
    }
  })

  it('shows the noise it was given: leveling 0.35 psi, ticket 30 lb, a line of few points, and slow wander', () => {
    const residuals = residualsPsi(clean)
    expect(residuals.length).toBeGreaterThan(4_000)
    const young = deviation(residuals.filter(({ months }) => months < 3).map(({ psi }) => psi))
    // 0.35 of leveling, about 0.15 of ticket, scale and resolution, about 0.25 of the line itself.
    expect(young).toBeGreaterThan(0.38)
    expect(young).toBeLessThan(0.56)
  })

  it('wanders: without other noise the residuals grow as 0.05 psi per root month', () => {
    const quiet = folderOf('quiet')
    simulateFleet({
      folder: quiet,
      seed: 13,
      units: 240,
      months: 18,
      faults: {},
      absoluteShare: 0,
      noise: { levelingPsi: 0.001, scaleTolerancePercent: 0, divisionLb: 0.1, repeatabilityLb: 0, wanderPsi: 0.5 },
    })
    const residuals = residualsPsi(quiet)
    for (const [from, to] of [
      [1, 3],
      [4, 8],
      [8, 11],
    ] as const) {
      const within = residuals.filter(({ months }) => months >= from && months < to)
      const expected = 0.5 * Math.sqrt(within.reduce((sum, { months }) => sum + months, 0) / within.length)
      expect(Math.abs(deviation(within.map(({ psi }) => psi)) / expected - 1)).toBeLessThan(0.15)
    }
  })

  it("has no scale off by more than its tolerance and what its calibrations' scale is off", () => {
    for (const [, at] of some(Map.groupBy(residualsPsi(clean), ({ scale }) => scale))) {
      const sorted = at.map(({ relative }) => relative).toSorted((a, b) => a - b)
      expect(Math.abs(sorted[Math.floor(sorted.length / 2)] as number)).toBeLessThan(0.0035)
    }
  })
})

describe('a fleet with faults', () => {
  const of = (truth: FleetTruth, kind: string) => truth.planted.filter((fault) => fault.kind === kind)

  it('has every kind, and tells where and when', () => {
    for (const kind of faultKinds)
      expect(of(faultyTruth, kind).length).toBeGreaterThanOrEqual(kind === 'biased-scale' ? 1 : 6)
    const ofTickets = ['digits-transposed', 'groups-swapped', 'kpa-as-psi', 'sum-mismatch']
    for (const { kind, unit, group, scale, ticket } of some(faultyTruth.planted)) {
      const isWhere =
        kind === 'biased-scale'
          ? scale !== null
          : faultyTruth.groups.some((one) => one.unit === unit && one.group === group && !one.clean)
      expect({ kind, isWhere, hasTicket: ticket !== null || !ofTickets.includes(kind) }).toEqual({
        kind,
        isWhere: true,
        hasTicket: true,
      })
    }
  })

  it('leaves sums that do not add up only where it says so', () => {
    const off = [...Map.groupBy(readRows(faulty, 'tickets'), (r) => key(r['scale'], r['ticket']))].filter(
      ([, together]) =>
        together[0]?.['gross_lb'] !== '' &&
        together.reduce((sum, r) => sum + Number(r['weight_lb']), 0) !== Number(together[0]?.['gross_lb']),
    )
    const told = new Set(
      faultyTruth.planted
        .filter(({ kind }) => kind === 'sum-mismatch' || kind === 'digits-transposed')
        .map(({ scale, ticket }) => key(scale ?? '', ticket ?? '')),
    )
    expect(off.length).toBeGreaterThanOrEqual(6)
    for (const [ticket] of off) expect(told.has(ticket)).toBe(true)
  })

  it('types kilopascals as psi only where it says so', () => {
    const high = new Set(
      readRows(faulty, 'readings')
        .filter((r) => Number(r['psi']) > 130)
        .map((r) => key(r['unit'], r['scale'], r['ticket'])),
    )
    const told = new Set(
      of(faultyTruth, 'kpa-as-psi').map(({ unit, scale, ticket }) => key(unit ?? '', scale ?? '', ticket ?? '')),
    )
    expect([...high].every((one) => told.has(one))).toBe(true)
    expect(high.size).toBeGreaterThanOrEqual(3)
  })

  it('records the work that it calls recorded, and no other', () => {
    const events = readRows(faulty, 'events')
    expect(events.length).toBe(of(faultyTruth, 'work-recorded').length)
    for (const { unit } of some(of(faultyTruth, 'work-recorded')))
      expect(events.some((r) => r['unit'] === unit)).toBe(true)
  })

  it('begins every trouble of a line after the last calibration and at least three check weighings before the end', () => {
    for (const kind of ['sensor-offset', 'slope-change', 'sensor-drift', 'work-unrecorded']) {
      for (const { unit, startedAt } of some(of(faultyTruth, kind))) {
        const { checks, lastCalibratedDaysAgo } = faultyTruth.groups.find(
          (one) => one.unit === unit,
        ) as FleetTruth['groups'][number]
        const start = Date.parse(startedAt)
        expect(start).toBeGreaterThan(Date.parse(faultyTruth.lastDay) - (lastCalibratedDaysAgo - 1) * 86_400_000)
        expect(checks.filter((at) => at > start).length).toBeGreaterThanOrEqual(3)
      }
    }
  })
})
