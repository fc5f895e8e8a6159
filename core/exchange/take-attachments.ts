import { phrase } from '#core/words/phrase.ts'
import { lstatSync, readFileSync, realpathSync } from 'node:fs'
import { basename, join } from 'node:path'
import { setImmediate } from 'node:timers/promises'
import {
  type Complaints,
  type ImportJob,
  type PendingAttachment,
  type RowCounts,
  type TakerOf,
  complaints,
} from '#core/exchange/import-job.ts'
import { findTicket } from '#core/exchange/take-evidence.ts'
import { hashOf, keepAttachment } from '#core/store/attachments.ts'
import type { AttachmentRecord } from '#core/store/ticket-attachments.ts'
import { attachmentsFolderName, checkAttachment, keptName, sizeProblem } from '#core/words/attachment-file.ts'
import { isDrawn, pictureSize, whyNotDrawn } from '#core/words/picture-size.ts'
import { type Problem, TarelineError } from '#core/words/problem.ts'

/** Takes the rows; the files that they name are read by `bringAttachments`. */
export const takeAttachments: TakerOf<'attachments'> = (job) => {
  const say = complaints(job, 'attachments')
  return {
    take: (row, line) => {
      const ticketId = findTicket(job, say, row.scale, row.ticket, line)
      if (ticketId !== undefined) job.attachments.push({ ticketId, row, line })
      return undefined
    },
  }
}

interface Bringing {
  /** The fleet folder. */
  readonly folder: string
  /** The fleet file that they are kept beside. */
  readonly dbFile: string
  readonly onStep: (stage: string) => void
  readonly signal: AbortSignal | undefined
}

/**
 * The path of a plain file of the folder; undefined where there is none. Links are not followed: they could lead out of
 * it.
 */
function plainFile(folder: string, file: string): { path: string; bytes: number } | undefined {
  const path = join(folder, attachmentsFolderName, basename(file))
  const facts = lstatSync(path, { throwIfNoEntry: false })
  const isInside =
    facts?.isFile() === true && realpathSync(path) === join(realpathSync(folder), attachmentsFolderName, basename(file))
  return isInside ? { path, bytes: facts.size } : undefined
}

const inLine = (line: number) => phrase('{file} line {line}', { file: 'attachments.csv', line })

/** What a row names, read and checked; undefined after what is wrong with it was told. */
function readNamed(
  job: ImportJob,
  say: Complaints,
  { row, line }: PendingAttachment,
  folder: string,
): AttachmentRecord | undefined {
  const { file, sha256: given, name } = row
  const found = plainFile(folder, file)
  if (!found) {
    const accepted = phrase('a file in the folder {folder} of the fleet folder', {
      folder: attachmentsFolderName,
    })
    say.say(
      line,
      'file',
      file,
      accepted,
      phrase('there is no such file in the fleet folder; {accepted} is needed.', { accepted }),
    )
    return undefined
  }
  const sayUnfit = ({ accepted, message }: Problem) => say.say(line, 'file', file, accepted, message)
  const unfit = sizeProblem(file, found.bytes)
  if (unfit) {
    sayUnfit(unfit)
    return undefined
  }
  const bytes = readFileSync(found.path)
  const checked = checkAttachment(file, bytes)
  if (!checked.ok) {
    sayUnfit(checked.problem)
    return undefined
  }
  const sha256 = hashOf(bytes)
  if (given !== null && given !== sha256) {
    say.say(
      line,
      'sha256',
      given,
      phrase('{sha256}, which is that of the file, or an empty cell', { sha256 }),
      phrase('{file} is damaged or another file: its SHA-256 is {sha256}.', { file, sha256 }),
    )
    return undefined
  }
  const { type, warning } = checked.value
  if (warning !== null) job.note(`${inLine(line)}: ${warning}`)
  // It may be on record elsewhere, and nothing of a record is left behind for its size.
  const size = type === 'application/pdf' ? undefined : pictureSize(bytes)
  if (size !== undefined && !isDrawn(size))
    job.note(
      phrase('{place}: {file} is kept and not drawn: {why}', { place: inLine(line), file, why: whyNotDrawn(size) }),
    )
  return { sha256, name: keptName(name ?? basename(file), type), type, bytes: bytes.byteLength }
}

/**
 * Reads the files that the rows name, one at a time, and, when nothing at all is wrong with the folder, keeps them
 * beside the fleet file and ties them to their tickets. A file that is kept already keeps its name.
 */
export async function bringAttachments(
  job: ImportJob,
  counts: RowCounts,
  { folder, dbFile, onStep, signal }: Bringing,
): Promise<void> {
  const { attachments, ledger, problems, note } = job
  const say = complaints(job, 'attachments')
  const step = async (words: string) => {
    onStep(words)
    // Lets a cancel be heard and the progress be sent before the next file.
    await setImmediate()
    signal?.throwIfAborted()
  }
  const read: (AttachmentRecord | undefined)[] = []
  for (const [at, pending] of attachments.entries()) {
    await step(phrase('Reading attachment {place} of {count}', { place: at + 1, count: attachments.length }))
    read.push(readNamed(job, say, pending, folder))
  }
  if (problems.problems.length > 0) return
  for (const [at, record] of read.entries()) {
    const pending = attachments[at]
    if (!record || !pending) continue
    await step(phrase('Keeping attachment {place} of {count}', { place: at + 1, count: attachments.length }))
    const {
      row: { file },
      line,
      ticketId,
    } = pending
    if (keepAttachment(dbFile, readFileSync(join(folder, attachmentsFolderName, basename(file)))) !== record.sha256) {
      throw new TarelineError(
        'changed',
        phrase('{file} was changed while the folder was being imported. Nothing was stored; import the folder again.', {
          file,
        }),
      )
    }
    const { isNew, name } = ledger.attach(ticketId, record)
    if (isNew) counts.added += 1
    else counts.same += 1
    if (name !== record.name)
      note(
        phrase('{place}: this very file is kept already as {name}, and keeps that name.', {
          place: inLine(line),
          name,
        }),
      )
  }
}
