import { rmSync } from 'node:fs'
import { join } from 'node:path'
import { largeFolder, partOfLargeFolder, readingRows, scratchDatabase } from '#tests/bench/data.ts'
import { megabytes, seconds, times, whole } from '#tests/bench/figures.ts'
import { runProgram, runTareline } from '#tests/bench/program.ts'
import type { Section } from '#tests/bench/section.ts'

const columns = [
  'reading',
  'taken_at',
  'unit',
  'group',
  'circuit',
  'psi',
  'scale',
  'ticket',
  'elevation_ft',
  'temperature_f',
  'lift',
]

/** The sqlite3 program's own `.import` of the file into one table without keys, checks or indexes. */
async function bareImportMs(file: string): Promise<number> {
  const { file: database, remove } = scratchDatabase('bare')
  const table = `create table bare (${columns.map((column) => `"${column}"`).join(', ')});`
  const { ms, output } = await runProgram('sqlite3', [database], {
    input: `${table}\n.mode csv\n.import --skip 1 ${file} bare\nselect count(*) from bare;\n`,
  })
  remove()
  const rows = Number(output)
  if (!(rows > readingRows * 0.99)) throw new Error(`sqlite3 took ${output.trim()} rows`)
  return ms
}

export const folderImport: Section = {
  title:
    'Import: 1,000,000 rows of readings through the command line, validated, keys resolved, stored with indexes; program start counted',
  against: "the sqlite3 program's .import of the same readings.csv into one bare table; program start counted",
  measure: async () => {
    const folder = await largeFolder()
    const readings = join(folder, 'readings.csv')
    // The sqlite3 program is timed before and after, so that a busy moment does not flatter either side.
    const bareBefore = await bareImportMs(readings)

    const apart = scratchDatabase('readings')
    await runTareline(
      'import',
      await partOfLargeFolder('others', (file) => file !== 'readings.csv' && file !== 'calibrations.csv'),
      '--db',
      apart.file,
    )
    const onlyReadings = await runTareline(
      'import',
      await partOfLargeFolder('readings', (file) => file === 'readings.csv'),
      '--db',
      apart.file,
    )
    apart.remove()

    const complete = scratchDatabase('complete')
    const everything = await runTareline('import', folder, '--db', complete.file)
    const again = await runTareline('import', folder, '--db', complete.file)
    complete.remove()
    rmSync(`${complete.file} copies`, { recursive: true, force: true })

    const bare = (bareBefore + (await bareImportMs(readings))) / 2
    const perSecond = (ms: number) => `${whole((readingRows / ms) * 1000)} rows/s`
    return [
      {
        what: 'readings.csv alone',
        measured: perSecond(onlyReadings.ms),
        baseline: perSecond(bare),
        ratio: `${times(bare / onlyReadings.ms)} as fast`,
        asked: '0.25 x or more',
      },
      { what: '  time', measured: seconds(onlyReadings.ms), baseline: seconds(bare) },
      { what: '  peak memory', measured: megabytes(onlyReadings.peakBytes), asked: '400 MB or less' },
      {
        what: 'whole folder, twelve files',
        measured: seconds(everything.ms),
        baseline: seconds(bare),
        ratio: `${times(everything.ms / bare)} as long`,
      },
      { what: '  peak memory', measured: megabytes(everything.peakBytes), asked: '400 MB or less' },
      {
        what: 'whole folder again, nothing new',
        measured: seconds(again.ms),
        baseline: seconds(bare),
        ratio: `${times(again.ms / bare)} as long`,
      },
    ]
  },
}
