import { zipSync } from 'fflate'

export interface ZipEntry {
  /** Plain file name in ASCII, with `/` between folders. */
  readonly name: string
  readonly bytes: Uint8Array
}

/** The format's dates are wall clock without a zone; as UTC the same content makes the same file everywhere. */
function wallClockInUtc(at: number): Date {
  const day = new Date(at)
  return new Date(
    day.getUTCFullYear(),
    day.getUTCMonth(),
    day.getUTCDate(),
    day.getUTCHours(),
    day.getUTCMinutes(),
    day.getUTCSeconds(),
  )
}

/** A ZIP archive of a few files of less than 4 GB together, deflated, each dated `at` (ms UTC). */
export const zip = (entries: readonly ZipEntry[], at: number): Uint8Array<ArrayBuffer> =>
  zipSync(Object.fromEntries(entries.map(({ name, bytes }) => [name, bytes])), { mtime: wallClockInUtc(at) })
