import { readFileSync, renameSync, rmSync } from 'node:fs'
import { dirname } from 'node:path'
import type { z } from 'zod'
import { syncFolder, unfinishedName, writeSynced } from '#core/store/whole-copy.ts'

/** A small note in a file of its own. One that is missing, cut off or of another make says nothing: null. */
export function readNote<T>(path: string, schema: z.ZodType<T>): T | null {
  try {
    return schema.safeParse(JSON.parse(readFileSync(path, 'utf8'))).data ?? null
  } catch {
    return null
  }
}

/** Puts a note in the place of the one before, whole or not at all. Errors: the system's. */
export function writeNote(path: string, note: unknown): void {
  const unfinished = unfinishedName(path)
  try {
    writeSynced(unfinished, `${JSON.stringify(note, null, 2)}\n`)
    renameSync(unfinished, path)
    syncFolder(dirname(path))
  } finally {
    rmSync(unfinished, { force: true })
  }
}
