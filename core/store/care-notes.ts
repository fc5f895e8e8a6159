import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { type CheckNote, type RehearsalNote, checkNote, rehearsalNote } from '#core/contracts/safekeeping.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { readNote, writeNote } from '#core/store/note-file.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'

/**
 * How a fleet file has been cared for is noted among its copies and not in the file: so it outlives the file's end, a
 * restore takes nothing of it back, and it is no part of the record.
 */
const noteOf = (file: string, what: 'checked' | 'rehearsed'): string => join(copiesFolder(file), `${what}.json`)

export const readCheckNote = (file: string): CheckNote | null => readNote(noteOf(file, 'checked'), checkNote)
export const readRehearsalNote = (file: string): RehearsalNote | null =>
  readNote(noteOf(file, 'rehearsed'), rehearsalNote)

/** A note that finds no room is left out: what it tells of has been done all the same. */
function put(file: string, what: 'checked' | 'rehearsed', note: CheckNote | RehearsalNote): void {
  try {
    mkdirSync(copiesFolder(file), { recursive: true })
    writeNote(noteOf(file, what), note)
  } catch (error) {
    if (faultOf(error) === undefined) throw error
  }
}

export const noteCheck = (file: string, note: CheckNote): void => put(file, 'checked', note)
export const noteRehearsal = (file: string, note: RehearsalNote): void => put(file, 'rehearsed', note)
