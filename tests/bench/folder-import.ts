import { join } from 'node:path'
import {
  largeFolder,
  memory,
  partOfLargeFolder,
  readingRows,
  rewrittenLargeFolder,
  scratchDatabase,
} from '#tests/bench/data.ts'
import { megabytes, seconds, times, whole } from '#tests/bench/figures.ts'
import { runProgram, runTareline } from '#tests/bench/program.ts'
import { type Goal, type Measurement, type Section, atLeast, atMost } from '#tests/bench/section.ts'

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

interface Took {
  readonly ms: number
  readonly workMs: number
}

/** The sqlite3 program's own `.import` of the file into one table without keys, checks or indexes. */
async function bareImport(file: string): Promise<Took> {
  const { file: database, remove } = scratchDatabase('bare')
  const table = `create table bare (${columns.map((column) => `"${column}"`).join(', ')});`
  const { output, ...took } = await runProgram('sqlite3', [database], {
    input: `${table}\n.mode csv\n.import --skip 1 ${file} bare\nselect count(*) from bare;\n`,
  })
  remove()
  const rows = Number(output)
  if (!(rows > readingRows * 0.99)) throw new Error(`sqlite3 took ${output.trim()} rows`)
  return took
}

const perSecond = (ms: number) => `${whole((readingRows / ms) * 1000)} rows/s`

/** By the clock and by the work of the processor, each against the bare import, held to at most so many times that. */
const longerThan = (what: string, took: Took, bare: Took, asked: number): Measurement[] => [
  {
    what,
    measured: seconds(took.ms),
    baseline: seconds(bare.ms),
    ratio: `${times(took.ms / bare.ms)} as long`,
    goal: atMost(took.ms / bare.ms, asked, times),
  },
  workRow(took, bare, atMost(took.workMs / bare.workMs, asked, times)),
]

const workRow = (took: Took, bare: Took, goal: Goal): Measurement => ({
  what: '  processor time',
  measured: seconds(took.workMs),
  baseline: seconds(bare.workMs),
  ratio: `${times(took.workMs / bare.workMs)} the work`,
  goal,
})

const memoryRow = (bytes: number): Measurement => ({
  what: '  peak memory',
  measured: megabytes(bytes),
  goal: atMost(bytes, memory, megabytes),
})

export const folderImport: Section = {
  title:
    'Import: 1,000,000 rows of readings through the command line, validated, keys resolved, stored with indexes; program start counted',
  against: "the sqlite3 program's .import of the same readings.csv into one bare table; program start counted",
  measure: async () => {
    const folder = await largeFolder()
    const readings = join(folder, 'readings.csv')
    // The sqlite3 program is timed before and after, so that a busy moment does not flatter either side.
    const before = await bareImport(readings)

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
    const rewritten = await runTareline('import', await rewrittenLargeFolder(), '--db', complete.file)
    complete.remove()

    const after = await bareImport(readings)
    const bare: Took = { ms: (before.ms + after.ms) / 2, workMs: (before.workMs + after.workMs) / 2 }
    return [
      {
        what: 'readings.csv alone',
        measured: perSecond(onlyReadings.ms),
        baseline: perSecond(bare.ms),
        ratio: `${times(bare.ms / onlyReadings.ms)} as fast`,
        goal: atLeast(bare.ms / onlyReadings.ms, 0.6, times),
      },
      workRow(onlyReadings, bare, atMost(onlyReadings.workMs / bare.workMs, 1 / 0.6, times)),
      memoryRow(onlyReadings.peakBytes),
      ...longerThan('whole folder, twelve files', everything, bare, 4),
      memoryRow(everything.peakBytes),
      ...longerThan('whole folder again, nothing new, the same files', again, bare, 3),
      ...longerThan('whole folder again, nothing new, the same rows in files of other bytes', rewritten, bare, 3),
    ]
  },
}
