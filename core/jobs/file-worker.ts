import { getHeapStatistics } from 'node:v8'
import { parentPort } from 'node:worker_threads'
import type { ImportProgress } from '#core/contracts/import.ts'
import { type FileTask, doFileTask } from '#core/jobs/file-task.ts'
import { faultDuringWork } from '#core/store/sqlite-fault.ts'
import { speechOfTag } from '#core/words/catalogues.ts'
import { english, speakBy } from '#core/words/phrase.ts'
import { TarelineError } from '#core/words/problem.ts'

/** What the thread says; with the end of a task, how much memory it holds, bytes. */
export type FileMessage =
  | { readonly kind: 'progress'; readonly progress: ImportProgress }
  | { readonly kind: 'part'; readonly part: unknown }
  | { readonly kind: 'done'; readonly value: unknown; readonly heapBytes: number }
  | { readonly kind: 'failed'; readonly code: string | null; readonly error: unknown; readonly heapBytes: number }

/** What the thread is told: a task, one after the other; to cancel the one under way; to end. */
export type FileOrder =
  | {
      readonly task: FileTask
      readonly checked: boolean
      /** How whoever asked for it is spoken to. */
      readonly speech: string
    }
  | 'cancel'
  | 'end'

// A thread of its own, so that the app answers meanwhile.
const port = parentPort
if (!port) throw new Error('file-worker.ts is started as a worker thread')
const say = (message: FileMessage) => port.postMessage(message)
const heapBytes = () => getHeapStatistics().used_heap_size
let cancel = new AbortController()

let spoken = english
speakBy(() => spoken)

async function run({ task, checked, speech }: Exclude<FileOrder, string>): Promise<void> {
  cancel = new AbortController()
  spoken = await speechOfTag(speech)
  try {
    const value = await doFileTask(
      task,
      checked,
      cancel.signal,
      (progress) => say({ kind: 'progress', progress }),
      (part) => say({ kind: 'part', part }),
    )
    say({ kind: 'done', value, heapBytes: heapBytes() })
  } catch (error) {
    // On its way out of the thread an error loses all but its words.
    const told = error instanceof TarelineError ? error : faultDuringWork(error)
    say({ kind: 'failed', code: told?.code ?? null, error: told ?? error, heapBytes: heapBytes() })
  }
}

port.on('message', (order: FileOrder) => {
  if (order === 'cancel') cancel.abort()
  else if (order === 'end') port.close()
  else void run(order)
})
