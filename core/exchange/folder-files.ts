import { phrase } from '#core/words/phrase.ts'
import {
  type Cell,
  type CellType,
  type Column,
  always,
  holidays,
  instant,
  late,
  line,
  name,
  once,
  optional,
  prose,
  quantity,
  weekdays,
  wholeNumber,
  word,
} from '#core/exchange/column.ts'
import { attachmentsFolderName, isAttachmentFile } from '#core/words/attachment-file.ts'
import {
  batteryReasons,
  eventKinds,
  groupRoles,
  liftStates,
  measures,
  pressureReferences,
  ranges,
  unitKinds,
} from '#core/words/vocabulary.ts'

export type Columns = Readonly<Record<string, Column>>

/** A row after its cells were read: null is unknown. */
export type RowOf<C extends Columns> = {
  [K in keyof C]: C[K] extends Column<infer T, infer N> ? ('always' extends N ? T : T | null) : never
}

/**
 * The twelve files of a fleet folder with their columns in the order in which they are written; the one description
 * that import and export share. The order of the files is that of import: what a file refers to comes before it.
 */
export const folderFiles = {
  yards: {
    file: 'yards.csv',
    columns: {
      yard: always(name),
      elevation_ft: optional(quantity(ranges.elevationFt)),
      working_days: late(weekdays),
      holidays: late(holidays),
      jobs_per_day: late(wholeNumber(ranges.jobsPerDay)),
    },
  },
  units: {
    file: 'units.csv',
    columns: {
      unit: always(name),
      kind: once(word(unitKinds)),
      vin: optional(line),
      plate: optional(line),
      plate_region: optional(line),
      make: optional(line),
      model: optional(line),
      model_year: optional(wholeNumber(ranges.modelYear)),
      yard: optional(name),
      gross_limit_lb: optional(quantity(ranges.grossLimitLb)),
      fifth_wheel_ft: optional(quantity(ranges.fifthWheelFt)),
    },
  },
  axleGroups: {
    file: 'axle_groups.csv',
    columns: {
      unit: always(name),
      group: always(name),
      role: once(word(groupRoles)),
      axles: once(wholeNumber(ranges.axles)),
      first_axle_ft: optional(quantity(ranges.firstAxleFt)),
      axle_spacing_ft: optional(quantity(ranges.axleSpacingFt)),
      limit_lb: optional(quantity(ranges.groupLimitLb)),
      measured_by: optional(word(measures)),
    },
  },
  circuits: {
    file: 'circuits.csv',
    columns: {
      unit: always(name),
      group: always(name),
      circuit: always(name),
      air_springs: optional(wholeNumber(ranges.airSprings)),
      spring_area_in2: optional(quantity(ranges.springAreaIn2)),
      ride_height_in: optional(quantity(ranges.rideHeightIn)),
    },
  },
  sensors: {
    file: 'sensors.csv',
    columns: {
      serial: always(name),
      reference: once(word(pressureReferences)),
      range_psi: optional(quantity(ranges.rangePsi)),
      resolution_psi: optional(quantity(ranges.resolutionPsi)),
      accuracy_psi: optional(quantity(ranges.accuracyPsi)),
      cell: optional(line),
      report_every_s: optional(quantity(ranges.reportEveryS)),
    },
  },
  mounts: {
    file: 'mounts.csv',
    columns: {
      serial: always(name),
      unit: always(name),
      group: always(name),
      circuit: always(name),
      mounted_at: always(instant),
      removed_at: optional(instant),
    },
  },
  batteryChanges: {
    file: 'battery_changes.csv',
    columns: {
      serial: always(name),
      changed_at: always(instant),
      reason: optional(word(batteryReasons)),
      cell: optional(line),
    },
  },
  scales: {
    file: 'scales.csv',
    columns: {
      scale: always(name),
      division_lb: optional(quantity(ranges.divisionLb)),
      elevation_ft: optional(quantity(ranges.elevationFt)),
      tolerance_percent: optional(quantity(ranges.tolerancePercent)),
    },
  },
  tickets: {
    file: 'tickets.csv',
    columns: {
      scale: always(name),
      ticket: always(name),
      weighed_at: once(instant),
      unit: always(name),
      group: optional(name),
      weight_lb: optional(quantity(ranges.weightLb)),
      gross_lb: optional(quantity(ranges.grossLb)),
      driver: late(line),
      lane: late(line),
    },
  },
  readings: {
    file: 'readings.csv',
    columns: {
      reading: always(line),
      taken_at: once(instant),
      unit: always(name),
      // All three empty: the unit stood in the combination without a pressure of its own.
      group: once(name),
      circuit: once(name),
      psi: once(quantity(ranges.psi)),
      scale: optional(name),
      ticket: optional(name),
      elevation_ft: optional(quantity(ranges.elevationFt)),
      temperature_f: optional(quantity(ranges.temperatureF)),
      lift: optional(word(liftStates)),
      driver: late(line),
      lane: late(line),
    },
  },
  calibrations: {
    file: 'calibrations.csv',
    columns: {
      unit: always(name),
      group: always(name),
      calibrated_at: always(instant),
      by: optional(line),
      scale: always(name),
      ticket: always(name),
      reading: always(line),
    },
  },
  events: {
    file: 'events.csv',
    columns: {
      unit: always(name),
      group: optional(name),
      circuit: optional(name),
      happened_at: always(instant),
      event: always(word(eventKinds)),
      note: optional(prose),
    },
  },
} as const satisfies Record<string, { readonly file: string; readonly columns: Columns }>

/** A file of that folder by its path within the fleet folder: never a way out of it. */
const attachmentPath: CellType<string> = {
  get accepted() {
    return phrase('a path such as {folder}/ticket 7.jpg, with the ending .jpg, .png or .pdf', {
      folder: attachmentsFolderName,
    })
  },
  parse: (text) =>
    text.startsWith(`${attachmentsFolderName}/`) && isAttachmentFile(text.slice(attachmentsFolderName.length + 1))
      ? text
      : undefined,
  write: String,
}

const sha256: CellType<string> = {
  get accepted() {
    return phrase('a SHA-256 in 64 hexadecimal digits')
  },
  parse: (text) => (/^[0-9a-f]{64}$/i.test(text) ? text.toLowerCase() : undefined),
  write: String,
}

/**
 * A thirteenth file that a folder has only where tickets have attachments: it comes last, and so after the tickets that
 * it names.
 */
export const allFolderFiles = {
  ...folderFiles,
  attachments: {
    file: 'attachments.csv',
    columns: {
      scale: always(name),
      ticket: always(name),
      file: always(attachmentPath),
      sha256: optional(sha256),
      name: optional(line),
    },
  },
} as const satisfies Record<string, { readonly file: string; readonly columns: Columns }>

export type FolderFileName = keyof typeof allFolderFiles
export type FolderRow<F extends FolderFileName> = RowOf<(typeof allFolderFiles)[F]['columns']>

/** The twelve. */
export const folderFileNames = Object.keys(folderFiles) as (keyof typeof folderFiles)[]
export const allFolderFileNames = Object.keys(allFolderFiles) as FolderFileName[]

/** The columns of a file as an ordered list. */
export const columnsOf = (name: FolderFileName): [string, Column<Cell>][] =>
  Object.entries(allFolderFiles[name].columns) as [string, Column<Cell>][]
