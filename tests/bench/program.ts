import { spawn } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { pathToFileURL } from 'node:url'

export const root = resolve(import.meta.dirname, '../..')

interface Finished {
  /** By the clock, from spawn to exit. */
  readonly ms: number
  /** What its threads worked, ms: on a busy machine the more telling of the two. NaN where the system does not say. */
  readonly workMs: number
  readonly output: string
}

export interface Run extends Finished {
  readonly peakBytes: number
}

/** What all programs that this one has run to their end have worked, ms. */
function workOfPrograms(): number {
  if (process.platform !== 'linux') return Number.NaN
  // The name, which may hold anything, stands in parentheses; waited-for user and system time are fields 16 and 17.
  const fields = readFileSync('/proc/self/stat', 'utf8').split(') ').at(-1)?.split(' ') ?? []
  const ticks = Number(fields[13]) + Number(fields[14])
  // Linux counts them in hundredths of a second, whatever the kernel's own clock.
  return 10 * ticks
}

/** Runs a program to its end and times it, one at a time. Throws with what it said when it fails. */
export async function runProgram(
  program: string,
  args: readonly string[],
  { input = '', env = {} }: { input?: string; env?: Record<string, string> } = {},
): Promise<Finished> {
  const started = performance.now()
  const workedBefore = workOfPrograms()
  const child = spawn(program, args, { cwd: root, env: { ...process.env, ...env }, stdio: ['pipe', 'pipe', 'pipe'] })
  const output: Buffer[] = []
  const complaints: Buffer[] = []
  child.stdout.on('data', (part: Buffer) => output.push(part))
  child.stderr.on('data', (part: Buffer) => complaints.push(part))
  child.stdin.on('error', () => undefined).end(input)
  const code = await new Promise<number | null>((done, fail) => {
    child.once('error', fail)
    child.once('close', done)
  })
  const ms = performance.now() - started
  if (code !== 0)
    throw new Error(
      `${program} ${args.join(' ')} ended with ${code}:\n${Buffer.concat(complaints).toString().slice(-2000)}`,
    )
  return { ms, workMs: workOfPrograms() - workedBefore, output: Buffer.concat(output).toString() }
}

/** Arguments that make Node note its peak memory, and the file that it leaves. */
export function withPeakMemory(): { args: string[]; env: Record<string, string>; read(): number } {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-bench-'))
  const file = join(folder, 'peak')
  return {
    args: ['--import', pathToFileURL(join(import.meta.dirname, 'peak-memory.ts')).href],
    env: { BENCH_PEAK_FILE: file },
    read: () => {
      const peak = Number(readFileSync(file, 'utf8'))
      rmSync(folder, { recursive: true })
      return peak
    },
  }
}

/** Runs the app's command line as a person would, with its wall time and peak memory. */
export async function runTareline(...args: readonly string[]): Promise<Run> {
  const peak = withPeakMemory()
  const finished = await runProgram(process.execPath, [...peak.args, 'electron/run.js', 'tareline', ...args], {
    env: peak.env,
  })
  return { ...finished, peakBytes: peak.read() }
}
