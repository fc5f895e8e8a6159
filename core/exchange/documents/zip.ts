import { crc32, deflateRawSync } from 'node:zlib'

const zero = 48
const dot = 46
const minus = 45
/** More than any number needs. */
const margin = 64

/**
 * Text written straight into bytes, for answers of a thousand million of them: as strings, the pieces alone would keep
 * the collector at work. The same memory serves again after `clear`.
 */
export class ByteText {
  #bytes = new Uint8Array(1 << 20)
  #view = Buffer.from(this.#bytes.buffer)
  #length = 0

  get length(): number {
    return this.#length
  }

  #grow(more: number): void {
    const larger = new Uint8Array(2 * (this.#length + more))
    larger.set(this.#bytes.subarray(0, this.#length))
    this.#bytes = larger
    this.#view = Buffer.from(larger.buffer)
  }

  /** Any text, in UTF-8. */
  text(text: string): void {
    // A UTF-16 unit takes at most three bytes.
    const most = 3 * text.length
    if (this.#length + most > this.#bytes.length) this.#grow(most)
    this.#length += this.#view.write(text, this.#length)
  }

  /** Bytes of text made ready before. */
  bytes(bytes: Uint8Array): void {
    if (this.#length + bytes.length > this.#bytes.length) this.#grow(bytes.length)
    this.#bytes.set(bytes, this.#length)
    this.#length += bytes.length
  }

  #digits(value: number, least: number): void {
    let count = least
    for (let power = 10 ** least; power <= value; power *= 10) count += 1
    let rest = value
    for (let place = this.#length + count - 1; place >= this.#length; place -= 1) {
      const next = Math.floor(rest / 10)
      this.#bytes[place] = zero + rest - 10 * next
      rest = next
    }
    this.#length += count
  }

  /** A finite number below 10¹⁵, rounded to so many decimal places; zeros at the end are left out. */
  number(value: number, places: number): void {
    if (this.#length + margin > this.#bytes.length) this.#grow(margin)
    const unit = 10 ** places
    let scaled = Math.round(Math.abs(value) * unit)
    if (value < 0 && scaled > 0) this.#bytes[this.#length++] = minus
    let left = places
    while (left > 0 && scaled % 10 === 0) {
      scaled /= 10
      left -= 1
    }
    const part = 10 ** left
    const whole = Math.floor(scaled / part)
    this.#digits(whole, 1)
    if (left === 0) return
    this.#bytes[this.#length++] = dot
    this.#digits(scaled - whole * part, left)
  }

  /** What was written from one place up to another; good until more is written. */
  slice(from = 0, to = this.#length): Uint8Array<ArrayBuffer> {
    return this.#bytes.subarray(from, to)
  }

  clear(): void {
    this.#length = 0
  }
}

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
