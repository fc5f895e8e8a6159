import { existsSync } from 'node:fs'
import { Worker } from 'node:worker_threads'

/**
 * Where the thread that works on fleet folders starts: the source itself under plain Node; in a bundle the entry
 * `file-worker.js`, beside this code or, where this code lies in a shared part, one folder up.
 */
function workerUrl(): URL {
  if (import.meta.url.endsWith('.ts')) return new URL('./file-worker.ts', import.meta.url)
  const places = ['./file-worker.js', '../file-worker.js'].map((path) => new URL(path, import.meta.url))
  const found = places.find((place) => existsSync(place))
  if (!found)
    throw new Error(`file-worker.js is missing from this copy of the app (looked for ${places.join(' and ')})`)
  return found
}

interface Waiting {
  readonly patience: NodeJS.Timeout
  /** What it has read and kept for the next question about it; it takes no other task. */
  readonly knows: string | undefined
}

/**
 * Threads that wait for their next task: starting one takes a quarter of a second, and V8 has been seen to end a
 * program ("jit_page.has_value()") in which thousands were started and ended.
 */
const idle = new Map<Worker, Waiting>()
const mostIdle = 2
const idleMs = 5 * 60_000
/**
 * A thread whose last task took more than this is ended, as its memory stays otherwise; one that knows is kept for it.
 */
const mostHeapBytes = 96 * 1024 ** 2

/**
 * V8 lets the young heap of each thread grow to three times this before it looks for garbage, of which judging makes
 * much: following up 10,000 units then holds 1.4 GB instead of 0.95, for no less work.
 */
const youngHeapMb = 16
/**
 * Of a heap that may not grow beyond 2 GB, V8 collects garbage whenever it has doubled, of a larger one when there is
 * four times as much. A fleet of 100,000 units takes half of that.
 */
const oldHeapMb = 2000

function start(): Worker {
  const worker = new Worker(workerUrl(), {
    resourceLimits: { maxYoungGenerationSizeMb: youngHeapMb, maxOldGenerationSizeMb: oldHeapMb },
  })
  return worker.once('exit', () => forget(worker))
}

const waitingFor = (knows: string | undefined): Worker[] =>
  [...idle].filter(([, waiting]) => waiting.knows === knows).map(([worker]) => worker)

/**
 * A thread that has nothing to do, the one that knows of something where there is one; the program does not end while
 * it works.
 */
export function takeThread(knows?: string): Worker {
  const waiting = waitingFor(knows)[0]
  if (!waiting) return start()
  forget(waiting)
  waiting.ref()
  return waiting
}

/** Gives back a thread that has done its task, holds so much memory, and may know of something. */
export function giveThreadBack(worker: Worker, heapBytes: number, knows?: string): void {
  const others = waitingFor(knows).length
  if (knows === undefined ? heapBytes > mostHeapBytes || others >= mostIdle : others > 0) {
    worker.postMessage('end')
    return
  }
  // It keeps no program from ending.
  worker.unref()
  idle.set(worker, { patience: setTimeout(() => end(worker), idleMs).unref(), knows })
}

function forget(worker: Worker): void {
  clearTimeout(idle.get(worker)?.patience)
  idle.delete(worker)
}

function end(worker: Worker): void {
  forget(worker)
  worker.postMessage('end')
}
