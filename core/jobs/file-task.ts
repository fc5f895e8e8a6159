import type { ImportProgress } from '#core/contracts/import.ts'
import type { SupportTask } from '#core/exchange/support-bundle.ts'
import type { ForeignFile } from '#core/foreign/import-foreign.ts'
import type { BenchAnswers, BenchQuestions, BenchSubject } from '#core/jobs/ask-bench.ts'
import type { CareTask } from '#core/jobs/care-task.ts'
import { type CopyTask, doCopyTask } from '#core/jobs/copy-task.ts'
import type { FileImportOptions } from '#core/jobs/import-into-file.ts'
import type { JudgeTask } from '#core/jobs/judge-task.ts'
import { timeNow } from '#core/store/clock.ts'
import type { Follow } from '#core/store/catch-up.ts'
import { openStore, openUnchecked } from '#core/store/open.ts'
import { sealWritten } from '#core/store/seals.ts'
import type { HouseRuleName } from '#core/words/house-rules.ts'
import { TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'
import { fleetWorkWords } from '#core/words/touch.ts'

/** What is to be done with a fleet file, in a thread of its own or where nobody waits meanwhile. */
export type FileTask =
  | {
      readonly kind: 'import'
      readonly dbFile: string
      readonly folder: string
      readonly assess: boolean
      readonly by: string | undefined
    }
  | {
      readonly kind: 'import foreign'
      readonly dbFile: string
      readonly file: ForeignFile
      readonly by: string | undefined
    }
  | { readonly kind: 'write out'; readonly dbFile: string; readonly folder: string }
  | { readonly kind: 'catch up'; readonly dbFile: string; readonly now: number }
  | { readonly kind: 'learn'; readonly dbFile: string; readonly now: number }
  | {
      readonly kind: 'try rule'
      readonly dbFile: string
      readonly name: HouseRuleName
      readonly value: number
      readonly asOf: number
    }
  | { readonly kind: 'seal'; readonly dbFile: string; readonly withMade: boolean }
  | JudgeTask
  | CopyTask
  | CareTask
  | SupportTask
  | { readonly kind: 'cab cards'; readonly dbFile: string; readonly units: readonly string[]; readonly at: number }
  | BenchTask

/** A question to the shop's bench. now: ms UTC. */
export interface BenchTask<About extends BenchSubject = BenchSubject> {
  readonly kind: 'bench'
  readonly dbFile: string
  readonly about: About
  readonly asked: BenchQuestions[About]
  readonly now: number
}

const copyTasks: ReadonlySet<string> = new Set<CopyTask['kind']>([
  'check pages',
  'keep copy',
  'copy beside import',
  'list copies',
  'check copy',
  'restore copy',
  'start empty',
])
const isCopyTask = (task: FileTask): task is CopyTask => copyTasks.has(task.kind)

const careTasks: ReadonlySet<string> = new Set<CareTask['kind']>(['check file', 'rehearse restore', 'second copy'])
const isCareTask = (task: FileTask): task is CareTask => careTasks.has(task.kind)

/** Tells how far the following up is, and ends it where it is called off. */
const telling =
  (
    onProgress: (progress: ImportProgress) => void,
    signal: AbortSignal,
    { rows, rowsPerSecond }: Pick<ImportProgress, 'rows' | 'rowsPerSecond'> = { rows: 0, rowsPerSecond: 0 },
  ): Follow =>
  (work, share) => {
    signal.throwIfAborted()
    onProgress({ stage: fleetWorkWords[work], work, rows, rowsPerSecond, share })
  }

/** What follows an import that brought something new. */
const assessing =
  (dbFile: string, onProgress: (progress: ImportProgress) => void): FileImportOptions['afterwards'] =>
  async (store, { files, seconds }) => {
    const { catchUp } = await import('#core/store/catch-up.ts')
    const { helpersFor } = await import('#core/jobs/judge-in-threads.ts')
    const rows = files.reduce((sum, { read }) => sum + read, 0)
    const rowsPerSecond = Math.round(rows / Math.max(0.001, seconds))
    // What is imported is stored by now: a cancel comes too late for it, and the fleet is followed up to its end.
    const follow = telling(onProgress, new AbortController().signal, { rows, rowsPerSecond })
    await catchUp(store, timeNow(), follow, helpersFor(dbFile))
  }

/**
 * What a thread reads goes through its hands once, and is kept by the system: a large cache would be kept twice. SQLite
 * sorts in as much memory again.
 */
const cacheMbOfThread = 16

/** Looks alone, so it does not wait until every page of the file is known to be whole. */
async function doBenchTask({ dbFile, about, asked, now }: BenchTask): Promise<BenchAnswers[BenchSubject]> {
  const store = openUnchecked(dbFile)
  if (!store) throw new TarelineError('missing', phrase('{file} does not exist. Check the name.', { file: dbFile }))
  try {
    const { answerBench } = await import('#core/jobs/ask-bench.ts')
    return await answerBench(store, about, asked, now)
  } finally {
    await store.close({ untouched: true })
  }
}

/**
 * Does a task on a fleet file through a connection of its own; `checked`: its pages have been; onPart: is given what it
 * answers in parts. Errors: those of `openStore`, `importFolder` and `exportFolder`; the signal's reason after a
 * cancel.
 */
export async function doFileTask(
  task: FileTask,
  checked: boolean,
  signal: AbortSignal,
  onProgress: (progress: ImportProgress) => void,
  onPart: (part: unknown) => void,
): Promise<unknown> {
  // Each loads what it needs itself: a thread that keeps a copy has no use for the rest, which takes longer to load.
  if (task.kind === 'judge groups')
    return await (await import('#core/jobs/judge-task.ts')).doJudgeTask(task, signal, onPart)
  if (task.kind === 'import') {
    const { importIntoFile } = await import('#core/jobs/import-into-file.ts')
    return await importIntoFile(task.dbFile, task.folder, {
      signal,
      onProgress,
      checked,
      by: task.by,
      afterwards: task.assess ? assessing(task.dbFile, onProgress) : undefined,
    })
  }
  if (task.kind === 'import foreign') {
    const { importForeignIntoFile } = await import('#core/jobs/import-into-file.ts')
    return await importForeignIntoFile(task.dbFile, task.file, {
      signal,
      onProgress,
      checked,
      by: task.by,
      afterwards: assessing(task.dbFile, onProgress),
    })
  }
  if (isCopyTask(task)) return await doCopyTask(task, checked)
  if (isCareTask(task)) return await (await import('#core/jobs/care-task.ts')).doCareTask(task, checked)
  if (task.kind === 'bench') return await doBenchTask(task)
  if (task.kind === 'support bundle')
    return await (await import('#core/exchange/support-bundle.ts')).makeSupportBundle(task, timeNow())
  const store = await openStore(task.dbFile, { mustExist: true, checked, cacheMb: cacheMbOfThread })
  try {
    if (task.kind === 'write out')
      return await (await import('#core/exchange/export-folder.ts')).exportFolder(store, task.folder)
    if (task.kind === 'catch up') {
      const { catchUp } = await import('#core/store/catch-up.ts')
      const { helpersFor } = await import('#core/jobs/judge-in-threads.ts')
      return await catchUp(store, task.now, telling(onProgress, signal), helpersFor(task.dbFile))
    }
    if (task.kind === 'learn') return await (await import('#core/store/catch-up.ts')).learnAnew(store, task.now)
    if (task.kind === 'seal') return sealWritten(store.raw, task)
    if (task.kind === 'try rule')
      return await (await import('#core/store/try-rule.ts')).tryRule(store, task.name, task.value, task.asOf, signal)
    return await (await import('#core/exchange/documents/cab-card.ts')).makeCabCards(store, task.units, task.at)
  } finally {
    await store.close()
  }
}
