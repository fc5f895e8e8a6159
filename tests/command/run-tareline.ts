import { spawn } from 'node:child_process'
import { resolve } from 'node:path'

const program = resolve(import.meta.dirname, '../../electron/run.js')

export interface Run {
  readonly exit: number | null
  readonly out: string
  readonly error: string
  /** The one JSON document of standard output. */
  json(): unknown
}

/** Runs the command line as a process of its own, as a person would. */
export function tareline(...args: string[]): Promise<Run> {
  return new Promise((resolveRun, reject) => {
    const child = spawn(process.execPath, [program, 'tareline', ...args], { stdio: ['ignore', 'pipe', 'pipe'] })
    let out = ''
    let error = ''
    child.stdout.setEncoding('utf8').on('data', (text: string) => {
      out += text
    })
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      error += text
    })
    child.on('error', reject)
    child.on('close', (exit) => resolveRun({ exit, out, error, json: () => JSON.parse(out) as unknown }))
  })
}
