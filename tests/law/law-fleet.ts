import { createRouterClient } from '@orpc/server'
import { copyFileSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { keepDayCopies } from '#core/api/day-copies.ts'
import { openFleet } from '#core/api/open-fleet.ts'
import { router } from '#core/api/router.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { openStore } from '#core/store/open.ts'
import { TarelineError } from '#core/words/problem.ts'
import type { Client } from '#tests/api/windows.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'

const table = (...lines: readonly string[]) => `${lines.join('\n')}\n`

const day = (n: number): string => new Date(Date.UTC(2026, 0, 5 + n, 15)).toISOString()

/** Loads of a visit: share of the limit, and the drive's and tandem's pressures at them. */
const visits = [0.35, 0.62, 0.97].map((share, i) => ({
  share,
  drive: 9800 + share * 24_000,
  tandem: 7400 + share * 26_000,
  drivePsi: 12 + share * 58,
  tandemPsi: 10 + share * 60,
  ticket: `80${i}`,
}))

const combos = [
  ['A-1', 'C-1'],
  ['A-2', 'C-2'],
] as const

function evidence() {
  const tickets: string[] = []
  const readings: string[] = []
  const calibrations: string[] = []
  for (const [pair, [tractor, trailer]] of combos.entries()) {
    for (const { drive, tandem, drivePsi, tandemPsi, ticket, share } of visits) {
      const number = `${ticket}${pair}`
      const at = day(10 + share * 3)
      const [steer, d, t] = [11_000 + 600 * share, drive + 140 * pair, tandem - 90 * pair].map(
        (lb) => Math.round(lb / 20) * 20,
      )
      const gross = (steer ?? 0) + (d ?? 0) + (t ?? 0)
      for (const [unit, group, lb] of [
        [tractor, 'steer', steer],
        [tractor, 'drive', d],
        [trailer, 'tandem', t],
      ])
        tickets.push(`North Platform,${number},${at},${unit},${group},${lb},${gross}`)
      const row = (unit: string, group: string, circuit: string, psi: number) =>
        readings.push(
          `V${number},${at},${unit},${group},${circuit},${psi.toFixed(1)},North Platform,${number},,41,none`,
        )
      row(tractor, 'drive', 'main', drivePsi)
      row(trailer, 'tandem', 'left', tandemPsi)
      row(trailer, 'tandem', 'right', tandemPsi + 0.4)
      for (const [unit, group] of [
        [tractor, 'drive'],
        [trailer, 'tandem'],
      ])
        calibrations.push(`${unit},${group},${day(14)},Q. Tarn,North Platform,${number},V${number}`)
    }
  }
  return { tickets, readings, calibrations }
}

/** Two tractors, two trailers with a left and a right circuit, a truck with a lift axle, two scales, two yards. */
function lawFolder(): Record<string, string> {
  const { tickets, readings, calibrations } = evidence()
  return {
    'yards.csv': table('yard,elevation_ft', 'Low Yard,640', 'High Yard,5900'),
    'units.csv': table(
      'unit,kind,yard,gross_limit_lb,fifth_wheel_ft',
      'A-1,tractor,Low Yard,80000,17',
      'A-2,tractor,High Yard,,',
      'B-9,truck,Low Yard,56000,',
      'C-1,trailer,Low Yard,,',
      'C-2,trailer,High Yard,,',
    ),
    'axle_groups.csv': table(
      'unit,group,role,axles,first_axle_ft,axle_spacing_ft,limit_lb,measured_by',
      ...['A-1', 'A-2'].flatMap((unit) => [
        `${unit},steer,steer,1,0,,12000,estimate`,
        `${unit},drive,drive,2,17,4.3,34000,circuit`,
      ]),
      ...['C-1', 'C-2'].map((unit) => `${unit},tandem,trailer,2,36,4.1,34000,circuit`),
      'B-9,steer,steer,1,0,,14000,ticket',
      'B-9,pusher,lift,1,14,,13000,ticket',
      'B-9,rear,drive,2,20,4.4,34000,circuit',
    ),
    'circuits.csv': table(
      'unit,group,circuit,air_springs,spring_area_in2,ride_height_in',
      ...['A-1', 'A-2'].map((unit) => `${unit},drive,main,4,79,8`),
      ...['C-1', 'C-2'].flatMap((unit) => [`${unit},tandem,left,2,80,`, `${unit},tandem,right,2,80,`]),
      'B-9,rear,main,4,79,',
    ),
    'sensors.csv': table(
      'serial,reference,range_psi,resolution_psi,accuracy_psi,cell,report_every_s',
      ...['11', '12', '21', '22', '23', '24'].map(
        (n) => `K-${n},${n === '24' ? 'absolute' : 'gauge'},150,0.1,1,CR2477,300`,
      ),
      'K-31,gauge,150,0.1,1,CR2450,60',
    ),
    'mounts.csv': table(
      'serial,unit,group,circuit,mounted_at,removed_at',
      `K-11,A-1,drive,main,${day(0)},`,
      `K-12,A-2,drive,main,${day(0)},`,
      `K-21,C-1,tandem,left,${day(0)},`,
      `K-22,C-1,tandem,right,${day(0)},`,
      `K-23,C-2,tandem,left,${day(0)},`,
      `K-24,C-2,tandem,right,${day(0)},`,
      `K-31,B-9,rear,main,${day(0)},`,
    ),
    'battery_changes.csv': table(
      'serial,changed_at,reason,cell',
      `K-11,${day(0)},new,CR2477`,
      `K-31,${day(0)},new,CR2450`,
    ),
    'scales.csv': table(
      'scale,division_lb,elevation_ft,tolerance_percent',
      'North Platform,20,700,0.2',
      'South Platform,20,,0.2',
    ),
    'tickets.csv': table('scale,ticket,weighed_at,unit,group,weight_lb,gross_lb', ...tickets),
    'readings.csv': table(
      'reading,taken_at,unit,group,circuit,psi,scale,ticket,elevation_ft,temperature_f,lift',
      ...readings,
    ),
    'calibrations.csv': table('unit,group,calibrated_at,by,scale,ticket,reading', ...calibrations),
    'events.csv': table('unit,group,circuit,happened_at,event,note', `A-2,,,${day(3)},body work,`),
  }
}

const home = mkdtempSync(join(tmpdir(), 'tareline-law-'))
const pattern = join(home, 'pattern.tareline')

/** Makes the file that every sequence starts from a copy of: imported, judged and weighed. */
export async function makePattern(): Promise<void> {
  const folder = join(home, 'pattern')
  writeFiles(folder, lawFolder())
  const store = await openStore(pattern)
  const { outcome } = await importFolder(store, folder)
  if (outcome !== 'stored') throw new Error('the fleet of the law was refused')
  await catchUp(store, timeNow())
  await store.close()
}

export const removePattern = (): void => rmSync(home, { recursive: true, force: true })

export interface LawApp {
  readonly client: Client
  readonly context: Context
  readonly folder: string
  readonly reported: readonly unknown[]
  close(): Promise<void>
}

let count = 0

/** The program's procedures on a copy of the pattern, without a transport. */
export async function openLawApp(): Promise<LawApp> {
  count += 1
  const folder = join(home, `run-${count}`)
  mkdirSync(folder)
  const file = join(folder, 'fleet.tareline')
  copyFileSync(pattern, file)
  const reported: unknown[] = []
  const report = (error: unknown) => {
    reported.push(error)
  }
  const fleet = await openFleet(file, { report })
  const nowhere = () => {
    throw new TarelineError('not-here', 'There is nothing of the kind here.')
  }
  const context: Context = {
    version: '0.0.0',
    fleet,
    report,
    dayCopies: keepDayCopies(report),
    demo: { file: join(folder, 'demo.tareline'), prepare: nowhere },
    inboxes: { folderOf: nowhere, remove: nowhere },
    log: { folder, write: () => {}, fault: report, read: () => [] },
  }
  return {
    client: createRouterClient(router, { context }) as unknown as Client,
    context,
    folder,
    reported,
    close: async () => {
      await fleet.close()
      rmSync(folder, { recursive: true, force: true })
    },
  }
}
