import { statSync } from 'node:fs'
import { phrase } from '#core/words/phrase.ts'
import { setImmediate } from 'node:timers/promises'
import type { ImportOutcome, ImportProgress } from '#core/contracts/import.ts'
import type { CsvFault, RecordTaker } from '#core/exchange/csv-records.ts'
import { type FolderFileName, type FolderRow, allFolderFiles } from '#core/exchange/folder-files.ts'
import { type ImportJob, type RowCounts, type TakerOf, noRows } from '#core/exchange/import-job.ts'
import { LineCells } from '#core/exchange/line-cells.ts'
import { quote } from '#core/exchange/row-reader.ts'
import { type Places, placesOf } from '#core/exchange/places.ts'
import { ListFull, type ProblemList, type RowReader, rowReader } from '#core/exchange/row-reader.ts'
import { bringAttachments, takeAttachments } from '#core/exchange/take-attachments.ts'
import { judgedAt } from '#core/evidence/judged-at.ts'
import { takeCalibrations, takeReadings, takeTickets } from '#core/exchange/take-evidence.ts'
import {
  takeAxleGroups,
  takeBatteryChanges,
  takeCircuits,
  takeEvents,
  takeMounts,
  takeScales,
  takeSensors,
  takeUnits,
  takeYards,
} from '#core/exchange/take-fleet.ts'
import { type BroughtFile, broughtFiles, noteBrought } from '#core/store/brought-files.ts'
import { timeNow } from '#core/store/clock.ts'
import { type FolderLedger, isLong, openFolderLedger } from '#core/store/folder-ledger.ts'
import type { Store } from '#core/store/open.ts'
import { readZone } from '#core/store/zone.ts'
import type { ChangeSubject } from '#core/words/change.ts'
import { dayOf } from '#core/words/day.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'

export interface ImportOptions {
  /** Cancels the import; nothing of it is left then, and the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal | undefined
  readonly onProgress?: ((progress: ImportProgress) => void) | undefined
  /** Who brings it in, where that is known: somebody who has signed in. */
  readonly by?: string | undefined
  /**
   * Keeps what is there before anything is stored. Called with the first new row and waited for before all is stored,
   * so that both go side by side; where little comes to a large file, before the import takes the right to write. It
   * answers every call with the same promise. Its errors end the import.
   */
  readonly keepBefore?: (() => Promise<void>) | undefined
}

/** Where the records of one file of a fleet folder come from. */
export interface RecordSource {
  readonly name: FolderFileName
  /** Bytes that will be read. */
  readonly size: number
  /**
   * Hands over the header, then every record with its line, and waits for `pause` between blocks with the bytes read so
   * far. Answers false when the text broke off unreadably, which it has told; then what was handed over last may be
   * half; else what it has read, where that is of a file.
   */
  read(taker: RecordTaker, pause: (bytes: number) => Promise<void>): Promise<boolean | FileDigest>
  /** The digest of the file, where its rows follow from nothing else; waits for `pause` between blocks. */
  digest?(pause: () => Promise<void>): Promise<string>
}

type FileDigest = Pick<BroughtFile, 'bytes' | 'sha256'>

export interface RecordImport {
  /** In the order of the fleet folder's files: what a file refers to comes before it. */
  readonly sources: readonly RecordSource[]
  readonly problems: ProblemList
  /** What may be told beside an outcome that was stored; the import adds to it. */
  readonly notes: string[]
  /** The line that a sentence names for a record; the same where left out. */
  readonly lineOf?: (line: number) => number
  /** Where the files lie that rows of attachments name. */
  readonly folder?: string
  /** What the change log calls it. */
  readonly logged: { readonly subject: ChangeSubject; readonly key: string }
}

const takers: { readonly [F in FolderFileName]: TakerOf<F> } = {
  yards: takeYards,
  units: takeUnits,
  axleGroups: takeAxleGroups,
  circuits: takeCircuits,
  sensors: takeSensors,
  mounts: takeMounts,
  batteryChanges: takeBatteryChanges,
  scales: takeScales,
  tickets: takeTickets,
  readings: takeReadings,
  calibrations: takeCalibrations,
  events: takeEvents,
  attachments: takeAttachments,
}

/**
 * Rows waiting for a later row of their record; more than a real folder has, so that a bad one cannot fill the memory.
 */
const manyWaiting = 50_000
/** About a row of a long file; only the order of size matters. */
const bytesPerRow = 65

/** A folder is small beside a fleet file that is so many times its size. */
const muchSmaller = 4

/** Whether an import brought anything of a file that was not there. */
export const hasNew = ({ added, completed }: RowCounts): boolean => added + completed > 0

interface Progress {
  /** Tells how far the reading of a file has come. */
  at(file: string, bytes: number, rows: number): void
  stage(name: string): void
}

/** That records are dated ahead: kept, since nothing is lost, and told, since mostly a date was mistyped. */
function aheadNote({ file, records, latest }: ReturnType<FolderLedger['datedAfter']>[number], zone: string): string {
  const facts = {
    file: allFolderFiles[file].file,
    count: records,
    day: dayOf(fromStoredInstant(latest), zone),
  }
  return phrase(
    '{count, plural, one {{file}: # record on file is dated after today, on {day}. Nothing was left out; lines are judged and loads weighed without it until that day comes. Look whether a date was mistyped.} other {{file}: # records on file are dated after today, the latest on {day}. Nothing was left out; lines are judged and loads weighed without them until that day comes. Look whether a date was mistyped.}}',
    facts,
  )
}

/** Reads one file into the store, as far as it can be kept; what cannot is in the job's problems. */
async function importFile<F extends FolderFileName>(
  name: F,
  source: RecordSource,
  job: ImportJob,
  progress: Progress,
  { signal, keepBefore }: ImportOptions,
): Promise<{ counts: RowCounts; digest?: FileDigest }> {
  const { file } = allFolderFiles[name]
  const { problems, note } = job
  const counts = noRows()
  const taker = takers[name](job, counts)
  const waiting: { row: FolderRow<F>; line: number }[] = []
  let reader: RowReader<F> | undefined
  let cells = new LineCells(0)
  /** The line that was last left to the reader. */
  let left = 0
  let header = false

  const takeRow = (row: FolderRow<F>, line: number) => {
    if (taker.take(row, line, waiting.length >= manyWaiting) === 'later') waiting.push({ row, line })
  }
  const fault = ({ line, value, accepted }: CsvFault) =>
    problems.add(
      file,
      line,
      null,
      value,
      accepted,
      phrase('the row cannot be read; {accepted} is needed.', { accepted }),
    )
  const plain = (text: string, start: number, end: number, line: number): boolean => {
    if (!reader || !taker.quick) return false
    if (cells.read(text, start, end) && taker.quick(cells, line, reader)) {
      counts.read += 1
      return true
    }
    left = line
    return false
  }
  const record = (texts: string[], line: number) => {
    if (!header) {
      header = true
      reader = rowReader(name, texts, line, problems, note)
      cells = new LineCells(texts.length)
      return
    }
    if (!reader) return
    // Texts with a comma in them make more cells than the header has.
    if (taker.quick && left !== line && texts.length === reader.width) {
      const joined = texts.join(',')
      if (plain(joined, 0, joined.length, line)) return
    }
    const read = reader.read(texts, line)
    if (!read) return
    counts.read += 1
    if (read.sound) takeRow(read.row, line)
    else taker.spoil?.(read.row)
  }
  const pause = async (bytes: number) => {
    progress.at(file, bytes, counts.read)
    if (hasNew(counts)) keepBefore?.().catch(() => undefined)
    // Lets a cancel be heard and the progress be sent before the next block.
    await setImmediate()
    signal?.throwIfAborted()
  }
  const digest = await source.read({ record, plain, fault }, pause)
  if (digest === false) return { counts }
  if (!header)
    problems.add(
      file,
      1,
      null,
      '',
      phrase('a header row'),
      phrase('the file is empty; a header row is needed, even where no rows follow.'),
    )
  for (const { row, line } of waiting) taker.take(row, line, true)
  taker.end?.()
  return typeof digest === 'object' ? { counts, digest } : { counts }
}

/** The note of a file that was brought in before, byte for byte; undefined where it is another. */
async function broughtBefore(
  { name, size, digest }: RecordSource,
  brought: readonly BroughtFile[],
  signal: AbortSignal | undefined,
): Promise<BroughtFile | undefined> {
  const { file } = allFolderFiles[name]
  const alike = brought.filter((noted) => noted.file === file && noted.bytes === size)
  if (!digest || alike.length === 0) return undefined
  const sha256 = await digest(async () => {
    await setImmediate()
    signal?.throwIfAborted()
  })
  return alike.find((noted) => noted.sha256 === sha256)
}

const mostAlikeNotes = 20

/** Says which names were taken for others that look the same. */
function alikeNotes({ takenFor }: FolderLedger): string[] {
  const more = takenFor.length - mostAlikeNotes
  return [
    ...takenFor.slice(0, mostAlikeNotes).map(({ name, stored }) =>
      phrase('{name} looks like {stored}, which is on record, and was taken for it.', {
        name: quote(name),
        stored: quote(stored),
      }),
    ),
    ...(more > 0 ? [phrase('{more} more names look like others on record and were taken for them.', { more })] : []),
  ]
}

/**
 * Brings records into the store: all of them, or, when any has a problem, none. One transaction on this store's
 * connection, which must do nothing else meanwhile. Errors: TarelineError `locked`; the signal's reason after a cancel.
 */
export async function importRecords(
  store: Store,
  { sources, problems, notes, lineOf = (line) => line, folder, logged }: RecordImport,
  options: ImportOptions = {},
): Promise<ImportOutcome> {
  const { signal, onProgress, by = 'import', keepBefore } = options
  const started = performance.now()
  const total = sources.reduce((sum, { size }) => sum + size, 0)
  let bytesBefore = 0
  let rowsBefore = 0
  const tell = (stage: string, rows: number, share: number | null) =>
    onProgress?.({
      stage,
      rows,
      rowsPerSecond: Math.round(rows / Math.max(0.001, (performance.now() - started) / 1000)),
      share,
    })
  const progress: Progress = {
    at: (file, bytes, rows) =>
      tell(
        phrase('Reading {file}', { file }),
        rowsBefore + rows,
        total === 0 ? null : Math.min(1, (bytesBefore + bytes) / total),
      ),
    stage: (stage) => tell(stage, rowsBefore, null),
  }

  const keepCopy = async () => {
    progress.stage(phrase('Keeping a copy of what is there'))
    await keepBefore?.()
    signal?.throwIfAborted()
  }

  const zone = await readZone(store.db)
  // Nobody who saves something is kept waiting for the copy of a large file by a few rows.
  if (keepBefore && total * muchSmaller < statSync(store.file).size) await keepCopy()
  const ledger = openFolderLedger(store, total / bytesPerRow)
  const readHere: BroughtFile[] = []
  let isTold = false
  let places: Places | undefined
  try {
    const job: ImportJob = {
      ledger,
      get places() {
        places ??= placesOf(ledger.readPlaces())
        return places
      },
      problems,
      note: (text) => {
        isTold = true
        notes.push(text)
      },
      lineOf,
      faultyTickets: new Set(),
      faultyReadings: new Set(),
      attachments: [],
      incompleteEvidence: false,
    }
    const files: (RowCounts & { file: string })[] = []
    const known = await broughtFiles(store)
    try {
      for (const source of sources) {
        const { name, size } = source
        const { file } = allFolderFiles[name]
        progress.at(file, 0, 0)
        const before = await broughtBefore(source, known, signal)
        if (before) {
          bytesBefore += size
          rowsBefore += before.rows
          files.push({ file, ...noRows(), read: before.rows, same: before.rows })
          continue
        }
        const finish = isLong(name) ? ledger.expectRows(name, size / bytesPerRow) : undefined
        const { counts, digest } = await importFile(name, source, job, progress, options)
        if (digest) readHere.push({ file, ...digest, rows: counts.read })
        bytesBefore += size
        rowsBefore += counts.read
        if (finish) {
          progress.stage(phrase('Indexing {file}', { file }))
          finish()
        }
        if (name === 'attachments' && folder !== undefined)
          await bringAttachments(job, counts, { folder, dbFile: store.file, onStep: progress.stage, signal })
        files.push({ file, ...counts })
      }
    } catch (error) {
      if (!(error instanceof ListFull)) throw error
    }
    if (problems.problems.length > 0) {
      ledger.rollback()
      return { outcome: 'refused', problems: [...problems.problems], more: problems.more }
    }
    signal?.throwIfAborted()
    const brought = new Set<FolderFileName>(sources.map(({ name }) => name))
    for (const ahead of ledger.datedAfter(toStoredInstant(judgedAt(timeNow(), zone))))
      if (brought.has(ahead.file)) notes.push(aheadNote(ahead, zone))
    notes.push(...alikeNotes(ledger))
    if (ledger.takenFor.length > 0) isTold = true
    if (files.some(hasNew)) {
      if (keepBefore) await keepCopy()
      progress.stage(phrase('Storing'))
      const at = toStoredInstant(timeNow())
      ledger.logImport({ by, at }, logged, files)
      // What is told of a file is to be told each time it comes.
      await noteBrought(store, isTold ? known : [...readHere, ...known], at)
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
