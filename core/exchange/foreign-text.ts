import { open, stat } from 'node:fs/promises'
import { csvScanner, type RecordTaker } from '#core/exchange/csv-records.ts'
import { NotUtf8, readUtf8, type TextBlock } from '#core/exchange/utf8-lines.ts'
import { delimiters, type Encoding, type ForeignMapping, mendColumn } from '#core/fleet/foreign-mapping.ts'
import { readMendCell } from '#core/fleet/mend-cells.ts'
import { TarelineError } from '#core/fleet/problem.ts'

/** A larger file is no scale operator's, and would fill the memory if it had no line breaks. */
const mostBytes = 256 * 1024 ** 2
const blockBytes = 1 << 20

/** The size of a file that may be read, bytes. Errors: TarelineError `no-file`, `too-large`. */
export async function foreignSize(path: string): Promise<number> {
  const facts = await stat(path).catch(() => undefined)
  if (!facts?.isFile())
    throw new TarelineError('no-file', `${path} is not a file on this computer. Name the CSV file with its full path.`)
  if (facts.size > mostBytes)
    throw new TarelineError(
      'too-large',
      `${path} is larger than ${mostBytes / 1024 ** 2} MB. Cut it into smaller files and bring them in one after another.`,
    )
  return facts.size
}

const isBigEndian = (bytes: Uint8Array): boolean => bytes[0] === 0xfe && bytes[1] === 0xff

/** Bytes that are no text of their encoding, with their line. */
class NotText extends Error {
  readonly line: number

  constructor(line: number) {
    super(`line ${line} is not text`)
    this.line = line
  }
}

const lineBreaks = (text: string): number => text.split(/\r\n|\r|\n/).length - 1

async function* readOther(path: string, encoding: Exclude<Encoding, 'utf-8'>): AsyncGenerator<TextBlock> {
  const file = await open(path)
  try {
    const buffer = Buffer.allocUnsafe(blockBytes)
    let decoder: TextDecoder | undefined
    let name: string = encoding
    let bytes = 0
    let lines = 1
    for (;;) {
      const { bytesRead } = await file.read(buffer, 0, blockBytes, bytes)
      const block = buffer.subarray(0, bytesRead)
      if (decoder === undefined && encoding === 'utf-16') name = isBigEndian(block) ? 'utf-16be' : 'utf-16le'
      decoder ??= new TextDecoder(name, { fatal: true })
      bytes += bytesRead
      let text: string
      try {
        text = decoder.decode(block, { stream: bytesRead > 0 })
      } catch {
        const mended = new TextDecoder(name).decode(block)
        const at = mended.indexOf('\ufffd')
        throw new NotText(lines + lineBreaks(at < 0 ? mended : mended.slice(0, at)))
      }
      lines += lineBreaks(text)
      if (text !== '') yield { text, bytes }
      if (bytesRead === 0) return
    }
  } finally {
    await file.close()
  }
}

/** Leaves out the first lines of a text that comes in blocks. */
function withoutLines(count: number): (text: string, last: boolean) => string {
  let left = count
  let rest = ''
  return (text, last) => {
    if (left === 0) return text
    rest += text
    while (left > 0) {
      const at = rest.search(/[\r\n]/)
      // A CR at the end may yet be followed by its LF.
      if (at < 0 || (!last && rest[at] === '\r' && at === rest.length - 1)) return ''
      rest = rest.slice(rest[at] === '\r' && rest[at + 1] === '\n' ? at + 2 : at + 1)
      left -= 1
    }
    const begun = rest
    rest = ''
    return begun
  }
}

type TextSettings = Pick<ForeignMapping, 'delimiter' | 'encoding' | 'skipLines'>

/**
 * Takes the records of a text that comes in blocks; lines are those of the file. A file of rows to mend reads as what
 * it was made of.
 */
export function foreignScanner(
  { delimiter, skipLines }: Omit<TextSettings, 'encoding'>,
  { record, fault }: RecordTaker,
) {
  let mends: boolean | undefined
  const scanner = csvScanner(
    {
      record: (cells, line) => {
        mends ??= cells.some((cell) => cell.trim() === mendColumn)
        record(mends ? cells.map(readMendCell) : cells, line + skipLines)
      },
      fault: ({ line, ...rest }) => fault({ line: line + skipLines, ...rest }),
    },
    delimiters[delimiter],
  )
  const skip = withoutLines(skipLines)
  return {
    take: (text: string) => scanner.take(skip(text, false)),
    end: () => {
      scanner.take(skip('', true))
      scanner.end()
    },
  }
}

const encodingNames: Readonly<Record<Encoding, string>> = {
  'utf-8': 'UTF-8',
  'utf-16': 'UTF-16',
  'windows-1252': 'Windows-1252',
}

/**
 * Reads a foreign file block by block. Bytes that are no text of the encoding are told as a fault, and nothing behind
 * them is read: the answer is false then. Errors: those of `foreignSize` and of the file system.
 */
export async function readForeign(
  path: string,
  settings: TextSettings,
  taker: RecordTaker,
  pause: (bytes: number) => Promise<void>,
): Promise<boolean> {
  await foreignSize(path)
  const { encoding } = settings
  const scanner = foreignScanner(settings, taker)
  try {
    for await (const { text, bytes } of encoding === 'utf-8' ? readUtf8(path) : readOther(path, encoding)) {
      scanner.take(text)
      await pause(bytes)
    }
  } catch (error) {
    if (!(error instanceof NotUtf8) && !(error instanceof NotText)) throw error
    const accepted = `text in ${encodingNames[encoding]}; the encoding can be set`
    taker.fault({ line: error.line, value: `bytes that are not ${encodingNames[encoding]}`, accepted })
    return false
  }
  scanner.end()
  return true
}
