import { z } from 'zod'
import { revisionNow } from '#core/store/books.ts'
import { leaveOnDesk, readDesk } from '#core/store/file-state.ts'
import type { Store } from '#core/store/open.ts'
import { broughtOnDesk } from '#core/words/desk.ts'

/** A file whose every row the record holds. */
const broughtFile = z.object({
  file: z.string(),
  bytes: z.number(),
  /** In hexadecimal digits. */
  sha256: z.string(),
  rows: z.number(),
})
export type BroughtFile = z.infer<typeof broughtFile>

const note = z.object({ revision: z.number(), files: z.array(broughtFile) })

/** More than a few imports that follow each other bring. */
const mostNoted = 60

/**
 * The files that the record holds row for row: those of the last imports, as long as nothing but imports has been done
 * since, which only add to what is there. None where the note is of another state of the record, or none at all.
 */
export async function broughtFiles(store: Store): Promise<readonly BroughtFile[]> {
  const text = await readDesk(store.db, broughtOnDesk)
  if (text === null) return []
  try {
    const { data } = note.safeParse(JSON.parse(text))
    return data?.revision === revisionNow(store) ? data.files : []
  } catch (error) {
    if (error instanceof SyntaxError) return []
    throw error
  }
}

/** Notes the files of an import just taken down (at: stored instant), and those of before that still count. */
export async function noteBrought(store: Store, files: readonly BroughtFile[], at: string): Promise<void> {
  const isSame = (one: BroughtFile) => (other: BroughtFile) => one.file === other.file && one.sha256 === other.sha256
  const noted = files.filter((file, place) => files.findIndex(isSame(file)) === place).slice(0, mostNoted)
  await leaveOnDesk(store, broughtOnDesk, JSON.stringify({ revision: revisionNow(store), files: noted }), at)
}
