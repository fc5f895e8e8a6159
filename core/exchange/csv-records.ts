import { phrase } from '#core/words/phrase.ts'
import { type Hash, createHash } from 'node:crypto'
import { type FileHandle, open } from 'node:fs/promises'

/** What is wrong with the text of a CSV file itself. `line` is the first line of the record at fault. */
export interface CsvFault {
  readonly line: number
  readonly value: string
  readonly accepted: string
}

/** Takes the records of a file one after another; the cells' line is the first one of their record. */
export interface RecordTaker {
  record(cells: string[], line: number): void
  /** Takes a record without a quote as it stands in the text, from its start to its end; false has it split. */
  plain?(text: string, start: number, end: number, line: number): boolean
  fault(fault: CsvFault): void
}

export interface CsvScanner {
  /** Feeds whole or partial lines of text. */
  take(text: string): void
  /** Says that no more text follows. */
  end(): void
}

/** More text than any row of ours holds: reading on for its end would only fill the memory. */
const longestRecord = 1_000_000
const notTooLong = () => phrase('a row of at most {most, number} characters', { most: longestRecord })

const firstLine = (text: string) => text.split(/[\r\n]/, 1)[0] ?? ''

/**
 * Splits CSV text into records as RFC 4180 has it: commas (or another delimiter of one character), cells quoted where
 * they hold a comma, quote or line break, a quote written twice inside quotes. Line breaks are CR LF, LF or CR, told by
 * the first one. Empty lines are passed over.
 *
 * A record without a quote is its text split at the commas, which is what makes a million of them quick; csv-parse
 * gives the same cells (a test holds the two together) and takes more than twice as long.
 */
export function csvScanner({ record, plain: takePlain, fault }: RecordTaker, delimiter = ','): CsvScanner {
  let rest = ''
  let line = 1
  let lineBreak: '\n' | '\r' | undefined
  /** A quote never closes, or a row never ends: where the next record begins cannot be told. */
  let lost = false

  const refuseLong = (text: string) => {
    lost = true
    fault({ line, value: firstLine(text.slice(0, 40)), accepted: notTooLong() })
  }

  const plain = (text: string, start: number, stop: number) => {
    if (stop - start > longestRecord) return refuseLong(text.slice(start, stop))
    const end = lineBreak === '\n' && stop > start && text[stop - 1] === '\r' ? stop - 1 : stop
    if (end > start && !takePlain?.(text, start, end, line)) record(text.slice(start, end).split(delimiter), line)
    line += 1
  }

  const findLineBreak = (text: string, last: boolean) => {
    if (lineBreak) return
    const lf = text.indexOf('\n')
    const cr = text.indexOf('\r')
    if (lf >= 0 && (cr < 0 || lf <= cr + 1)) lineBreak = '\n'
    // A CR at the very end of what is known may yet be followed by its LF.
    else if (cr >= 0 && (cr < text.length - 1 || last)) lineBreak = '\r'
    else if (last) lineBreak = '\n'
  }

  /** Reads one record that holds a quote; returns where the next one starts, or -1 when its end is not there yet. */
  const quoted = (text: string, start: number, last: boolean): number => {
    const cells: string[] = []
    const first = line
    let at = start
    // Looked for once a line: looked for at each cell, a long row would take the square of its length.
    let lineEnd = text.indexOf(lineBreak as string, at)
    const refuse = (value: string, accepted: string): number => {
      fault({ line: first, value, accepted })
      const next = text.indexOf(lineBreak as string, at)
      line += 1
      return next < 0 ? text.length : next + 1
    }
    for (;;) {
      let cell: string
      if (text[at] === '"') {
        let from = at + 1
        cell = ''
        for (;;) {
          const close = text.indexOf('"', from)
          if (close < 0) {
            if (last || text.length - start > longestRecord) {
              lost = true
              fault({
                line: first,
                value: firstLine(text.slice(at, at + 40)),
                accepted: phrase('a closing quote at the end of a quoted cell'),
              })
              return text.length
            }
            line = first
            return -1
          }
          cell += text.slice(from, close)
          if (text[close + 1] !== '"') {
            at = close + 1
            break
          }
          cell += '"'
          from = close + 2
        }
        if (at >= text.length && !last) {
          line = first
          return -1
        }
        for (let i = cell.indexOf(lineBreak as string); i >= 0; i = cell.indexOf(lineBreak as string, i + 1)) line += 1
      } else {
        const comma = text.indexOf(delimiter, at)
        if (lineEnd >= 0 && lineEnd < at) lineEnd = text.indexOf(lineBreak as string, at)
        const end = lineEnd
        if (end < 0 && comma < 0 && !last) {
          line = first
          return -1
        }
        const stop = Math.min(comma < 0 ? text.length : comma, end < 0 ? text.length : end)
        cell = text.slice(at, stop)
        if (cell.includes('"'))
          return refuse(cell, phrase('a cell with a quote in it put in quotes, the quote written twice'))
        if (stop === end && lineBreak === '\n' && cell.endsWith('\r')) cell = cell.slice(0, -1)
        at = stop
      }
      cells.push(cell)
      if (text[at] === delimiter) {
        at += 1
        continue
      }
      if (text[at] === '\r' && lineBreak === '\n' && (text[at + 1] === '\n' || (last && at + 1 === text.length)))
        at += 1
      else if (text[at] === '\r' && lineBreak === '\n' && at + 1 === text.length) {
        line = first
        return -1
      }
      if (at >= text.length || text[at] === lineBreak) {
        if (at - start > longestRecord) {
          line = first
          refuseLong(text.slice(start, start + 40))
          return text.length
        }
        record(cells, first)
        line += 1
        return Math.min(at + 1, text.length)
      }
      return refuse(
        firstLine(text.slice(at, at + 40)),
        delimiter === ','
          ? phrase('a comma or the end of the line after a closing quote')
          : phrase('the delimiter or the end of the line after a closing quote'),
      )
    }
  }

  const scan = (text: string, last: boolean) => {
    findLineBreak(text, last)
    if (!lineBreak) {
      rest = text
      if (rest.length > longestRecord) refuseLong(rest)
      return
    }
    let at = 0
    let quote = text.indexOf('"')
    while (at < text.length && !lost) {
      const end = text.indexOf(lineBreak, at)
      if (quote < 0 || (end >= 0 && end < quote)) {
        if (end < 0) {
          if (!last) break
          plain(text, at, text.length)
          at = text.length
        } else {
          plain(text, at, end)
          at = end + 1
        }
        continue
      }
      if (end < 0 && !last && quote < 0) break
      const next = quoted(text, at, last)
      if (next < 0) break
      at = next
      if (quote < at) quote = text.indexOf('"', at)
    }
    rest = lost ? '' : text.slice(at)
    if (rest.length > longestRecord) refuseLong(rest)
  }

  return {
    take: (text) => {
      if (!lost) scan(rest === '' ? text : rest + text, false)
    },
    end: () => {
      if (!lost) scan(rest, true)
    },
  }
}

/** One cell as RFC 4180 writes it: in quotes where it holds the delimiter, a quote or a line break. */
export const csvCell = (text: string, delimiter = ','): string =>
  text.includes(delimiter) || /["\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text

export const csvRow = (cells: readonly string[]): string => `${cells.map((cell) => csvCell(cell)).join(',')}\n`

const blockBytes = 1 << 20
const lineFeed = 0x0a

/** A block of text, which ends at a line break where there is one, with the bytes of the file read so far. */
export interface TextBlock {
  readonly text: string
  readonly bytes: number
}

export class NotUtf8 extends Error {
  readonly line: number

  constructor(line: number) {
    super(`line ${line} is not UTF-8 text`)
    this.line = line
  }
}

const countLines = (text: string) => text.split('\n').length - 1

/** The line in which the block's first bytes that are not UTF-8 stand: worked out only once there are some. */
async function faultyLine(file: FileHandle, block: Uint8Array, start: number): Promise<number> {
  const before = Buffer.alloc(Math.min(start, blockBytes))
  let line = 1
  for (let at = 0; at < start; at += before.length) {
    const { bytesRead } = await file.read(before, 0, Math.min(before.length, start - at), at)
    line += countLines(before.toString('latin1', 0, bytesRead))
  }
  const broken = new TextDecoder('utf-8', { ignoreBOM: true }).decode(block)
  return line + countLines(broken.slice(0, broken.indexOf('\ufffd')))
}

/** Where the last character that is whole ends, of bytes up to an end. */
function endOfWhole(bytes: Uint8Array, end: number): number {
  for (let back = 1; back <= Math.min(3, end); back += 1) {
    const byte = bytes[end - back] ?? 0
    // A byte that goes on with a character; the one that begins it says how many there are.
    if ((byte & 0xc0) === 0x80) continue
    const wanted = byte >= 0xf0 ? 4 : byte >= 0xe0 ? 3 : byte >= 0xc0 ? 2 : 1
    return wanted > back ? end - back : end
  }
  return end
}

/** The digest of a file, SHA-256 in hexadecimal digits; `pause` is called between blocks. */
export async function digestOfFile(path: string, pause: () => Promise<void>): Promise<string> {
  const hash = createHash('sha256')
  const buffer = Buffer.allocUnsafe(blockBytes)
  const file = await open(path)
  try {
    for (;;) {
      const { bytesRead } = await file.read(buffer, 0, blockBytes)
      if (bytesRead === 0) return hash.digest('hex')
      hash.update(buffer.subarray(0, bytesRead))
      await pause()
    }
  } finally {
    await file.close()
  }
}

/**
 * Reads a UTF-8 file block by block; a byte order mark at its start is left out. A block is cut at its last line feed,
 * or, in a file with CR line breaks or with a row that does not end, after its last whole character: a row is never
 * waited for. `hash` takes its bytes on the way. Errors: NotUtf8 with the line of the first bytes that are not UTF-8;
 * those of the file system.
 */
export async function* readUtf8(path: string, hash?: Hash): AsyncGenerator<TextBlock> {
  const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true })
  const file = await open(path)
  const buffer = Buffer.allocUnsafe(2 * blockBytes)
  /** Bytes at the start of the buffer that belong to a line, or a character, whose end is not there yet. */
  let kept = 0
  let bytes = 0
  const decode = async (block: Uint8Array): Promise<string> => {
    const start = bytes - kept
    try {
      const text = decoder.decode(block)
      return start === 0 && text.startsWith('\ufeff') ? text.slice(1) : text
    } catch {
      throw new NotUtf8(await faultyLine(file, block, start))
    }
  }
  try {
    for (;;) {
      const { bytesRead } = await file.read(buffer, kept, blockBytes, bytes)
      if (bytesRead === 0) break
      hash?.update(buffer.subarray(kept, kept + bytesRead))
      const end = kept + bytesRead
      const atLine = buffer.lastIndexOf(lineFeed, end - 1) + 1
      const cut = atLine > 0 || end < blockBytes ? atLine : endOfWhole(buffer, end)
      const text = cut > 0 ? await decode(buffer.subarray(0, cut)) : ''
      bytes += bytesRead
      buffer.copyWithin(0, cut, end)
      kept = end - cut
      if (cut > 0) yield { text, bytes }
    }
    if (kept > 0) yield { text: await decode(buffer.subarray(0, kept)), bytes }
  } finally {
    await file.close()
  }
}
