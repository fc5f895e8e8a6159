import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** Text of each file of a fleet folder, by file name. */
export type FleetFiles = Readonly<Record<string, string>>

const text = (...lines: string[]) => `${lines.join('\n')}\n`

const loads = [
  // ticket, day, steer, drive, tandem, drive psi, left psi, right psi
  ['30417', '2025-03-03', 10120, 12080, 9340, 18.2, 15.4, 15.8],
  ['30418', '2025-03-03', 10860, 21340, 18920, 38.9, 33.1, 33.6],
  ['30419', '2025-03-04', 11240, 27720, 26180, 53.3, 47.2, 47.5],
  ['30420', '2025-03-04', 11480, 33140, 32860, 65.2, 60.1, 60.7],
  ['30446', '2025-06-12', 11420, 32220, 31980, 63.4, 58.6, 58.9],
] as const

/**
 * A small fleet in which every file says something: a tractor with an estimated steer axle and one drive circuit, a
 * trailer with a left and a right one, four loads on a platform scale, a calibration of each sensed group, a check
 * weighing later.
 */
export function smallFleet(): Record<string, string> {
  return {
    'yards.csv': text('yard,elevation_ft', 'Cinder Gap,6210', 'Larch Hollow,'),
    'units.csv': text(
      'unit,kind,vin,plate,plate_region,make,model,model_year,yard,gross_limit_lb,fifth_wheel_ft',
      'T-101,tractor,1ZZTAREA9NT000001,ZT-40007,ZZ,Brennock,R6 Sleeper,2022,Cinder Gap,80000,17.4',
      'V-201,trailer,,ZT-50011,ZZ,Oxbow,Dry 53,2019,Larch Hollow,,',
    ),
    'axle_groups.csv': text(
      'unit,group,role,axles,first_axle_ft,axle_spacing_ft,limit_lb,measured_by',
      'T-101,steer,steer,1,0,,13200,estimate',
      'T-101,drive,drive,2,16.8,4.3,34000,circuit',
      'V-201,tandem,trailer,2,40.5,4.1,34000,circuit',
    ),
    'circuits.csv': text(
      'unit,group,circuit,air_springs,spring_area_in2,ride_height_in',
      'T-101,drive,main,4,81,8.5',
      'V-201,tandem,left,2,78.5,',
      'V-201,tandem,right,2,78.5,',
    ),
    'sensors.csv': text(
      'serial,reference,range_psi,resolution_psi,accuracy_psi,cell,report_every_s',
      'PA-01044,gauge,150,0.1,1,CR2477,300',
      'PA-01045,gauge,150,0.1,1,CR2477,300',
      'PB-01053,absolute,,,,CR2450,',
    ),
    'mounts.csv': text(
      'serial,unit,group,circuit,mounted_at,removed_at',
      'PA-01044,T-101,drive,main,2025-01-08T06:00:00-07:00,',
      'PA-01045,V-201,tandem,left,2025-01-08T06:30:00-07:00,2025-09-01T08:00:00-06:00',
      'PB-01053,V-201,tandem,right,2025-01-08T06:45:00-07:00,',
    ),
    'battery_changes.csv': text(
      'serial,changed_at,reason,cell',
      'PA-01044,2025-01-08T06:00:00-07:00,new,CR2477',
      'PA-01044,2025-07-14T12:28:00-06:00,low,',
    ),
    'scales.csv': text('scale,division_lb,elevation_ft,tolerance_percent', 'Salt Bend Yard,20,2640,0.2'),
    'tickets.csv': text(
      'scale,ticket,weighed_at,unit,group,weight_lb,gross_lb',
      ...loads.flatMap(([ticket, day, steer, drive, tandem]) =>
        [
          ['T-101,steer', steer],
          ['T-101,drive', drive],
          ['V-201,tandem', tandem],
        ].map(
          ([place, weight]) =>
            `Salt Bend Yard,${ticket},${day}T07:${ticket.slice(3)}:00-07:00,${place},${weight},${steer + drive + tandem}`,
        ),
      ),
      'Salt Bend Yard,30500,2025-07-01T12:00:00Z,T-101,,,18740',
    ),
    'readings.csv': text(
      'reading,taken_at,unit,group,circuit,psi,scale,ticket,elevation_ft,temperature_f,lift',
      ...loads.flatMap(([ticket, day, , , , drive, left, right], index) =>
        [
          ['T-101,drive,main', drive],
          ['V-201,tandem,left', left],
          ['V-201,tandem,right', right],
        ].map(
          ([place, psi]) =>
            `R-${index + 1},${day}T07:${ticket.slice(3)}:30-07:00,${place},${psi},Salt Bend Yard,${ticket},2640,46,none`,
        ),
      ),
      'R-6,2025-07-02T09:15:00.250Z,T-101,drive,main,41.7,,,,,',
    ),
    'calibrations.csv': text(
      'unit,group,calibrated_at,by,scale,ticket,reading',
      ...['T-101,drive', 'V-201,tandem'].flatMap((group) =>
        loads
          .slice(0, 4)
          .map(
            ([ticket], index) =>
              `${group},2025-03-04T12:00:00-07:00,J. Winterbourn,Salt Bend Yard,${ticket},R-${index + 1}`,
          ),
      ),
    ),
    'events.csv': text(
      'unit,group,circuit,happened_at,event,note',
      'T-101,drive,main,2025-08-02T10:00:00Z,air line repaired,Chafed line behind the crossmember',
      'V-201,,,2025-08-03T10:00:00Z,body work,',
    ),
  }
}

/** The files with one cell written anew; lines count from 1, the header. Only for rows without quoted cells. */
export function withCell(
  files: FleetFiles,
  file: string,
  line: number,
  column: string,
  value: string,
): Record<string, string> {
  const lines = (files[file] ?? '').split('\n')
  const position = (lines[0] ?? '').split(',').indexOf(column)
  const cells = (lines[line - 1] ?? '').split(',')
  if (position < 0 || cells.length <= position) throw new RangeError(`${file} has no ${column} in line ${line}`)
  cells[position] = value
  lines[line - 1] = cells.join(',')
  return { ...files, [file]: lines.join('\n') }
}

/** The files with rows added at the end of one. */
export const withRows = (files: FleetFiles, file: string, ...rows: string[]): Record<string, string> => ({
  ...files,
  [file]: `${files[file] ?? ''}${text(...rows)}`,
})

export function writeFiles(folder: string, files: Readonly<Record<string, string | Uint8Array>>): void {
  mkdirSync(folder, { recursive: true })
  for (const [file, content] of Object.entries(files)) writeFileSync(join(folder, file), content)
}

/** Hands over a folder of one's own and removes it again. */
export async function withFolder<T>(work: (folder: string) => Promise<T> | T): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-folder-'))
  try {
    return await work(folder)
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

/** Writes the files as a fleet folder, hands its path over and removes it again. */
export const withFleetFolder = <T>(
  files: Readonly<Record<string, string | Uint8Array>>,
  work: (folder: string) => Promise<T> | T,
): Promise<T> =>
  withFolder((folder) => {
    writeFiles(folder, files)
    return work(folder)
  })
