import { csvRow } from '#core/exchange/csv-records.ts'
import { folderFiles } from '#core/exchange/folder-files.ts'

type Files = typeof folderFiles
type FolderRow<F extends keyof Files> = Readonly<Partial<Record<keyof Files[F]['columns'], string | number>>>

/** Rows of the files of a fleet folder; a column that a row does not say is empty. */
export type FolderRows = { [F in keyof Files]: FolderRow<F>[] }

const names = Object.keys(folderFiles) as (keyof Files)[]

/** A fleet folder without a row yet, to push rows into. */
export const folderRows = (): FolderRows => Object.fromEntries(names.map((name) => [name, []])) as unknown as FolderRows

/** The text of each file, by its name, with all of its columns in their order. */
export const folderText = (rows: FolderRows): Record<string, string> =>
  Object.fromEntries(
    names.map((name) => {
      const { file, columns } = folderFiles[name]
      const header = Object.keys(columns)
      const lines = (rows[name] as Readonly<Record<string, string | number>>[]).map((row) =>
        csvRow(header.map((column) => String(row[column] ?? ''))),
      )
      return [file, csvRow(header) + lines.join('')]
    }),
  )

/** The axle groups that most units of the tests have. */
export const steer = {
  group: 'steer',
  role: 'steer',
  axles: 1,
  first_axle_ft: 0,
  limit_lb: 12_000,
  measured_by: 'estimate',
}
export const drive = {
  group: 'drive',
  role: 'drive',
  axles: 2,
  first_axle_ft: 17,
  axle_spacing_ft: 4.3,
  limit_lb: 34_000,
  measured_by: 'circuit',
}
export const tandem = { ...drive, group: 'tandem', role: 'trailer', first_axle_ft: 36 }
export const onDrive = { group: 'drive', circuit: 'main' }

type Group = Omit<FolderRow<'axleGroups'>, 'unit'> & { readonly group: string }

/**
 * Adds a unit with its axle groups; each that a circuit measures gets its circuits, one called main unless they are
 * named.
 */
export function addUnit(
  rows: FolderRows,
  unit: FolderRow<'units'> & { readonly unit: string },
  groups: readonly Group[],
  circuits: readonly string[] = ['main'],
): void {
  rows.units.push(unit)
  for (const group of groups) {
    rows.axleGroups.push({ unit: unit.unit, ...group })
    if (group.measured_by !== 'circuit') continue
    for (const circuit of circuits)
      rows.circuits.push({
        unit: unit.unit,
        group: group.group,
        circuit,
        air_springs: 4 / circuits.length,
        spring_area_in2: 80,
        ride_height_in: 8.5,
      })
  }
}

type Sensor = FolderRow<'sensors'> & { readonly serial: string }

/**
 * Adds a sensor that was mounted on a circuit at a time: a gauge of 0.1 psi on a large cell, unless it is said
 * otherwise.
 */
export function addSensor(
  rows: FolderRows,
  on: Omit<FolderRow<'mounts'>, 'serial' | 'mounted_at'>,
  sensor: Sensor,
  mountedAt: string,
): void {
  rows.sensors.push({
    reference: 'gauge',
    range_psi: 150,
    resolution_psi: 0.1,
    accuracy_psi: 1,
    cell: 'CR2477',
    report_every_s: 300,
    ...sensor,
  })
  rows.mounts.push({ serial: sensor.serial, ...on, mounted_at: mountedAt })
}
