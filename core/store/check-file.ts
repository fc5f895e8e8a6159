import { phrase } from '#core/words/phrase.ts'
import { sayKept } from '#core/words/kept-phrase.ts'
import type Database from 'better-sqlite3'
import { existsSync } from 'node:fs'
import { resolve } from 'node:path'
import { attachmentsFolder, missingAttachments } from '#core/store/attachments.ts'
import { openToLook, isMarkedOurs, stepOf } from '#core/store/look.ts'
import { type Harm, lookOver, noHarm, sayHarm } from '#core/store/look-over.ts'
import { latestStep } from '#core/store/open.ts'
import { numberOf } from '#core/store/rows.ts'
import { openingError } from '#core/store/sqlite-fault.ts'
import { TarelineError } from '#core/words/problem.ts'

export interface FileCheck {
  readonly file: string
  /** Whole, ours, every reference kept, and not from a newer version of the app. */
  readonly sound: boolean
  readonly step: number
  readonly latestStep: number
  /** What is damaged: pages, the schema, rows, indexes; empty when nothing. */
  readonly complaints: readonly string[]
  readonly harm: Harm
  readonly brokenReferences: number
  /** Attachments that the record names and that are missing or damaged, by SHA-256. */
  readonly missingAttachments: readonly string[]
  /** The outcome in a sentence. */
  readonly message: string
}

function sentence(file: string, step: number, harm: Harm, brokenReferences: number, missing: number): string {
  if (step > latestStep)
    return phrase(
      '{file} was written by a newer version of Tareline (step {step}; this version knows {latestStep}). Install the newer version.',
      { file, step, latestStep },
    )
  if (harm.damage.length > 0)
    return phrase('{file} is damaged ({damage}). Restore the newest copy from its copies folder.', {
      file,
      damage: sayHarm(harm.damage),
    })
  if (harm.indexes.length > 0)
    return phrase(
      '{file} has damaged indexes ({damage}); its rows are whole. Open it in Tareline, which rebuilds them.',
      { file, damage: sayHarm(harm.indexes) },
    )
  if (harm.made)
    return phrase(
      '{file} holds judgments or weights that are not as they were made; its record is whole. Open it in Tareline, which rebuilds them.',
      { file },
    )
  if (brokenReferences > 0)
    return phrase(
      '{file} holds {brokenReferences} broken references. Restore the newest copy from its copies folder.',
      { file, brokenReferences },
    )
  if (missing > 0)
    return phrase(
      '{file} is whole, but {missing, plural, one {# attachment that it names is} other {# attachments that it names are}} missing or damaged. Restore the newest copy, which puts them back, or put back the folder {folder}.',
      { file, missing, folder: attachmentsFolder(file) },
    )
  if (step < latestStep)
    return phrase(
      '{file} is sound. It is at step {step} of {latestStep} and will be updated when it is opened; a copy is kept then.',
      { file, step, latestStep },
    )
  return phrase('{file} is sound, at step {step} of {latestStep}.', { file, step, latestStep })
}

/**
 * Looks a whole fleet file over, with its attachments in any of some folders; nothing of it is changed. Errors:
 * TarelineError `missing`, `not-a-database`, `damaged` where it is too damaged to be looked over, `cannot-open`,
 * `locked`.
 */
export async function checkFile(
  name: string,
  attachmentFolders: readonly string[] = [attachmentsFolder(resolve(name))],
): Promise<FileCheck> {
  const file = resolve(name)
  if (!existsSync(file)) throw new TarelineError('missing', phrase('{file} does not exist. Check the name.', { file }))
  let raw: Database.Database | undefined
  try {
    raw = openToLook(file)
    const tables = numberOf(raw, "select count(*) from sqlite_schema where type = 'table'")
    if (tables === 0 || !isMarkedOurs(raw)) {
      throw new TarelineError(
        'not-a-database',
        phrase('{file} is not a Tareline database. Choose the file of a fleet.', { file }),
      )
    }
    const step = stepOf(raw)
    const harm = step > latestStep ? noHarm : await lookOver(raw, step, 'all')
    const complaints = [...harm.damage, ...harm.indexes].map(sayKept)
    const isWhole = harm.damage.length === 0
    const brokenReferences = isWhole ? (raw.pragma('foreign_key_check') as unknown[]).length : 0
    const missing = isWhole && step <= latestStep ? missingAttachments(raw, attachmentFolders) : []
    const sound =
      missing.length === 0 && step <= latestStep && complaints.length === 0 && !harm.made && brokenReferences === 0
    return {
      file,
      sound,
      step,
      latestStep,
      complaints,
      harm,
      brokenReferences,
      missingAttachments: missing,
      message: sentence(file, step, harm, brokenReferences, missing.length),
    }
  } catch (error) {
    throw openingError(error, file)
  } finally {
    raw?.close()
  }
}
