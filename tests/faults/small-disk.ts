import { spawnSync } from 'node:child_process'
import { mkdirSync, rmSync, statfsSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'

export interface SmallDisk extends Disposable {
  readonly folder: string
  /** Fills the disk until only so many bytes are free. */
  leave(bytes: number): void
  free(): void
  /** Whether it may be written to from now on. */
  writable(is: boolean): void
}

/** A disk of its own of a few megabytes, in memory; or the reason why there can be none here. */
export function smallDisk(folder: string, megabytes: number): SmallDisk | string {
  if (process.platform !== 'linux') return 'a small disk is mounted on Linux only'
  if (process.getuid?.() !== 0) return 'mounting a small disk needs root'
  mkdirSync(folder, { recursive: true })
  const { status, stderr } = spawnSync('mount', ['-t', 'tmpfs', '-o', `size=${megabytes}m`, 'tmpfs', folder], {
    encoding: 'utf8',
  })
  if (status !== 0) return `a small disk cannot be mounted here: ${(stderr ?? '').trim() || 'mount is missing'}`
  const filler = join(folder, 'filler')
  const free = () => rmSync(filler, { force: true })
  return {
    folder,
    free,
    leave: (bytes) => {
      free()
      const { bavail, bsize } = statfsSync(folder)
      writeFileSync(filler, Buffer.alloc(Math.max(0, bavail * bsize - bytes)))
    },
    writable: (is) => {
      spawnSync('mount', ['-o', `remount,${is ? 'rw' : 'ro'}`, folder])
    },
    [Symbol.dispose]: () => {
      spawnSync('umount', ['-l', folder])
    },
  }
}
