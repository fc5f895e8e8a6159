import { crc32, deflateRawSync } from 'node:zlib'

export interface ZipEntry {
  /** Plain file name in ASCII, with `/` between folders. */
  readonly name: string
  readonly bytes: Uint8Array
}

/** Sizes in the format have 32 bits; larger ones need an extension that old readers lack. */
const mostZipBytes = 2 ** 32 - 2 ** 20

/** MS-DOS date and time, two seconds fine, in UTC so that the same content makes the same file. */
function dosTime(at: number): { date: number; time: number } {
  const day = new Date(at)
  return {
    date: ((day.getUTCFullYear() - 1980) << 9) | ((day.getUTCMonth() + 1) << 5) | day.getUTCDate(),
    time: (day.getUTCHours() << 11) | (day.getUTCMinutes() << 5) | (day.getUTCSeconds() >> 1),
  }
}

/**
 * A ZIP archive of a few files, deflated, each dated `at` (ms UTC). Layout: PKWARE's APPNOTE.TXT 6.3, sections 4.3.7,
 * 4.3.12 and
 * 4.3.16. Errors: RangeError where it would be larger than `mostZipBytes`.
 */
export function zip(entries: readonly ZipEntry[], at: number): Uint8Array<ArrayBuffer> {
  const { date, time } = dosTime(at)
  const parts: Uint8Array[] = []
  const directory: Uint8Array[] = []
  let offset = 0
  for (const { name, bytes } of entries) {
    const named = Buffer.from(name, 'ascii')
    const packed = deflateRawSync(bytes)
    // Version 2.0, no flags, deflate; then when, what it should come to, and the sizes.
    const facts = Buffer.alloc(26)
    facts.writeUInt16LE(20, 0)
    facts.writeUInt16LE(8, 4)
    facts.writeUInt16LE(time, 6)
    facts.writeUInt16LE(date, 8)
    facts.writeUInt32LE(crc32(bytes), 10)
    facts.writeUInt32LE(packed.byteLength, 14)
    facts.writeUInt32LE(bytes.byteLength, 18)
    facts.writeUInt16LE(named.byteLength, 22)
    const rest = Buffer.alloc(14)
    rest.writeUInt32LE(offset, 10)
    parts.push(Buffer.from('PK\x03\x04', 'latin1'), facts, named, packed)
    directory.push(Buffer.from('PK\x01\x02\x14\x00', 'latin1'), facts, rest, named)
    offset += 4 + facts.byteLength + named.byteLength + packed.byteLength
    if (offset > mostZipBytes) throw new RangeError('the archive would be larger than its format allows')
  }
  const central = Buffer.concat(directory)
  const end = Buffer.alloc(22)
  end.write('PK\x05\x06', 'latin1')
  end.writeUInt16LE(entries.length, 8)
  end.writeUInt16LE(entries.length, 10)
  end.writeUInt32LE(central.byteLength, 12)
  end.writeUInt32LE(offset, 16)
  return new Uint8Array(Buffer.concat([...parts, central, end]))
}
