import { existsSync, statSync } from 'node:fs'
import { readdir } from 'node:fs/promises'
import { basename, join, resolve } from 'node:path'
import { setImmediate } from 'node:timers/promises'
import type { ImportOutcome, ImportProgress } from '#core/api/contract.ts'
import { type CsvFault, csvScanner } from '#core/exchange/csv-records.ts'
import { type FolderFileName, folderFileNames, folderFiles, type FolderRow } from '#core/exchange/folder-files.ts'
import { type ImportJob, noRows, type RowCounts, type TakerOf } from '#core/exchange/import-job.ts'
import { placesOf } from '#core/exchange/places.ts'
import { ListFull, problemList } from '#core/exchange/problem-list.ts'
import { type RowReader, rowReader } from '#core/exchange/row-reader.ts'
import { takeCalibrations } from '#core/exchange/take-calibrations.ts'
import { takeAxleGroups, takeCircuits, takeScales, takeUnits, takeYards } from '#core/exchange/take-fleet.ts'
import { takeReadings } from '#core/exchange/take-readings.ts'
import { takeBatteryChanges, takeEvents, takeMounts, takeSensors } from '#core/exchange/take-sensors.ts'
import { takeTickets } from '#core/exchange/take-tickets.ts'
import { NotUtf8, readUtf8 } from '#core/exchange/utf8-lines.ts'
import { toStoredInstant } from '#core/fleet/instant.ts'
import { TarelineError } from '#core/fleet/problem.ts'
import { openFolderLedger } from '#core/store/folder-ledger.ts'
import type { Store } from '#core/store/open.ts'

export interface ImportOptions {
  /** Cancels the import; nothing of it is left then, and the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal | undefined
  readonly onProgress?: ((progress: ImportProgress) => void) | undefined
}

const takers: { readonly [F in FolderFileName]: TakerOf<F> } = {
  yards: takeYards, units: takeUnits, axleGroups: takeAxleGroups, circuits: takeCircuits, sensors: takeSensors, mounts: takeMounts,
  batteryChanges: takeBatteryChanges, scales: takeScales, tickets: takeTickets, readings: takeReadings, calibrations: takeCalibrations,
  events: takeEvents,
}

/** Rows waiting for a later row of their record; more than a real folder has, so that a bad one cannot fill the memory. */
const manyWaiting = 50_000
/** About a row of tickets.csv or readings.csv; only the order of size matters. */
const bytesPerRow = 65

interface Progress {
  /** Tells how far the reading of a file has come. */
  at(file: string, bytes: number, rows: number): void
  stage(name: string): void
}

/** Reads one file into the store, as far as it can be kept; what cannot is in the job's problems. */
async function importFile<F extends FolderFileName>(
  name: F, path: string, job: ImportJob, progress: Progress, signal: AbortSignal | undefined,
): Promise<RowCounts> {
  const { file } = folderFiles[name]
  const { problems, note } = job
  const counts = noRows()
  const taker = takers[name](job, counts)
  const waiting: { row: FolderRow<F>; line: number }[] = []
  let reader: RowReader<F> | undefined
  let header = false

  const takeRow = (row: FolderRow<F>, line: number) => {
    if (taker.take(row, line, waiting.length >= manyWaiting) === 'later') waiting.push({ row, line })
  }
  const fault = ({ line, value, accepted }: CsvFault) => problems.add(file, line, null, value, accepted, `the row cannot be read; ${accepted} is needed.`)
  const scanner = csvScanner({
    fault,
    record: (cells, line) => {
      if (!header) {
        header = true
        reader = rowReader(name, cells, line, problems, note)
        return
      }
      if (!reader) return
      if (taker.quick?.(cells, line, reader)) {
        counts.read += 1
        return
      }
      const read = reader.read(cells, line)
      if (!read) return
      counts.read += 1
      if (read.sound) takeRow(read.row, line)
      else taker.spoil?.(read.row)
    },
  })
  try {
    for await (const { text, bytes } of readUtf8(path)) {
      scanner.take(text)
      progress.at(file, bytes, counts.read)
      // Lets a cancel be heard and the progress be sent before the next block.
      await setImmediate()
      signal?.throwIfAborted()
    }
  } catch (error) {
    if (!(error instanceof NotUtf8)) throw error
    problems.add(file, error.line, null, 'bytes that are not UTF-8', 'text in UTF-8', 'the text is not UTF-8; save the file as CSV in UTF-8.')
    return counts
  }
  scanner.end()
  if (!header) problems.add(file, 1, null, '', 'a header row', 'the file is empty; a header row is needed, even where no rows follow.')
  for (const { row, line } of waiting) taker.take(row, line, true)
  taker.end?.()
  return counts
}

/** The twelve files as they lie in a folder, with their sizes; and notes about those that look like one and are not. */
async function listFiles(folder: string): Promise<{ present: [FolderFileName, string, number][]; notes: string[] }> {
  if (!existsSync(folder) || !statSync(folder).isDirectory()) {
    throw new TarelineError('no-folder', `${folder} is not a folder. Name the folder that holds the fleet's CSV files.`)
  }
  const present = folderFileNames.flatMap((name): [FolderFileName, string, number][] => {
    const path = join(folder, folderFiles[name].file)
    return existsSync(path) && statSync(path).isFile() ? [[name, path, statSync(path).size]] : []
  })
  const known = new Set<string>(Object.values(folderFiles).map(({ file }) => file))
  const strangers = (await readdir(folder)).filter((file) => /\.csv$/i.test(file) && !known.has(file)).sort()
  if (present.length === 0) {
    throw new TarelineError('no-folder', `${folder} holds none of the files of a fleet folder (${[...known].join(', ')}).`)
  }
  return { present, notes: strangers.map((file) => `${file} is not a file of a fleet folder and was passed over.`) }
}

/**
 * Brings a fleet folder into the store: all of it, or, when any row has a problem, nothing. One transaction on this store's
 * connection, which must do nothing else meanwhile: `bringInFolder` does the same beside the running app.
 *
 * Errors: TarelineError `no-folder`, `locked`; the signal's reason after a cancel. Faults of the files are in the outcome.
 */
export async function importFolder(store: Store, folder: string, { signal, onProgress }: ImportOptions = {}): Promise<ImportOutcome> {
  signal?.throwIfAborted()
  const started = performance.now()
  const path = resolve(folder)
  const { present, notes } = await listFiles(path)
  const total = present.reduce((sum, [, , size]) => sum + size, 0)
  let bytesBefore = 0
  let rowsBefore = 0
  const tell = (stage: string, rows: number, share: number | null) =>
    onProgress?.({ stage, rows, rowsPerSecond: Math.round(rows / Math.max(0.001, (performance.now() - started) / 1000)), share })
  const progress: Progress = {
    at: (file, bytes, rows) => tell(`Reading ${file}`, rowsBefore + rows, total === 0 ? null : Math.min(1, (bytesBefore + bytes) / total)),
    stage: (stage) => tell(stage, rowsBefore, null),
  }

  const ledger = openFolderLedger(store)
  const problems = problemList()
  try {
    const job: ImportJob = {
      ledger, places: placesOf(ledger.readPlaces()), problems, note: (text) => notes.push(text), faultyTickets: new Set(),
      faultyReadings: new Set(), incompleteEvidence: false,
    }
    const files: (RowCounts & { file: string })[] = []
    try {
      for (const [name, filePath, size] of present) {
        const finish = name === 'tickets' || name === 'readings' ? ledger.expectRows(name, size / bytesPerRow) : undefined
        const counts = await importFile(name, filePath, job, progress, signal)
        bytesBefore += size
        rowsBefore += counts.read
        if (finish) {
          progress.stage(`Indexing ${folderFiles[name].file}`)
          finish()
        }
        files.push({ file: folderFiles[name].file, ...counts })
      }
    } catch (error) {
      if (!(error instanceof ListFull)) throw error
    }
    if (problems.problems.length > 0) {
      ledger.rollback()
      return { outcome: 'refused', problems: [...problems.problems], more: problems.more }
    }
    signal?.throwIfAborted()
    progress.stage('Storing')
    if (files.some(({ added, completed }) => added + completed > 0)) {
      ledger.logImport(toStoredInstant(Date.now()), basename(path), files)
      ledger.commit()
    } else {
      ledger.rollback()
    }
    return { outcome: 'stored', files, notes, seconds: (performance.now() - started) / 1000 }
  } catch (error) {
    ledger.rollback()
    throw error
  }
}
