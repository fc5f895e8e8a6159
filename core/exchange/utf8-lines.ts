import { open } from 'node:fs/promises'

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

/**
 * Reads a UTF-8 file block by block; a byte order mark at its start is left out. Cutting at line feeds never cuts a
 * character. Errors: NotUtf8 with the line of the first bytes that are not UTF-8; those of the file system.
 */
export async function* readUtf8(path: string): AsyncGenerator<TextBlock> {
  const decoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true })
  const file = await open(path)
  let kept = Buffer.alloc(0)
  let bytes = 0
  let lines = 1
  let first = true
  const decode = (block: Buffer): string => {
    let text: string
    try {
      text = decoder.decode(block)
    } catch {
      const broken = new TextDecoder('utf-8', { ignoreBOM: true }).decode(block)
      throw new NotUtf8(lines + broken.slice(0, broken.indexOf('\ufffd')).split('\n').length - 1)
    }
    if (first && text.startsWith('\ufeff')) text = text.slice(1)
    first = false
    for (let i = block.indexOf(lineFeed); i >= 0; i = block.indexOf(lineFeed, i + 1)) lines += 1
    return text
  }
  try {
    for (;;) {
      const buffer = Buffer.allocUnsafe(blockBytes)
      const { bytesRead } = await file.read(buffer, 0, blockBytes)
      if (bytesRead === 0) break
      bytes += bytesRead
      const block = kept.length === 0 ? buffer.subarray(0, bytesRead) : Buffer.concat([kept, buffer.subarray(0, bytesRead)])
      const cut = block.lastIndexOf(lineFeed) + 1
      // Files with CR line breaks, or no line break at all, have no line feed to cut at: all is kept until the end.
      kept = Buffer.from(block.subarray(cut))
      if (cut > 0) yield { text: decode(block.subarray(0, cut)), bytes }
    }
    if (kept.length > 0) yield { text: decode(kept), bytes }
  } finally {
    await file.close()
  }
}
