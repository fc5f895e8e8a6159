import { readFileSync } from 'node:fs'
import { lstat, open, realpath, rename, rm, stat } from 'node:fs/promises'
import { homedir } from 'node:os'
import { basename, dirname, isAbsolute, join, parse, relative, sep } from 'node:path'
import { z } from 'zod'
import { refusal } from '#core/api/answer-errors.ts'
import { type AllowedFolder, notAllowed } from '#core/contracts/places.ts'
import { examplePaths, pathComplaint } from '#core/contracts/within.ts'
import { timeNow } from '#core/store/clock.ts'
import { toStoredInstant } from '#core/words/instant.ts'
import { codeOf, TarelineError } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'

/**
 * Which folders of this computer windows may name by a typed path: the one rule, for whatever reads, writes or opens
 * what a person typed. Files that are picked in a window, and the command line, need none.
 */
export interface AllowedPlaces {
  /** Whether folders are picked in the system's own window; then typing one allows nothing. */
  readonly byPicking: boolean
  list(): Promise<AllowedFolder[]>
  /**
   * The path as the disk knows it, without any link in it, where it lies within an allowed folder. Errors: `REFUSED`
   * with `place-not-allowed` and, as its value, the folder that would have to be allowed.
   */
  real(path: string, is: 'file' | 'folder'): Promise<string>
  /** Allows a folder that a person typed and confirmed. Errors: TarelineError. */
  allow(folder: string): Promise<AllowedFolder>
  /** Has the person pick one. Errors: TarelineError. */
  pick(startAt: string | null): Promise<AllowedFolder | null>
  takeBack(folder: string): Promise<void>
}

const mostKept = 200
const kept = z.object({ folder: z.string(), why: z.enum(['picked', 'typed']), allowedAt: z.string() })
const keptList = z.object({ folders: z.array(kept).max(mostKept) })

/** A full path of another system's kind would be taken as a name within whatever folder the app was started in. */
function pathHere(path: string): string {
  if (isAbsolute(path)) return path
  throw new TarelineError(
    'not-a-path',
    phrase('{path} is not a full path on this computer. A full path is accepted, such as {examplePaths}.', {
      path,
      examplePaths: examplePaths[process.platform === 'win32' ? 'windows' : 'other'],
    }),
  )
}

/**
 * A path as the disk knows it: every link followed, also where its last names do not exist yet. Undefined where that
 * cannot be told, as behind a link that leads nowhere or a folder that may not be looked into.
 */
async function realOf(path: string): Promise<string | undefined> {
  try {
    return await realpath(path)
  } catch (error) {
    if (codeOf(error) === 'EACCES' || codeOf(error) === 'EPERM' || codeOf(error) === 'ELOOP') return undefined
    // A link that leads nowhere would lead out of its folder once something is written through it.
    const isThere = await lstat(path).then(
      () => true,
      () => false,
    )
    const above = dirname(path)
    if (isThere || above === path) return undefined
    const real = await realOf(above)
    return real === undefined ? undefined : join(real, basename(path))
  }
}

/** Names that a folder keeps out of sight, where programs keep what is nobody else's, such as keys. */
const isHidden = (name: string): boolean => name.startsWith('.') || /^appdata$/i.test(name)

/**
 * Whether a path lies in a folder or is it; what is hidden below a folder is reached only where it is allowed itself.
 */
function liesIn(path: string, folder: string): boolean {
  const way = relative(folder, path)
  if (isAbsolute(way)) return false
  const names = way.split(sep)
  return names[0] !== '..' && !names.some(isHidden)
}

interface Options {
  /** Where the folders are kept that a person allowed; read anew at each question, since another run may change it. */
  readonly keptIn: string
  /** Folders that are allowed without having been asked for. */
  readonly always: () => readonly string[]
  /** The system's own window for picking a folder, where there is one. */
  readonly pickFolder?: (startAt: string | null) => Promise<string | null>
}

/** Whole disks and system folders: nobody's files lie in them alone. */
function isTooWide(folder: string): boolean {
  const { root } = parse(folder)
  if (process.platform === 'win32')
    return folder.toLowerCase() === parse(homedir()).root.toLowerCase() || /^[a-z]:\\(?:windows|users)$/i.test(folder)
  return (
    folder === root ||
    /^\/(?:bin|boot|dev|etc|home|lib\w*|proc|root|run|sbin|sys|usr|var|Users|System|Library)$/.test(folder)
  )
}

export function allowedPlaces({ keptIn, always, pickFolder }: Options): AllowedPlaces {
  /** A list that is missing or cannot be read allows nothing. */
  const readKept = (): z.infer<typeof keptList>['folders'] => {
    try {
      return keptList.parse(JSON.parse(readFileSync(keptIn, 'utf8'))).folders
    } catch (error) {
      if (codeOf(error) === 'ENOENT' || error instanceof SyntaxError || error instanceof z.ZodError) return []
      throw error
    }
  }

  const keep = async (folders: z.infer<typeof keptList>['folders']): Promise<void> => {
    const unfinished = `${keptIn}.${process.pid}.unfinished`
    try {
      // The list is its user's alone, whatever the process's other files are.
      const file = await open(unfinished, 'w', 0o600)
      try {
        await file.writeFile(`${JSON.stringify({ folders }, null, 2)}\n`)
        await file.sync()
      } finally {
        await file.close()
      }
      await rename(unfinished, keptIn)
    } finally {
      await rm(unfinished, { force: true })
    }
  }

  let turns: Promise<unknown> = Promise.resolve()
  const inTurn = <T>(work: () => Promise<T>): Promise<T> => {
    const turn = turns.then(work)
    turns = turn.catch(() => undefined)
    return turn
  }

  const standing = async (): Promise<string[]> => {
    const folders = await Promise.all(always().map(realOf))
    return [...new Set(folders.filter((folder) => folder !== undefined))].filter((folder) => !isTooWide(folder))
  }

  const add = (typed: string, why: 'picked' | 'typed'): Promise<AllowedFolder> =>
    inTurn(async () => {
      const folder = pathComplaint(pathHere(typed)) === undefined ? await realOf(typed) : undefined
      if (folder === undefined || pathComplaint(folder) !== undefined)
        throw new TarelineError('no-folder', phrase('{typed} cannot be opened. Nothing was allowed.', { typed }))
      if (isTooWide(folder))
        throw new TarelineError(
          'too-wide',
          phrase("{typed} holds far more than a fleet's files. Name a folder within it. Nothing was allowed.", {
            typed,
          }),
        )
      // A folder that an export is still to make is named before it is there.
      const found = await stat(folder).catch(() => stat(dirname(folder)).catch(() => undefined))
      if (!found?.isDirectory())
        throw new TarelineError(
          'no-folder',
          phrase('There is no folder {typed} on this computer. Nothing was allowed.', { typed }),
        )
      const before = readKept()
      const known = before.find((each) => each.folder === folder)
      if (known) return known
      if (before.length >= mostKept)
        throw new TarelineError(
          'too-many-places',
          phrase('{mostKept} folders are allowed already. Take one back first. Nothing was allowed.', { mostKept }),
        )
      const allowed = { folder, why, allowedAt: toStoredInstant(timeNow()) }
      await keep([...before, allowed])
      return allowed
    })

  return {
    byPicking: pickFolder !== undefined,
    list: async () => [
      ...(await standing()).map((folder) => ({ folder, why: 'always' as const, allowedAt: null })),
      ...readKept(),
    ],
    real: async (path, is) => {
      const typed = pathHere(path)
      // Kept folders stand as they were when they were allowed: a link put in the place of one leads elsewhere.
      const folders = [...(await standing()), ...readKept().map(({ folder }) => folder)]
      const isInside = (place: string) => folders.some((folder) => liesIn(place, folder))
      // Behind a name that is not there yet, .. would lead back to one that is and may be a link.
      const real = pathComplaint(typed) === undefined ? await realOf(typed) : undefined
      if (real !== undefined && pathComplaint(real) === undefined && isInside(real)) return real
      if (real === undefined && isInside(typed))
        throw new TarelineError(
          'not-readable',
          phrase('{path} cannot be opened: a link in it leads nowhere, or one of its folders is closed to you.', {
            path,
          }),
        )
      const folder = is === 'folder' ? typed : dirname(typed)
      throw refusal({
        code: notAllowed,
        field: '',
        value: folder,
        accepted: '',
        message: phrase(
          "{path} lies outside the folders that Tareline's windows may use. Allow {folder} first, here or under About. Nothing was read or written.",
          { path, folder },
        ),
      })
    },
    allow: async (folder) => {
      if (pickFolder)
        throw new TarelineError('pick-it', phrase('In this window a folder is picked, not typed. Nothing was allowed.'))
      return await add(folder, 'typed')
    },
    pick: async (startAt) => {
      if (!pickFolder)
        throw new TarelineError('type-it', phrase('In this window a folder is typed, not picked. Nothing was allowed.'))
      const folder = await pickFolder(startAt)
      return folder === null ? null : await add(folder, 'picked')
    },
    takeBack: (folder) =>
      inTurn(async () => {
        const before = readKept()
        const left = before.filter((each) => each.folder !== folder)
        if (left.length === before.length)
          throw new TarelineError(
            'no-such-place',
            phrase('{folder} is not among the folders that were allowed.', { folder }),
          )
        await keep(left)
      }),
  }
}
