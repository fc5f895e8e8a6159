import type Database from 'better-sqlite3'
import { z } from 'zod'
import { numberOf } from '#core/store/rows.ts'
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

const revisionOf = (raw: Database.Database): number => numberOf(raw, 'select revision from ledger')

/**
 * The files that the record holds row for row: those of the last imports, as long as nothing but imports has been done
 * since, which only add to what is there. None where the note is of another state of the record, or none at all.
 */
export function broughtFiles(raw: Database.Database): readonly BroughtFile[] {
  const text = raw.prepare('select text from desk where name = ?').pluck().get(broughtOnDesk)
  try {
    const { data } = note.safeParse(JSON.parse(String(text)))
    return data?.revision === revisionOf(raw) ? data.files : []
  } catch (error) {
    if (error instanceof SyntaxError) return []
    throw error
  }
}

/** Notes the files of an import that has just been taken down (at: stored instant), and those of before that still count. */
export function noteBrought(raw: Database.Database, files: readonly BroughtFile[], at: string): void {
  const isSame = (one: BroughtFile) => (other: BroughtFile) => one.file === other.file && one.sha256 === other.sha256
  const noted = files.filter((file, place) => files.findIndex(isSame(file)) === place).slice(0, mostNoted)
  raw
    .prepare(
      'insert into desk values (?, ?, ?) on conflict (name) do update set text = excluded.text, left_at = excluded.left_at',
    )
    .run(broughtOnDesk, JSON.stringify({ revision: revisionOf(raw), files: noted }), at)
}
