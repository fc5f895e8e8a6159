import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'

const folder = resolve(import.meta.dirname, '../../.cache/faults')

/**
 * What a suite of faults counted: each row's words and number; `failed` are those after which something was lost, left
 * half or unclear.
 */
export interface Tally {
  readonly title: string
  readonly counts: Readonly<Record<string, number>>
  readonly failed: number
  /** Those in which somebody got hold of what is not theirs. */
  readonly letIn?: number
  /** Those that were told in words that are no sentence for a person. */
  readonly misleading?: number
}

/** Keeps what a suite counted for the table of `npm run faults`; a suite calls it once, when it has run. */
export function keepTally(name: string, tally: Tally): void {
  mkdirSync(folder, { recursive: true })
  writeFileSync(join(folder, `${name}.json`), `${JSON.stringify(tally, null, 2)}\n`)
}

export function forgetTallies(): void {
  rmSync(folder, { recursive: true, force: true })
}

export function readTallies(): Tally[] {
  mkdirSync(folder, { recursive: true })
  return readdirSync(folder)
    .filter((name) => name.endsWith('.json'))
    .sort()
    .map((name) => JSON.parse(readFileSync(join(folder, name), 'utf8')) as Tally)
}
