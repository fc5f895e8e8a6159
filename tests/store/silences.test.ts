import { describe, expect, it } from 'vitest'
import { judgeFleet } from '#core/findings/assess-fleet.ts'
import { catchUp, catchUpTouched } from '#core/store/catch-up.ts'
import { readFleetCells, readSensorRecords, readUnitCells } from '#core/store/cells.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { readFigures } from '#core/store/books.ts'
import { openRecord } from '#core/store/histories.ts'
import type { Store } from '#core/store/open.ts'
import { heardUntil, readSilences } from '#core/store/silences.ts'
import { defaultHouseRules } from '#core/words/house-rules.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { addRow } from '#tests/fleet/rows.ts'
import { some } from '#tests/some.ts'
import { noteChange } from '#tests/store/note-change.ts'
import { withStore } from '#tests/store/temporary-store.ts'

const dayMs = 86_400_000
const asOf = judgedAt(Date.UTC(2026, 4, 4, 12), 'UTC')
const rules = defaultHouseRules
const ago = (days: number) => asOf - days * dayMs
const stored = (at: number) => toStoredInstant(at)
/** How long ago each sensor of the fleet was read last, in days; the units' ids count from 1 in this order. */
const lastRead = [42, 1, 2, 0.5, 1] as const

/** A calibrated group a unit, its sensor read every other day until so many days ago. */
function fill(store: Store, quietDays: readonly number[] = lastRead): void {
  const scaleId = addRow(store, 'scale', { name: 'Pit scale', division_lb: 20 })
  for (const [i, quiet] of quietDays.entries()) {
    const unitId = addRow(store, 'unit', { number: `U-${i}` })
    const groupId = addRow(store, 'axle_group', { unit_id: unitId })
    const circuitId = addRow(store, 'circuit', { group_id: groupId })
    const sensorId = addRow(store, 'sensor', { serial: `S-${i}`, cell: 'CR2450', report_every_s: 900 })
    addRow(store, 'mount', { sensor_id: sensorId, circuit_id: circuitId, mounted_at: stored(ago(200)) })
    addRow(store, 'battery_change', { sensor_id: sensorId, changed_at: stored(ago(200)), reason: 'new' })
    const read = (days: number, psi: number, ticketId: number | null = null) => {
      const readingId = addRow(store, 'reading', {
        name: `R-${i}-${days}`,
        taken_at: stored(ago(days)),
        ticket_id: ticketId,
      })
      addRow(store, 'reading_pressure', { reading_id: readingId, circuit_id: circuitId, psi })
      return readingId
    }
    const calibrationId = addRow(store, 'calibration', { group_id: groupId, calibrated_at: stored(ago(190)) })
    for (const [point, psi] of [20, 40, 60].entries()) {
      const ticketId = addRow(store, 'ticket', {
        scale_id: scaleId,
        number: `N-${i}-${point}`,
        weighed_at: stored(ago(191 - point / 10)),
      })
      addRow(store, 'ticket_weight', {
        ticket_id: ticketId,
        unit_id: unitId,
        group_id: groupId,
        weight_lb: 4000 + 500 * psi,
      })
      addRow(store, 'calibration_point', {
        calibration_id: calibrationId,
        ticket_id: ticketId,
        reading_id: read(191 - point / 10, psi, ticketId),
      })
    }
    for (let days = 180; days > quiet; days -= 2) read(days, 50)
    read(quiet, 50)
  }
}

const findings = async ({ db }: Store) =>
  (await db.selectFrom('finding').select(['unit_id', 'code', 'variant']).where('code', 'in', silenceCodes).execute())
    .map(({ unit_id, code, variant }) => `${unit_id} ${code} ${variant}`)
    .toSorted()
const silenceCodes = ['sensor-silent', 'battery-overdue'] as const

describe('a sensor that fell silent', () => {
  it('has a dead cell since then, which the fleet learns from; the others live', () =>
    withStore((store) => {
      fill(store)
      const { lives, mounted, model } = readFleetCells(store, rules, asOf)
      expect(lives.map(({ serial, endedBy, days }) => [serial, endedBy, Math.round(days)])).toEqual([
        ['S-0', 'silent', 158],
        ...['S-1', 'S-2', 'S-3', 'S-4'].map((serial) => [serial, 'in service', 200]),
      ])
      expect(mounted[0]?.outlook).toMatchObject({ state: 'dead', deadSince: ago(42), swapByAt: asOf })
      expect(mounted.slice(1).map(({ outlook }) => outlook.deadSince)).toEqual([null, null, null, null])
      expect(model.strata[0]).toMatchObject({ deaths: 1 })
    }))

  it('has died by then where a swap says dead, however long the shop took to get to it', () =>
    withStore((store) => {
      fill(store)
      addRow(store, 'battery_change', { sensor_id: 1, changed_at: stored(ago(3)), reason: 'dead' })
      addRow(store, 'battery_change', { sensor_id: 2, changed_at: stored(ago(0.5)), reason: 'dead' })
      const livesOf = (serial: string) =>
        readFleetCells(store, rules, asOf)
          .lives.filter((life) => life.serial === serial)
          .map(({ endedBy, days }) => [endedBy, Math.round(days * 2) / 2])
      expect(livesOf('S-0')).toEqual([
        ['dead', 158],
        ['in service', 3],
      ])
      // Heard of until it was swapped: it died then.
      expect(livesOf('S-1')).toEqual([
        ['dead', 199.5],
        ['in service', 0.5],
      ])
    }))

  it('is told once the whole fleet, or its unit alone, is judged, and no more once it is read again', () =>
    withStore(async (store) => {
      fill(store)
      await catchUp(store, asOf)
      expect(await findings(store)).toEqual(['1 battery-overdue silent', '1 sensor-silent readings'])
      await noteChange(store, [1])
      await catchUpTouched(store, asOf)
      expect(await findings(store)).toEqual(['1 battery-overdue silent', '1 sensor-silent readings'])
      const readingId = addRow(store, 'reading', { name: 'again', taken_at: stored(ago(0.2)) })
      addRow(store, 'reading_pressure', { reading_id: readingId, circuit_id: 1, psi: 50 })
      await noteChange(store, [1])
      await catchUpTouched(store, asOf)
      expect(await findings(store)).toEqual([])
    }))

  it('is silent by the one rule that findings go by, whether all or one unit is asked about', () =>
    withStore(async (store) => {
      fill(store)
      await catchUp(store, asOf)
      const reach = heardUntil(store, asOf)
      const bySilence = readSilences(store, asOf, reach)
      const groups = Array.from(
        judgeFleet(openRecord(store, { untilMs: asOf }), rules, asOf, { heardUntil: reach }).groups,
      )
      const byFinding = some(groups).flatMap(({ history, findings: found }) =>
        found.flatMap(({ code, since }) => (code === 'sensor-silent' ? [[history.circuits[0]?.circuitId, since]] : [])),
      )
      expect([...bySilence]).toEqual(byFinding)
      expect(byFinding).toHaveLength(1)
      for (const unitId of [1, 2]) {
        const own = readSilences(store, asOf, reach, [unitId])
        expect(own.get(unitId)).toBe(bySilence.get(unitId))
        const figures = (await readFigures(store.db))?.figures
        expect(figures && readUnitCells(store, [unitId], figures, rules, asOf)?.[0]?.outlook.deadSince).toBe(
          bySilence.get(unitId) ?? null,
        )
      }
    }))

  it('is not one of a record that nobody has brought up to date, nor of a retired unit', () =>
    withStore((store) => {
      fill(store, [42, 41, 43, 40.5, 1])
      expect(heardUntil(store, asOf)).toBe(ago(41))
      expect([...readSilences(store, asOf, heardUntil(store, asOf))]).toEqual([])
      expect(readSilences(store, asOf, asOf).size).toBe(4)
      store.raw.exec("update unit set service_state = 'retired' where id = 1")
      const silent = readSensorRecords(store, asOf, asOf).filter(({ silentSince }) => silentSince !== null)
      expect(silent.map(({ serial }) => serial)).toEqual(['S-1', 'S-2', 'S-3'])
    }))

  it('was none before its time came', () =>
    withStore((store) => {
      fill(store)
      const then = ago(36)
      expect([...readSilences(store, then, heardUntil(store, then))]).toEqual([])
      const later = ago(30)
      expect([...readSilences(store, later, heardUntil(store, later))]).toEqual([[1, ago(42)]])
    }))
})
