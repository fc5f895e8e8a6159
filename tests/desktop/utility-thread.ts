import { EventEmitter } from 'node:events'
import { parentPort } from 'node:worker_threads'

/** Gives the service what Electron's utility process would: `process.parentPort`, whose messages come with ports. */
class ParentPort extends EventEmitter {
  postMessage(message: unknown) {
    parentPort?.postMessage(message)
  }
}
const port = new ParentPort()
parentPort?.on('message', ({ data, ports }: { data: unknown; ports: MessagePort[] }) =>
  port.emit('message', { data, ports }),
)
Object.defineProperty(process, 'parentPort', { value: port })
const [, , , built] = process.argv
await import(built ?? '#electron/desktop/service.ts')
