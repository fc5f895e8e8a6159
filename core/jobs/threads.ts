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

/**
 * Threads that wait for their next task: starting one takes a quarter of a second, and V8 has been seen to end a
 * program ("jit_page.has_value()") in which thousands were started and ended.
 */
const idle = new Map<Worker, NodeJS.Timeout>()
const mostIdle = 2
const idleMs = 5 * 60_000
/** A thread whose last task took more than this is ended, as its memory stays otherwise. */
const mostHeapBytes = 96 * 1024 ** 2

function start(): Worker {
  const worker = new Worker(workerUrl())
  return worker.once('exit', () => forget(worker))
}

/** A thread that has nothing to do; the program does not end while it works. */
export function takeThread(): Worker {
  const waiting = idle.keys().next().value
  if (!waiting) return start()
  clearTimeout(idle.get(waiting))
  idle.delete(waiting)
  waiting.ref()
  return waiting
}

/** Gives back a thread that has done its task and holds so much memory. */
export function giveThreadBack(worker: Worker, heapBytes: number): void {
  if (heapBytes > mostHeapBytes || idle.size >= mostIdle) {
    worker.postMessage('end')
    return
  }
  // It keeps no program from ending.
  worker.unref()
  idle.set(worker, setTimeout(() => end(worker), idleMs).unref())
}

function forget(worker: Worker): void {
  clearTimeout(idle.get(worker))
  idle.delete(worker)
}

function end(worker: Worker): void {
  forget(worker)
  worker.postMessage('end')
}
