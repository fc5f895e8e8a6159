import type Database from 'better-sqlite3'
import { statSync } from 'node:fs'
import { openToLook, stepOf } from '#core/store/look.ts'
import { lookOver } from '#core/store/look-over.ts'

/**
 * What another program did to the files of an open fleet: its name leads elsewhere; the log that holds its newest saves
 * was taken away; it was written to, by a window of this program or by somebody who laid another file over it.
 */
export type Tampering = 'moved' | 'log-gone' | 'written'

/** How far the record has come: what may never go back while a file is open. */
interface Progress {
  readonly revision: number
  /** Id and time of the newest change in the log. */
  readonly newest: readonly [number, string] | undefined
  /** How often its log was moved into the file. */
  readonly folded: number
}

/** What is asked of a connection before and after each question, prepared once. */
const asked = new WeakMap<Database.Database, Readonly<Record<'progress' | 'changes', Database.Statement>>>()

function askedOf(raw: Database.Database) {
  const known = asked.get(raw)
  if (known) return known
  const made = {
    progress: raw
      .prepare(
        `select (select revision from ledger), (select times from folded), c.id, c.changed_at from (select 1)
          left join change_log c on c.id = (select max(id) from change_log)`,
      )
      .raw(),
    changes: raw.prepare('select total_changes()').pluck(),
  }
  asked.set(raw, made)
  return made
}

function progressOf(raw: Database.Database): Progress {
  type Row = [revision: number, folded: number, id: number | null, changedAt: string]
  const [revision, folded, id, changedAt] = askedOf(raw).progress.get() as Row
  return { revision, folded, newest: id === null ? undefined : [id, changedAt] }
}

/** Whether a file is what it was, or has gone on from there. */
function goesOnFrom(raw: Database.Database, { revision, newest, folded }: Progress): boolean {
  const now = progressOf(raw)
  if (now.revision < revision || now.folded < folded) return false
  if (newest === undefined) return true
  return raw.prepare('select changed_at from change_log where id = ?').pluck().get(newest[0]) === newest[1]
}

const statOf = (file: string) => statSync(file, { bigint: true, throwIfNoEntry: false })

/**
 * Names a file on its disk, whatever it is called; empty where there is none. Windows lets nobody replace an open one.
 */
function identityOf(file: string): string {
  const found = statOf(file)
  if (!found) return ''
  return process.platform === 'win32' ? 'there' : `${found.dev} ${found.ino}`
}

const writtenAt = (file: string): string => {
  const found = statOf(file)
  return found ? `${found.size} ${found.mtimeNs}` : ''
}

/** Whether a file and the log over it fit each other; with an empty log there is nothing that could not. */
const isWhole = async (raw: Database.Database, file: string): Promise<boolean> =>
  (statOf(`${file}-wal`)?.size ?? 0n) === 0n || (await lookOver(raw, stepOf(raw), 'pages')).damage.length === 0

/** Watches the three files of an open fleet: the file, its log, and the log's index. */
export interface FileWatch {
  /**
   * What somebody did to them since; the cheapest question there is, so that it is asked before and after each other.
   */
  look(): Tampering | undefined
  /** What the connection has written itself is well; raw: that connection. */
  accept(raw: Database.Database): void
  /** Whether that connection has written since; then it may have been its own log that went into the file. */
  mayBeOwn(raw: Database.Database): boolean
  /**
   * Whether what was written to the file is its own sequel, as after another window's save, and not another file laid
   * over it. Then it is accepted. Errors: SQLite's, where it can no longer be read.
   */
  isSequel(): Promise<boolean>
}

export function watchFiles(file: string): FileWatch {
  const identity = identityOf(file)
  const sides = new Map<string, string>()
  let written = writtenAt(file)
  let progress: Progress | undefined
  let changes: unknown
  return {
    look: () => {
      if (identityOf(file) !== identity) return 'moved'
      for (const side of [`${file}-wal`, `${file}-shm`]) {
        const [known, now] = [sides.get(side), identityOf(side)]
        // They come with the first question.
        if (known === undefined && now !== '') sides.set(side, now)
        else if (known !== undefined && known !== now) return 'log-gone'
      }
      return writtenAt(file) === written ? undefined : 'written'
    },
    accept: (raw) => {
      written = writtenAt(file)
      progress = progressOf(raw)
      changes = askedOf(raw).changes.get()
    },
    mayBeOwn: (raw) => askedOf(raw).changes.get() !== changes,
    isSequel: async () => {
      const now = writtenAt(file)
      // A connection of its own, since one that is open believes what it has read before.
      const raw = openToLook(file)
      try {
        const isWell = (progress === undefined || goesOnFrom(raw, progress)) && (await isWhole(raw, file))
        if (isWell) written = now
        return isWell
      } finally {
        raw.close()
      }
    },
  }
}
