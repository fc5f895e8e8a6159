import { phrase } from '#core/words/phrase.ts'
import {
  existsSync,
  lstatSync,
  mkdirSync,
  readFileSync,
  readdirSync,
  renameSync,
  rmSync,
  rmdirSync,
  statSync,
} from 'node:fs'
import { randomUUID } from 'node:crypto'
import { basename, dirname, join } from 'node:path'
import { allFolderFiles } from '#core/exchange/folder-files.ts'
import { isRunning } from '#core/store/running.ts'
import { staleMs, syncFolder, writeSynced } from '#core/store/whole-copy.ts'
import { attachmentsFolderName } from '#core/words/attachment-file.ts'
import { TarelineError } from '#core/words/problem.ts'

/**
 * How a folder that was written out takes the place of what lies under its name: file by file over files of its own
 * kind, so that the folder is never gone and nothing in it is touched that no export wrote. While that goes on a note
 * in the folder names the new files beside it; whoever finds the note of a program that was ended finishes the work.
 */
const noteName = '.tareline-export'

const ownNames = new Set<string>([...Object.values(allFolderFiles).map(({ file }) => file), noteName])
const attachmentName = /^[0-9a-f]{64}\.(jpg|png|pdf)$/

/** Every file of a folder and of its attachments, by its path in it. */
function filesIn(folder: string): string[] {
  const inner = join(folder, attachmentsFolderName)
  const hasInner = statSync(inner, { throwIfNoEntry: false })?.isDirectory() === true
  return [
    ...readdirSync(folder).filter((name) => !(hasInner && name === attachmentsFolderName)),
    ...(hasInner ? readdirSync(inner).map((name) => `${attachmentsFolderName}/${name}`) : []),
  ]
}

function isOwn(path: string): boolean {
  const [name = '', inner] = path.split('/')
  return inner === undefined ? ownNames.has(name) : attachmentName.test(inner)
}

/** A folder may be replaced only by another of its kind: whatever else lies in it is somebody's. */
export function refuseForeign(folder: string): void {
  if (!existsSync(folder)) return
  if (!statSync(folder).isDirectory())
    throw new TarelineError(
      'not-a-folder',
      phrase('{folder} is a file. Name a folder to write the fleet into.', { folder }),
    )
  const stranger = filesIn(folder).find((path) => !isOwn(path))
  if (stranger !== undefined) {
    throw new TarelineError(
      'folder-in-use',
      phrase('{folder} holds {stranger}, which is not a file of a fleet folder. Name an empty or new folder.', {
        folder,
        stranger,
      }),
    )
  }
}

/** The files of a folder as they are; another text after whatever anybody did to one of them. */
export type FolderState = ReadonlyMap<string, string>

export function stateOf(folder: string): FolderState {
  if (!existsSync(folder)) return new Map()
  return new Map(
    filesIn(folder).map((path) => {
      const { ino, size, mtimeNs } = lstatSync(join(folder, path), { bigint: true })
      return [path, `${ino} ${size} ${mtimeNs}`]
    }),
  )
}

/** A name beside a folder for its new files until they are whole; tells whose they are. */
export const unfinishedFolder = (folder: string): string =>
  join(dirname(folder), `.${basename(folder)}.unfinished-${process.pid}-${randomUUID().slice(0, 8)}`)

function refuseChanged(folder: string, before: FolderState): void {
  refuseForeign(folder)
  const now = stateOf(folder)
  const other = [...new Set([...before.keys(), ...now.keys()])].find((path) => before.get(path) !== now.get(path))
  if (other !== undefined)
    throw new TarelineError(
      'folder-in-use',
      phrase(
        '{other} in {folder} was changed while the fleet was written out. Nothing in the folder was replaced: keep what you need of it, then export again.',
        { other, folder },
      ),
    )
}

/** Moves new files over those of their names, removes those of the old that the new have not, and ends the note. */
function moveOver(unfinished: string, folder: string, stale: readonly string[]): void {
  const fresh = filesIn(unfinished)
  if (fresh.some((path) => path.includes('/'))) mkdirSync(join(folder, attachmentsFolderName), { recursive: true })
  for (const path of fresh) renameSync(join(unfinished, path), join(folder, path))
  for (const path of stale) rmSync(join(folder, path), { force: true })
  const inner = join(folder, attachmentsFolderName)
  if (existsSync(inner) && readdirSync(inner).length === 0) rmdirSync(inner)
  syncFolder(folder)
  rmSync(join(folder, noteName), { force: true })
  rmSync(unfinished, { recursive: true, force: true })
}

/**
 * Puts whole new files in the place of a folder's; before: how the folder was when it was looked at first.
 *
 * Errors: TarelineError `folder-in-use` where somebody has changed the folder since, and then nothing of it is
 * replaced; the system's.
 */
export function placeFolder(unfinished: string, folder: string, before: FolderState): void {
  if (!existsSync(folder)) {
    renameSync(unfinished, folder)
    syncFolder(dirname(folder))
    return
  }
  refuseChanged(folder, before)
  const fresh = new Set(filesIn(unfinished))
  const stale = [...before.keys()].filter((path) => !fresh.has(path) && path !== noteName)
  rmSync(join(folder, noteName), { force: true })
  writeSynced(join(folder, noteName), JSON.stringify({ files: basename(unfinished), stale }))
  moveOver(unfinished, folder, stale)
}

/** Whether new files have begun to take the places of a folder's. */
export const isNoted = (folder: string): boolean => existsSync(join(folder, noteName))

const ownerOf = (name: string): number => Number(/-(\d+)(?:-[\da-f]+)?$/.exec(name)?.[1])

/**
 * Whether nobody can still be writing a folder of that name: its program is gone, for a while where `after` says so.
 */
function isLeft(path: string, after: number): boolean {
  const owner = ownerOf(basename(path))
  const { mtimeMs } = statSync(path, { throwIfNoEntry: false }) ?? { mtimeMs: Date.now() }
  return owner !== process.pid && !isRunning(owner) && Math.abs(Date.now() - mtimeMs) >= after
}

interface Note {
  readonly files: string
  readonly stale: readonly string[]
}

function readNote(folder: string): Note | undefined {
  const path = join(folder, noteName)
  if (!existsSync(path)) return undefined
  try {
    const { files, stale } = JSON.parse(readFileSync(path, 'utf8')) as Partial<Note>
    return { files: basename(String(files)), stale: (stale ?? []).filter(isOwn) }
  } catch {
    // The note itself was cut off: then nothing of the folder had been replaced.
    rmSync(path, { force: true })
    return undefined
  }
}

/**
 * Finishes an export into a folder whose program was ended in the middle of it. Errors: TarelineError `folder-in-use`
 * where it still runs; `folder-unfinished` where its files are gone, and `mustBeWhole` asks for a whole folder.
 */
export function finishCutOff(folder: string, { mustBeWhole }: { readonly mustBeWhole: boolean }): void {
  const note = readNote(folder)
  if (!note) return
  const unfinished = join(dirname(folder), note.files)
  if (existsSync(unfinished)) {
    if (!isLeft(unfinished, 0))
      throw new TarelineError(
        'folder-in-use',
        phrase('Another export into {folder} is not done yet. Wait until it is, then try again.', { folder }),
      )
    moveOver(unfinished, folder, note.stale)
    return
  }
  if (mustBeWhole)
    throw new TarelineError(
      'folder-unfinished',
      phrase('An export into {folder} was cut off, and what is there is part of two. Export the fleet again.', {
        folder,
      }),
    )
}

/**
 * Removes what exports that were ended have left beside a folder, of this version and older ones; a folder that one of
 * them had moved away is put back. What no export wrote stays.
 */
export function sweepExports(parent: string): void {
  if (statSync(parent, { throwIfNoEntry: false })?.isDirectory() !== true) return
  for (const name of readdirSync(parent)) {
    const [, of, kind] = /^\.(.+)\.(unfinished|replaced)-\d+(?:-[\da-f]+)?$/.exec(name) ?? []
    const path = join(parent, name)
    if (of === undefined || !isLeft(path, staleMs) || !statSync(path).isDirectory()) continue
    const folder = join(parent, of)
    if (readNote(folder)?.files === name) continue
    if (kind === 'replaced' && !existsSync(folder)) renameSync(path, folder)
    else if (filesIn(path).every(isOwn)) rmSync(path, { recursive: true, force: true })
  }
}
