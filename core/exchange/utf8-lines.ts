import { type FileHandle, open } from 'node:fs/promises'

const blockBytes = 1 << 20
const lineFeed = 0x0a

/** A block of text that ends at a line break (but for the last one), with the bytes of the file read so far. */
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
  const before = Buffer.alloc(start)
  await file.read(before, 0, start, 0)
  const broken = new TextDecoder('utf-8', { ignoreBOM: true }).decode(block)
  return 1 + countLines(before.toString('latin1')) + countLines(broken.slice(0, broken.indexOf('\ufffd')))
}

/**
 * Reads a UTF-8 file block by block; a byte order mark at its start is left out. Cutting at line feeds never cuts a
 * character. Errors: NotUtf8 with the line of the first bytes that are not UTF-8; those of the file system.
 */
export async function* readUtf8(path: string): AsyncGenerator<TextBlock> {
  const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true })
  const file = await open(path)
  let buffer = Buffer.allocUnsafe(2 * blockBytes)
  /** Bytes at the start of the buffer that belong to a line whose end is not there yet. */
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
      // Files with CR line breaks, or none at all, have no line feed to cut at: all is kept until the end.
      if (buffer.length - kept < blockBytes)
        buffer = Buffer.concat([buffer.subarray(0, kept), Buffer.allocUnsafe(buffer.length)])
      const { bytesRead } = await file.read(buffer, kept, blockBytes, bytes)
      if (bytesRead === 0) break
      const end = kept + bytesRead
      const cut = buffer.lastIndexOf(lineFeed, end - 1) + 1
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
