import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { timeNow } from '#core/store/clock.ts'
import type { EventKind, LiftState, UnitKind } from '#core/words/vocabulary.ts'

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

const header: Record<string, string> = {
  yards: 'yard,elevation_ft',
  units: 'unit,kind,make,model,model_year,yard,gross_limit_lb,fifth_wheel_ft',
  axle_groups: 'unit,group,role,axles,first_axle_ft,axle_spacing_ft,limit_lb,measured_by',
  circuits: 'unit,group,circuit,air_springs,spring_area_in2,ride_height_in',
  sensors: 'serial,reference,range_psi,resolution_psi,accuracy_psi,cell,report_every_s',
  mounts: 'serial,unit,group,circuit,mounted_at,removed_at',
  battery_changes: 'serial,changed_at,reason,cell',
  scales: 'scale,division_lb,elevation_ft,tolerance_percent',
  tickets: 'scale,ticket,weighed_at,unit,group,weight_lb,gross_lb',
  readings: 'reading,taken_at,unit,group,circuit,psi,scale,ticket,elevation_ft,temperature_f,lift',
  calibrations: 'unit,group,calibrated_at,by,scale,ticket,reading',
  events: 'unit,group,circuit,happened_at,event,note',
}

/** Writes a fleet folder of invented units, each with one sensed group whose readings lie on the true line. */
export function writeFleetFolder(folder: string, plan: readonly PlannedUnit[], now = timeNow()): string {
  const rows: Record<string, string[]> = Object.fromEntries(
    Object.entries(header).map(([file, names]) => [file, [names]]),
  )
  const add = (file: string, ...values: (string | number)[]) => rows[file]?.push(values.join(','))
  const ago = (days: number, hours = 0) =>
    new Date(Math.floor((now - days * dayMs) / 60_000) * 60_000 + hours * 3_600_000).toISOString()
  for (const yard of new Set(plan.map(({ yard = 'Millrace' }) => yard))) add('yards', yard, 600)
  for (const scale of new Set([
    'Millrace Yard',
    ...plan.flatMap(({ checks = [] }) => checks.flatMap((check) => check.scale ?? [])),
  ]))
    add('scales', scale, 20, 600, 0.2)
  plan.forEach(
    (
      {
        unit,
        kind = 'tractor',
        yard = 'Millrace',
        make = 'Brennock',
        calibratedDaysAgo = [],
        lifts = [],
        event,
        slipLb = 0,
        checks = [],
      },
      at,
    ) => {
      const group = kind === 'trailer' ? 'tandem' : 'drive'
      const serial = `S-${at + 1}`
      add('units', unit, kind, make, 'R6', 2021, yard, 80000, kind === 'tractor' ? 17.5 : '')
      if (kind !== 'trailer') add('axle_groups', unit, 'steer', 'steer', 1, 0, '', 12000, 'estimate')
      add(
        'axle_groups',
        unit,
        group,
        kind === 'trailer' ? 'trailer' : 'drive',
        2,
        kind === 'trailer' ? 36 : 17,
        4.3,
        34000,
        'circuit',
      )
      add('circuits', unit, group, 'main', 4, 81, 8.5)
      add('sensors', serial, 'gauge', 150, 0.1, 1, 'CR2477', 300)
      add('mounts', serial, unit, group, 'main', ago(900), '')
      add('battery_changes', serial, ago(200), 'scheduled', 'CR2477')
      calibratedDaysAgo.forEach((days, which) => {
        pressuresPsi.forEach((psi, point) => {
          const ticket = `${at + 1}-${which + 1}${point + 1}`
          const slip = which === calibratedDaysAgo.length - 1 && point === 2 ? slipLb : 0
          const weight = Math.round((trueLine.a + trueLine.b * psi + slip) / 20) * 20
          add('tickets', 'Millrace Yard', ticket, ago(days, point - 5), unit, group, weight, '')
          add(
            'readings',
            `R-${ticket}`,
            ago(days, point - 5),
            unit,
            group,
            'main',
            psi,
            'Millrace Yard',
            ticket,
            600,
            60,
            lifts[which] ?? 'none',
          )
          add('calibrations', unit, group, ago(days), 'M. Tarn', 'Millrace Yard', ticket, `R-${ticket}`)
        })
      })
      checks.forEach(({ daysAgo, psi, missLb = 0, scale = 'Millrace Yard' }, which) => {
        const ticket = `${at + 1}-C${which + 1}`
        add(
          'tickets',
          scale,
          ticket,
          ago(daysAgo),
          unit,
          group,
          Math.round((trueLine.a + trueLine.b * psi + missLb) / 20) * 20,
          '',
        )
        add('readings', `R-${ticket}`, ago(daysAgo), unit, group, 'main', psi, scale, ticket, 600, 60, 'none')
      })
      if (event) add('events', unit, group, '', ago(event.daysAgo), event.kind, 'Planned for a test')
    },
  )
  mkdirSync(folder, { recursive: true })
  for (const [file, lines] of Object.entries(rows))
    writeFileSync(join(folder, `${file}.csv`), `${lines.join('\r\n')}\r\n`)
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
