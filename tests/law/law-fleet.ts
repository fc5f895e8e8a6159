import { createRouterClient } from '@orpc/server'
import { copyFileSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Context } from '#core/api/context.ts'
import { careForFile } from '#core/api/file-care.ts'
import { openFleet } from '#core/api/open-fleet.ts'
import { router } from '#core/api/router.ts'
import { importFolder } from '#core/exchange/import-folder.ts'
import { catchUp } from '#core/store/catch-up.ts'
import { timeNow } from '#core/store/clock.ts'
import { openStore } from '#core/store/open.ts'
import { laterBy, toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import type { Client } from '#tests/api/windows.ts'
import { addTagTruck } from '#tests/fleet/tag-truck.ts'
import { writeFiles } from '#tests/exchange/small-fleet.ts'
import {
  type FolderRows,
  addSensor,
  addUnit,
  drive,
  folderRows,
  folderText,
  steer,
  tandem,
} from '#tests/fleet/folder.ts'
import { placesIn } from '#tests/fleet/places.ts'

const day = (n: number): string => new Date(Date.UTC(2026, 0, 5 + n, 15)).toISOString()

/** Loads of a visit: share of the limit, and the drive's and tandem's pressures at them. */
const visits = [0.35, 0.62, 0.97].map((share, i) => ({
  share,
  driveLb: 9800 + share * 24_000,
  tandemLb: 7400 + share * 26_000,
  drivePsi: 12 + share * 58,
  tandemPsi: 10 + share * 60,
  ticket: `80${i}`,
}))

const combos = [
  ['A-1', 'C-1'],
  ['A-2', 'C-2'],
] as const

function addEvidence({ tickets, readings, calibrations }: FolderRows): void {
  for (const [pair, [tractor, trailer]] of combos.entries()) {
    for (const { driveLb: d, tandemLb: t, drivePsi, tandemPsi, ticket, share } of visits) {
      const number = `${ticket}${pair}`
      const at = day(10 + share * 3)
      const [steerLb, driveLb, tandemLb] = [11_000 + 600 * share, d + 140 * pair, t - 90 * pair].map(
        (lb) => Math.round(lb / 20) * 20,
      ) as [number, number, number]
      const on = { scale: 'North Platform', ticket: number }
      const gross_lb = steerLb + driveLb + tandemLb
      for (const [unit, group, weight_lb] of [
        [tractor, 'steer', steerLb],
        [tractor, 'drive', driveLb],
        [trailer, 'tandem', tandemLb],
      ] as const)
        tickets.push({ ...on, weighed_at: at, unit, group, weight_lb, gross_lb })
      for (const [unit, group, circuit, psi] of [
        [tractor, 'drive', 'main', drivePsi],
        [trailer, 'tandem', 'left', tandemPsi],
        [trailer, 'tandem', 'right', tandemPsi + 0.4],
      ] as const)
        readings.push({
          ...on,
          reading: `V${number}`,
          taken_at: at,
          unit,
          group,
          circuit,
          psi: psi.toFixed(1),
          temperature_f: 41,
          lift: 'none',
        })
      for (const [unit, group] of [
        [tractor, 'drive'],
        [trailer, 'tandem'],
      ] as const)
        calibrations.push({ ...on, unit, group, calibrated_at: day(14), by: 'Q. Tarn', reading: `V${number}` })
    }
  }
}

/**
 * Two tractors, two trailers with a left and a right circuit, a truck with a lift axle, one with a tag, two scales, two
 * yards.
 */
function lawFolder(): Record<string, string> {
  const rows = folderRows()
  rows.yards.push({ yard: 'Low Yard', elevation_ft: 640 }, { yard: 'High Yard', elevation_ft: 5900 })
  const tractor = [steer, drive]
  addUnit(rows, { unit: 'A-1', kind: 'tractor', yard: 'Low Yard', gross_limit_lb: 80_000, fifth_wheel_ft: 17 }, tractor)
  addUnit(rows, { unit: 'A-2', kind: 'tractor', yard: 'High Yard' }, tractor)
  addUnit(rows, { unit: 'B-9', kind: 'truck', yard: 'Low Yard', gross_limit_lb: 56_000 }, [
    { ...steer, limit_lb: 14_000, measured_by: 'ticket' },
    { group: 'pusher', role: 'lift', axles: 1, first_axle_ft: 14, limit_lb: 13_000, measured_by: 'ticket' },
    { ...drive, group: 'rear', first_axle_ft: 20 },
  ])
  addUnit(rows, { unit: 'C-1', kind: 'trailer', yard: 'Low Yard' }, [tandem], ['left', 'right'])
  addUnit(rows, { unit: 'C-2', kind: 'trailer', yard: 'High Yard' }, [tandem], ['left', 'right'])
  for (const [serial, unit, group, circuit] of [
    ['K-11', 'A-1', 'drive', 'main'],
    ['K-12', 'A-2', 'drive', 'main'],
    ['K-21', 'C-1', 'tandem', 'left'],
    ['K-22', 'C-1', 'tandem', 'right'],
    ['K-23', 'C-2', 'tandem', 'left'],
  ] as const)
    addSensor(rows, { unit, group, circuit }, { serial }, day(0))
  addSensor(rows, { unit: 'C-2', group: 'tandem', circuit: 'right' }, { serial: 'K-24', reference: 'absolute' }, day(0))
  const small = { serial: 'K-31', cell: 'CR2450', report_every_s: 60 }
  addSensor(rows, { unit: 'B-9', group: 'rear', circuit: 'main' }, small, day(0))
  for (const [serial, cell] of [
    ['K-11', 'CR2477'],
    ['K-31', 'CR2450'],
  ] as const)
    rows.batteryChanges.push({ serial, changed_at: day(0), reason: 'new', cell })
  rows.scales.push(
    { scale: 'North Platform', division_lb: 20, elevation_ft: 700, tolerance_percent: 0.2 },
    { scale: 'South Platform', division_lb: 20, tolerance_percent: 0.2 },
  )
  addEvidence(rows)
  addTagTruck(rows, 'D-4', 'North Platform', (load) => day(11 + load))
  rows.events.push({ unit: 'A-2', happened_at: day(3), event: 'body work' })
  return folderText(rows)
}

/** The day that every sequence begins on: a step may have the clock's day turn. */
const firstDay = process.env['TARELINE_CLOCK']

const setClock = (at: string | undefined): void => {
  if (at === undefined) delete process.env['TARELINE_CLOCK']
  else process.env['TARELINE_CLOCK'] = at
}

/** Has the program's clock go on by so many days, or back. */
export const turnClock = (days: number): void =>
  setClock(toStoredInstant(laterBy(timeNow() - Math.floor(process.uptime() * 1000), days)))

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
  setClock(firstDay)
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
    care: careForFile({ report, placesFile: join(folder, 'second-places.json') }),
    demo: { file: join(folder, 'demo.tareline'), from: '', prepare: nowhere },
    places: placesIn(folder),
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
