import type { CheckNote, RehearsalNote } from '#core/contracts/safekeeping.ts'
import { noteCheck, noteRehearsal } from '#core/store/care-notes.ts'
import { type FileCheck, checkFile } from '#core/store/check-file.ts'
import { timeNow } from '#core/store/clock.ts'
import { damagedError, isHarm, mend, wordsOf } from '#core/store/look-over.ts'
import { openStore } from '#core/store/open.ts'
import { rehearseRestore } from '#core/store/rehearse-restore.ts'
import { type Arrived, bringToSecondPlace } from '#core/store/second-place.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { keepPhrase } from '#core/words/kept-phrase.ts'
import { phraseLater } from '#core/words/phrase.ts'

/** What is done for the safekeeping of a fleet file beside its copies, in a thread. */
export type CareTask =
  | { readonly kind: 'check file'; readonly dbFile: string }
  | { readonly kind: 'rehearse restore'; readonly dbFile: string }
  | { readonly kind: 'second copy'; readonly dbFile: string; readonly folder: string }

/** What a check found, each in a few words to be said later. */
const foundBy = ({ harm, brokenReferences, missingAttachments }: FileCheck): string[] => [
  ...wordsOf(harm),
  ...(brokenReferences > 0
    ? [
        keepPhrase(phraseLater('{brokenReferences, plural, one {# broken reference} other {# broken references}}'), {
          brokenReferences,
        }),
      ]
    : []),
  ...(missingAttachments.length > 0
    ? [
        keepPhrase(
          phraseLater('{missing, plural, one {# attachment} other {# attachments}} missing or damaged beside the file'),
          { missing: missingAttachments.length },
        ),
      ]
    : []),
]

/**
 * Looks an open fleet file over whole and notes what came of it; what can be made anew is. Errors: TarelineError
 * `damaged`; those of `openStore`.
 */
async function checkOpenFile(file: string, checked: boolean): Promise<CheckNote> {
  const check = await checkFile(file)
  const { harm, step } = check
  const isDamaged = harm.damage.length > 0
  const canMend = !isDamaged && isHarm(harm)
  if (canMend) {
    const store = await openStore(file, { mustExist: true, checked })
    try {
      await mend(store.raw, file, step, harm)
    } finally {
      await store.close()
    }
  }
  const isHarmed = isDamaged || check.brokenReferences > 0 || check.missingAttachments.length > 0
  const note: CheckNote = {
    at: toStoredInstant(timeNow()),
    by: 'person',
    outcome: isHarmed ? 'harmed' : canMend ? 'mended' : 'whole',
    found: foundBy(check),
  }
  noteCheck(file, note)
  if (isDamaged) throw damagedError(file, harm)
  return note
}

async function rehearse(file: string): Promise<RehearsalNote | null> {
  const note = await rehearseRestore(file)
  if (note) noteRehearsal(file, note)
  return note
}

/** Does a task for the safekeeping of a file. Errors: those of the functions that it calls. */
export async function doCareTask(
  task: CareTask,
  checked: boolean,
): Promise<CheckNote | RehearsalNote | Arrived | null> {
  if (task.kind === 'check file') return await checkOpenFile(task.dbFile, checked)
  return task.kind === 'rehearse restore' ? await rehearse(task.dbFile) : bringToSecondPlace(task.dbFile, task.folder)
}
