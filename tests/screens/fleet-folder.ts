import { timeNow } from '#core/store/clock.ts'
import type { EventKind, LiftState, UnitKind } from '#core/words/vocabulary.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'
import { addSensor, addUnit, drive, folderRows, folderText, steer, tandem } from '#tests/fleet/folder.ts'

/** One invented unit: what a test needs to say about it. */
export interface PlannedUnit {
  readonly unit: string
  readonly kind?: UnitKind
  readonly yard?: string
  readonly make?: string
  /** Days before now; a group without one has no calibration. */
  readonly calibratedDaysAgo?: readonly number[]
  /** Where the lift axle stood at each calibration; without it there is none. */
  readonly lifts?: readonly LiftState[]
  readonly event?: { readonly kind: EventKind; readonly daysAgo: number }
  /** Added to the third weight of the newest calibration, lb. */
  readonly slipLb?: number
  /** Weighings with a reading that are no calibration points. */
  readonly checks?: readonly PlannedCheck[]
}

export interface PlannedCheck {
  readonly daysAgo: number
  readonly psi: number
  /** What the scale shows beyond the true line, lb. */
  readonly missLb?: number
  readonly scale?: string
}

const dayMs = 86_400_000
const pressuresPsi = [16, 34, 52, 66]
/** The true line of every invented group: lb at 0 psi, lb a psi. */
export const trueLine = { a: 4000, b: 450 }

const home = 'Millrace Yard'

/** Writes a fleet folder of invented units, each with one sensed group whose readings lie on the true line. */
export function writeFleetFolder(folder: string, plan: readonly PlannedUnit[], now = timeNow()): string {
  const rows = folderRows()
  const ago = (days: number, hours = 0) =>
    new Date(Math.floor((now - days * dayMs) / 60_000) * 60_000 + hours * 3_600_000).toISOString()
  for (const yard of new Set(plan.map(({ yard = 'Millrace' }) => yard))) rows.yards.push({ yard, elevation_ft: 600 })
  for (const scale of new Set([
    home,
    ...plan.flatMap(({ checks = [] }) => checks.flatMap((check) => check.scale ?? [])),
  ]))
    rows.scales.push({ scale, division_lb: 20, elevation_ft: 600, tolerance_percent: 0.2 })
  for (const [at, planned] of plan.entries()) {
    const { unit, kind = 'tractor', yard = 'Millrace', make = 'Brennock', event, slipLb = 0, checks = [] } = planned
    const { calibratedDaysAgo = [], lifts = [] } = planned
    const { group } = kind === 'trailer' ? tandem : drive
    const of = { unit, group }
    const serial = `S-${at + 1}`
    addUnit(
      rows,
      {
        unit,
        kind,
        make,
        model: 'R6',
        model_year: 2021,
        yard,
        gross_limit_lb: 80_000,
        ...(kind === 'tractor' && { fifth_wheel_ft: 17.5 }),
      },
      kind === 'trailer' ? [tandem] : [steer, drive],
    )
    addSensor(rows, { ...of, circuit: 'main' }, { serial }, ago(900))
    rows.batteryChanges.push({ serial, changed_at: ago(200), reason: 'scheduled', cell: 'CR2477' })
    /** A ticket of the group beside its reading; what it shows beyond the true line. */
    const weigh = (ticket: string, when: string, psi: number, beyondLb: number, scale: string, lift: LiftState) => {
      const weight_lb = Math.round((trueLine.a + trueLine.b * psi + beyondLb) / 20) * 20
      rows.tickets.push({ scale, ticket, weighed_at: when, ...of, weight_lb })
      rows.readings.push({
        reading: `R-${ticket}`,
        taken_at: when,
        ...of,
        circuit: 'main',
        psi,
        scale,
        ticket,
        elevation_ft: 600,
        temperature_f: 60,
        lift,
      })
    }
    for (const [which, days] of calibratedDaysAgo.entries())
      for (const [point, psi] of pressuresPsi.entries()) {
        const ticket = `${at + 1}-${which + 1}${point + 1}`
        const slip = which === calibratedDaysAgo.length - 1 && point === 2 ? slipLb : 0
        weigh(ticket, ago(days, point - 5), psi, slip, home, lifts[which] ?? 'none')
        rows.calibrations.push({
          ...of,
          calibrated_at: ago(days),
          by: 'M. Tarn',
          scale: home,
          ticket,
          reading: `R-${ticket}`,
        })
      }
    for (const [which, { daysAgo, psi, missLb = 0, scale = home }] of checks.entries())
      weigh(`${at + 1}-C${which + 1}`, ago(daysAgo), psi, missLb, scale, 'none')
    if (event)
      rows.events.push({ ...of, happened_at: ago(event.daysAgo), event: event.kind, note: 'Planned for a test' })
  }
  writeFiles(folder, folderText(rows))
  return folder
}

/** A small fleet with every trust state. */
export const smallFleet: readonly PlannedUnit[] = [
  { unit: 'T-101', calibratedDaysAgo: [470, 100] },
  { unit: 'T-102', yard: 'Fernside', calibratedDaysAgo: [352] },
  { unit: 'T-103', yard: 'Fernside', make: 'Talvane', calibratedDaysAgo: [420] },
  { unit: 'T-104', calibratedDaysAgo: [200], event: { kind: 'valve replaced', daysAgo: 20 } },
  { unit: 'T-105', yard: 'Fernside' },
  { unit: 'V-201', kind: 'trailer', make: 'Quillmarch', calibratedDaysAgo: [90], slipLb: 3000 },
  { unit: 'V-202', kind: 'trailer', make: 'Quillmarch', calibratedDaysAgo: [60] },
  { unit: 'V-1000', kind: 'trailer', make: 'Quillmarch', calibratedDaysAgo: [30] },
]

/** As many units as asked for, mixed in trust, kind and yard. */
export const largeFleet = (units: number): PlannedUnit[] =>
  Array.from({ length: units }, (_, i) => ({
    unit: `${i % 3 === 0 ? 'V' : 'T'}-${10_000 + i}`,
    kind: i % 3 === 0 ? 'trailer' : 'tractor',
    yard: ['Millrace', 'Fernside', 'Coldwater'][(i % 7) % 3] ?? 'Millrace',
    calibratedDaysAgo: i % 41 === 0 ? [] : [30 + ((i * 37) % 390)],
    ...(i % 53 === 0 ? { event: { kind: 'height set' as const, daysAgo: 5 } } : {}),
  }))
