import { mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { isRunning } from '#core/store/running.ts'
import { codeOf } from '#core/words/problem.ts'

/**
 * Makes a folder for the files of this run, which its user alone may read, and removes those that runs of this kind
 * left when they were killed. A folder of another user stays: it cannot be removed.
 */
export function makeRunFolder(kind: 'inbox' | 'window' | 'rehearsal' | 'look', within = tmpdir()): string {
  const start = `tareline-${kind}-`
  for (const name of readdirSync(within)) {
    const pid = Number(new RegExp(`^${start}(\\d+)-\\w{6}$`).exec(name)?.[1])
    if (!Number.isInteger(pid) || pid === 0 || isRunning(pid)) continue
    try {
      rmSync(join(within, name), { recursive: true, force: true })
    } catch (error) {
      if (!['EACCES', 'EPERM'].includes(codeOf(error) ?? '')) throw error
    }
  }
  return mkdtempSync(join(within, `${start}${process.pid}-`))
}
