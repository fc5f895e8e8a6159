import type { Encoding } from '#core/fleet/foreign-mapping.ts'

/**
 * Windows-1252 where it is not Latin-1: the characters of the bytes 0x80 to 0x9f, a space where there is none. Source:
 * the WHATWG encoding standard, index windows-1252 (from memory).
 */
const high = '€ ‚ƒ„…†‡ˆ‰Š‹Œ Ž  ‘’“”•–—˜™š›œ žŸ'
const highBytes = new Map(
  [...high].flatMap((sign, at): [string, number][] => (sign === ' ' ? [] : [[sign, 0x80 + at]])),
)

function singleBytes(text: string): number[] {
  return Array.from(text, (sign) => {
    const code = sign.codePointAt(0) ?? 0
    // What the encoding does not have can only come from our own sentences.
    return highBytes.get(sign) ?? (code < 256 ? code : 0x3f)
  })
}

/** The bytes of a text in an encoding that `TextDecoder` reads back; UTF-8 is what a file of text is made of anyway. */
export function encodeText(text: string, encoding: Encoding): Uint8Array<ArrayBuffer> | string {
  if (encoding === 'utf-8') return `\ufeff${text}`
  if (encoding === 'windows-1252') return Uint8Array.from(singleBytes(text))
  const bytes = new Uint8Array(2 * text.length + 2)
  for (const [at, unit] of [
    0xfeff,
    ...Array.from({ length: text.length }, (_, index) => text.charCodeAt(index)),
  ].entries()) {
    bytes[2 * at] = unit & 0xff
    bytes[2 * at + 1] = unit >> 8
  }
  return bytes
}
