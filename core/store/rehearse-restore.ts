import type Database from 'better-sqlite3'
import { rmSync, statSync } from 'node:fs'
import { basename, join, resolve } from 'node:path'
import type { RehearsalNote } from '#core/contracts/safekeeping.ts'
import { attachmentsFolder, missingAttachments } from '#core/store/attachments.ts'
import { timeNow } from '#core/store/clock.ts'
import { listCopyNames } from '#core/store/copies.ts'
import { copiesFolder } from '#core/store/copy-names.ts'
import { type FileFacts, readFileFacts } from '#core/store/file-facts.ts'
import { withLook } from '#core/store/look.ts'
import { lookOver, wordsOf } from '#core/store/look-over.ts'
import { latestStep, openStore } from '#core/store/open.ts'
import { attachmentsOfCopy, bringBeside } from '#core/store/restore.ts'
import { countRows } from '#core/store/rows.ts'
import { makeRunFolder } from '#core/store/run-folder.ts'
import { recordDigest } from '#core/store/seals.ts'
import { faultOf } from '#core/store/sqlite-fault.ts'
import { publish } from '#core/store/whole-copy.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { TarelineError } from '#core/words/problem.ts'
import { keepPhrase } from '#core/words/kept-phrase.ts'
import { phraseLater } from '#core/words/phrase.ts'

/** What is compared of a copy and of what was restored from it. */
interface Content {
  /** Of every row of the record. */
  readonly digest: string
  readonly rows: ReadonlyMap<string, number>
  readonly facts: FileFacts
}

const contentOf = (file: string): Content =>
  withLook(file, (raw) => ({ digest: recordDigest(raw), rows: countRows(raw), facts: readFileFacts(raw, file) }))

/** What both must have in common however large their files are: the figures that the list of copies shows. */
const toldOf = ({ bytes: _, ...facts }: FileFacts): string => JSON.stringify(facts)

/** Notes on the desk and of what is behind may come while a copy is written; all else is as many as it was. */
const besideTheRecord: ReadonlySet<string> = new Set(['desk', 'behind_fleet', 'seal', 'unsealed'])

/** How what was restored differs from its copy, in words; undefined: not at all. */
function differenceOf(copy: Content, restored: Content): string | undefined {
  for (const [table, rows] of copy.rows)
    if (!besideTheRecord.has(table) && restored.rows.get(table) !== rows)
      return keepPhrase(
        phraseLater('The copy has {rows, plural, one {# row} other {# rows}} in {table}, and {back} came back.'),
        { rows, table, back: restored.rows.get(table) ?? 0 },
      )
  if (copy.digest !== restored.digest) return keepPhrase(phraseLater('Rows came back other than they are in the copy.'))
  return undefined
}

/** What is wrong with a restored file, in words, opened as a window opens it; undefined: nothing. */
async function troubleOf(raw: Database.Database, file: string, copy: Content): Promise<string | undefined> {
  const [found] = wordsOf(await lookOver(raw, latestStep, 'all'))
  if (found !== undefined) return keepPhrase(phraseLater('What came back is not whole: {found}.'), { found })
  const broken = (raw.pragma('foreign_key_check') as unknown[]).length
  if (broken > 0)
    return keepPhrase(
      phraseLater('What came back has {broken, plural, one {# broken reference} other {# broken references}}.'),
      { broken },
    )
  return toldOf(readFileFacts(raw, file)) === toldOf(copy.facts)
    ? undefined
    : keepPhrase(phraseLater('What came back does not hold what the list of copies says of it.'))
}

/**
 * Restores a copy into a folder of its own, opens it as a window would, and compares. Answers its rows, and what there
 * is to say though all of them came back.
 */
async function rehearse(file: string, copy: string, folder: string): Promise<Pick<RehearsalNote, 'rows' | 'words'>> {
  const target = join(folder, basename(file))
  let missing = 0
  const { path } = await bringBeside(copy, target, (copied) => {
    missing = missingAttachments(copied, [...attachmentsOfCopy(copy), attachmentsFolder(file)]).length
    return missing
  })
  const content = contentOf(copy)
  const difference = differenceOf(content, contentOf(path))
  if (difference !== undefined) throw new TarelineError('not-the-same', difference)
  publish(path, target)
  const store = await openStore(target, { mustExist: true })
  try {
    const trouble = await troubleOf(store.raw, target, content)
    if (trouble !== undefined) throw new TarelineError('not-the-same', trouble)
  } finally {
    await store.close()
  }
  return {
    rows: [...content.rows.values()].reduce((sum, rows) => sum + rows, 0),
    words:
      missing === 0
        ? ''
        : keepPhrase(
            phraseLater(
              '{missing, plural, one {# attachment that it names is} other {# attachments that it names are}} nowhere to be found.',
            ),
            { missing },
          ),
  }
}

/** What hindered a rehearsal without telling anything of the copy, in words; undefined: it did tell. */
function hindranceOf(error: unknown, folder: string): string | undefined {
  const code = error instanceof TarelineError ? error.code : faultOf(error)
  if (code === 'disk-full')
    return keepPhrase(phraseLater('There was no room in {folder} to try it. Free some space on that disk.'), { folder })
  if (code === 'no-such-copy')
    return keepPhrase(phraseLater('The copy went to make room for newer ones while it was being tried.'))
  if (code === 'read-only')
    return keepPhrase(phraseLater('Nothing can be written to {folder}, where it would be tried.'), { folder })
  return undefined
}

function failureOf(error: unknown): string {
  if (error instanceof TarelineError)
    return error.code === 'copy-damaged'
      ? keepPhrase(
          phraseLater(
            'The newest copy is damaged, so that nothing can be restored from it. Make another copy, and check the disk.',
          ),
        )
      : error.message
  if (faultOf(error) === undefined) throw error
  return keepPhrase(phraseLater('The copy could not be read: {why}.'), {
    why: error instanceof Error ? error.message : String(error),
  })
}

/**
 * Tries a restore of the newest copy of a file without touching the file: into a folder of its own, by the way that a
 * restore goes, opened as a window opens it, looked over whole, and every row compared. Null where there is no copy.
 */
export async function rehearseRestore(name: string, now = timeNow()): Promise<RehearsalNote | null> {
  const file = resolve(name)
  const [newest] = listCopyNames(file)
  if (!newest) return null
  const copy = join(copiesFolder(file), newest.name)
  const madeAt = newest.at ?? statSync(copy).mtimeMs
  const note = { at: toStoredInstant(now), copy: newest.name, copyMadeAt: toStoredInstant(madeAt) }
  const folder = makeRunFolder('rehearsal')
  try {
    return { ...note, outcome: 'restored', ...(await rehearse(file, copy, folder)) }
  } catch (error) {
    const hindrance = hindranceOf(error, folder)
    return hindrance === undefined
      ? { ...note, outcome: 'failed', words: failureOf(error), rows: 0 }
      : { ...note, outcome: 'hindered', words: hindrance, rows: 0 }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}
