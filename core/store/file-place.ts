import { phrase } from '#core/words/phrase.ts'
import { execFileSync } from 'node:child_process'
import { readFileSync, readdirSync, realpathSync, statSync, statfsSync } from 'node:fs'
import { homedir } from 'node:os'
import { basename, dirname, parse, resolve } from 'node:path'
import { TarelineError } from '#core/words/problem.ts'

/**
 * File systems that other machines share, by the number that Linux has for each (statfs(2), linux/magic.h), as people
 * call them. In them SQLite's log cannot be shared, and locks may not be kept.
 */
const sharedTypes: ReadonlyMap<number, string> = new Map([
  [0x6969, 'NFS'],
  [0x517b, 'SMB'],
  [0xff534d42, 'SMB'],
  [0xfe534d42, 'SMB'],
  [0x5346414f, 'AFS'],
  [0x6b414653, 'AFS'],
  [0x73757245, 'Coda'],
  [0x564c, 'NCP'],
  [0x00c36400, 'Ceph'],
  [0x0bd00bd0, 'Lustre'],
  [0x7461636f, 'OCFS2'],
  [0x01161970, 'GFS2'],
  [0x01021997, '9P'],
])
/** Whatever a program serves as a file system: which, the mount tells. */
const servedByProgram = 0x65735546

/** One mounted file system: where, of which kind, and from what. */
export interface Mount {
  readonly at: string
  readonly type: string
  readonly source: string
}

const octal = (text: string) =>
  text.replaceAll(/\\([0-7]{3})/g, (_, digits: string) => String.fromCodePoint(Number.parseInt(digits, 8)))

/** Reads Linux's list of mounts: /proc/self/mountinfo, proc_pid_mountinfo(5). */
export const readMountInfo = (text: string): Mount[] =>
  text.split('\n').flatMap((line) => {
    const [before = '', after] = line.split(' - ')
    const at = before.split(' ')[4]
    const [type, source] = after?.split(' ') ?? []
    return at === undefined || type === undefined ? [] : [{ at: octal(at), type, source: octal(source ?? '') }]
  })

/** Reads what mount(8) of macOS prints: `SOURCE on PLACE (TYPE, …)`. */
export const readMountList = (text: string): Mount[] =>
  text.split('\n').flatMap((line) => {
    const [, source = '', at = '', type = ''] = /^(.*) on (\/.*) \((\w+)[,)]/.exec(line) ?? []
    return at === '' ? [] : [{ at, type, source }]
  })

/** The mount that a folder lies in: the deepest above it, the last of several at one place. */
export function mountOf(folder: string, mounts: readonly Mount[]): Mount | undefined {
  const above = mounts.filter(({ at }) => folder === at || folder.startsWith(at.endsWith('/') ? at : `${at}/`))
  return above.toSorted((a, b) => a.at.length - b.at.length).at(-1)
}

/** Kinds of mounts that reach another machine, by how their names begin. */
const reachesOut =
  /^(?:nfs|smb|cifs|afp|webdav|ncp|9p|virtiofs|ceph|fuse\.(?:ssh|smb|cifs|nfs|afp|dav|ftp|curlftp|s3|http|gvfs|ceph|gluster))/i

/** How a mount reaches another machine; undefined where it does not. */
export function sharedMount({ type, source }: Mount): string | undefined {
  if (reachesOut.test(type)) return type.replace(/^fuse\./, '')
  // A program that serves another machine's files names it: `host:/folder`, `//host/share`, `https://host`.
  return /^fuse(?:\.|$)/.test(type) && /:|^\/\//.test(source) ? type.replace(/^fuse\./, '') : undefined
}

/** Whether a path of Windows leads to another machine, as a mapped drive does once it is resolved. */
export const isNetworkPath = (path: string): boolean =>
  /^(?:\\\\\?\\UNC\\|\\\\(?![?.]\\))/i.test(path.replaceAll('/', '\\'))

/** What a folder shows that some program keeps in step with other machines; names no program. */
export interface FolderSigns {
  readonly folder: string
  /** Names in it. */
  readonly names: readonly string[]
  /** The hidden names of the folders above it, up to one's home. */
  readonly hiddenAbove: readonly string[]
  /** Size of the fleet file, and how much of it lies on the disk; undefined where it is not there yet. */
  readonly file: { readonly bytes: number; readonly blocks: number } | undefined
}

const isSyncMark = (name: string): boolean =>
  /^\.(?:sync|syncing|_sync)(?:[._-].*)?$/i.test(name) || /^\..*sync.*\.(?:db|log|lock)$/i.test(name)

/** An empty file is smaller; a smaller one may lie within its directory entry. */
const surelyOnDisk = 65_536

/**
 * What tells that a folder is kept in step with other machines, as part of a sentence; undefined where nothing does.
 */
export function syncSign(file: string, { folder, names, hiddenAbove, file: found }: FolderSigns): string | undefined {
  if (/\/Library\/(?:CloudStorage|Mobile Documents)(?:\/|$)/.test(folder))
    return phrase('it is in the place where this system keeps such folders')
  const mark = [...names, ...hiddenAbove].find(isSyncMark)
  if (mark !== undefined) return phrase('{mark} lies there, which such a program leaves', { mark })
  const stem = parse(file).name
  const twin = names.find((name) => name !== basename(file) && name.startsWith(stem) && /conflict/i.test(name))
  if (twin !== undefined)
    return phrase('{twin} lies beside it, as such a program leaves where two machines saved', { twin })
  return found && found.bytes > surelyOnDisk && found.blocks === 0
    ? phrase('the file itself is not on this disk, only its name')
    : undefined
}

const quietly = <T>(ask: () => T): T | undefined => {
  try {
    return ask()
  } catch {
    // What cannot be looked at is no sign; whoever opens the file is told what hinders that.
    return undefined
  }
}

/** The folder with every link and mapped drive followed, or the nearest above it that is there. */
function realFolder(folder: string): string {
  const found = quietly(() => realpathSync.native(folder))
  const above = dirname(folder)
  return found ?? (above === folder ? folder : realFolder(above))
}

/** How a folder is shared with other machines; undefined where it is this machine's own. */
function sharedAs(folder: string): string | undefined {
  if (process.platform === 'win32') return isNetworkPath(folder) ? phrase('a path of another machine') : undefined
  if (process.platform === 'darwin') {
    const list = quietly(() => execFileSync('/sbin/mount', { encoding: 'utf8', timeout: 2000 }))
    const mount = mountOf(folder, readMountList(list ?? ''))
    return mount && sharedMount(mount)
  }
  const type = quietly(() => statfsSync(folder).type)
  if (type === undefined) return undefined
  const known = sharedTypes.get(Number(BigInt.asUintN(32, BigInt(type))))
  if (known !== undefined || type !== servedByProgram) return known
  const mount = mountOf(folder, readMountInfo(quietly(() => readFileSync('/proc/self/mountinfo', 'utf8')) ?? ''))
  return mount && sharedMount(mount)
}

/** Hidden names of the folders above one, as far as they are one's own. */
function hiddenAbove(folder: string): string[] {
  const [home, above] = [homedir(), dirname(folder)]
  if (above === folder || folder === home || !above.startsWith(home) || above === home) return []
  const hidden = quietly(() => readdirSync(above).filter((name) => name.startsWith('.'))) ?? []
  return [...hidden, ...hiddenAbove(above)]
}

/** Folders that were found to be fit: where a folder lies does not change while the program runs. */
const fit = new Set<string>()

/**
 * Refuses a fleet file where other machines or programs would meddle with it. Errors: TarelineError `unfit-place`, with
 * what is wrong with its folder.
 */
export function refuseUnfitPlace(name: string): void {
  const file = resolve(name)
  const folder = realFolder(dirname(file))
  const move = phrase('Move it into a folder of this machine’s own disk; other desks reach it there through a house.')
  if (!fit.has(folder)) {
    const shared = sharedAs(folder)
    if (shared !== undefined)
      throw new TarelineError(
        'unfit-place',
        phrase(
          '{file} lies on a network share ({shared}), where saves of two machines could overwrite each other. {move}',
          { file, shared, move },
        ),
      )
  }
  const found = quietly(() => statSync(file))
  const sign = syncSign(file, {
    folder,
    names: quietly(() => readdirSync(folder)) ?? [],
    hiddenAbove: fit.has(folder) ? [] : hiddenAbove(folder),
    // Windows does not tell.
    file: found && process.platform !== 'win32' ? { bytes: found.size, blocks: found.blocks } : undefined,
  })
  if (sign !== undefined)
    throw new TarelineError(
      'unfit-place',
      phrase(
        '{file} lies in a folder that another program keeps in step with other machines: {sign}. Such a program takes half-written files along and lays older ones over newer. {move}',
        { file, sign, move },
      ),
    )
  fit.add(folder)
}

/** Errors: TarelineError `unfit-place` where SQLite could not begin its log, which needs memory that programs share. */
export function refuseWithoutLog(file: string, mode: unknown): void {
  if (mode === 'wal') return
  throw new TarelineError(
    'unfit-place',
    phrase(
      '{file} lies where SQLite cannot keep its log beside it (journal mode {mode}), as on a network share. Move it into a folder of this machine’s own disk; other desks reach it there through a house.',
      { file, mode: String(mode) },
    ),
  )
}
