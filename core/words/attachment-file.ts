import { type Problem, type Result, ok, refuse } from '#core/words/problem.ts'
import { phrase, phraseLater, spoken } from '#core/words/phrase.ts'

/** What is kept with a ticket: a scan or a photo of it. */
export const attachmentTypes = ['image/jpeg', 'image/png', 'application/pdf'] as const
export type AttachmentType = (typeof attachmentTypes)[number]

/** The folder within a fleet folder that holds them. */
export const attachmentsFolderName = 'attachments'

/** Bytes of one attachment: 1 to 20 MB. */
export const mostAttachmentBytes = 20 * 1024 ** 2
/** Letters of a name that is shown. */
const mostLetters = 200

const acceptedAttachment = (): string => phrase('a JPEG or PNG picture or a PDF of 1 byte to 20 MB')

/** How the name of a file of a type ends; the first is the one that is given. */
const endings: Readonly<Record<AttachmentType, readonly [string, ...string[]]>> = {
  'image/jpeg': ['.jpg', '.jpeg', '.jpe', '.jfif'],
  'image/png': ['.png'],
  'application/pdf': ['.pdf'],
}
export const endingOf = (type: AttachmentType): string => endings[type][0]

const bytesOf = (text: string): number[] => Array.from(text, (letter) => letter.charCodeAt(0))

function standsAt(bytes: Uint8Array, part: readonly number[], at: number): boolean {
  return at >= 0 && at + part.length <= bytes.byteLength && part.every((byte, index) => bytes[at + index] === byte)
}

/** Whether a part stands within the last so many bytes. */
function standsNearEnd(bytes: Uint8Array, part: readonly number[], within: number): boolean {
  const [first = 0] = part
  let at = bytes.lastIndexOf(first)
  while (at >= 0 && at >= bytes.byteLength - within && !standsAt(bytes, part, at))
    at = at === 0 ? -1 : bytes.lastIndexOf(first, at - 1)
  return at >= 0 && at >= bytes.byteLength - within
}

interface Signature {
  readonly type: AttachmentType
  readonly begins: (bytes: Uint8Array) => boolean
  /** Whether the mark is there that ends a whole file. */
  readonly ends: (bytes: Uint8Array) => boolean
  readonly words: string
}

const isDigit = (byte: number | undefined) => byte !== undefined && byte >= 0x30 && byte <= 0x39

/**
 * How the three begin and end. A file counts as what its very first bytes say: one that only holds a picture or a PDF
 * further on is something else to another program. Bytes after the end mark are common (cameras and scanners append
 * their own), so that the mark is looked for in the last kilobyte of a PDF and anywhere in the second half of a
 * picture's.
 *
 * Sources: ISO/IEC 10918-1, B.1.1.3 and table B.1 (SOI X'FFD8', EOI X'FFD9', every marker begins X'FF'); ISO/IEC 15948
 * (PNG), 5.2 signature, 11.2.2 IHDR of 13 bytes first, 11.2.5 IEND empty and last; ISO 32000-1, 7.5.2 header `%PDF-M.N`
 * and
 * 7.5.5 trailer with `%%EOF` in the last line.
 */
const signatures: readonly Signature[] = spoken(
  [
    {
      type: 'image/jpeg',
      words: phraseLater('a JPEG picture'),
      begins: (bytes) => standsAt(bytes, [0xff, 0xd8, 0xff], 0),
      ends: (bytes) => standsNearEnd(bytes, [0xff, 0xd9], bytes.byteLength / 2),
    },
    {
      type: 'image/png',
      words: phraseLater('a PNG picture'),
      begins: (bytes) =>
        standsAt(bytes, [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 13, ...bytesOf('IHDR')], 0),
      ends: (bytes) =>
        standsNearEnd(bytes, [0, 0, 0, 0, ...bytesOf('IEND'), 0xae, 0x42, 0x60, 0x82], bytes.byteLength / 2),
    },
    {
      type: 'application/pdf',
      words: phraseLater('a PDF'),
      begins: (bytes) =>
        standsAt(bytes, bytesOf('%PDF-'), 0) && isDigit(bytes[5]) && bytes[6] === 0x2e && isDigit(bytes[7]),
      ends: (bytes) => standsNearEnd(bytes, bytesOf('%%EOF'), 1024),
    },
  ],
  ['words'],
)

/** What people try instead, each by how it begins: only to say what it is. */
const others: readonly (readonly [words: () => string, at: number, begins: string])[] = [
  [() => phrase('a GIF picture'), 0, 'GIF8'],
  [() => phrase('a TIFF picture'), 0, 'II*\0'],
  [() => phrase('a TIFF picture'), 0, 'MM\0*'],
  [() => phrase('a WebP picture'), 8, 'WEBP'],
  [() => phrase('a HEIF picture or a film'), 4, 'ftyp'],
  [() => phrase('a BMP picture'), 0, 'BM'],
  [() => phrase('a ZIP file or an office document'), 0, 'PK'],
  [() => phrase('an old office document'), 0, '\u00d0\u00cf\u0011\u00e0'],
  [() => phrase('a program'), 0, 'MZ'],
  [() => phrase('a program'), 0, '\u007fELF'],
]

const isText = (bytes: Uint8Array) =>
  bytes.subarray(0, 512).every((byte) => byte >= 0x20 || byte === 9 || byte === 10 || byte === 13)

function whatItIs(bytes: Uint8Array): string {
  if (!isText(bytes))
    return (
      others.find(([, at, begins]) => standsAt(bytes, bytesOf(begins), at))?.[0]() ??
      phrase('none of them by its first bytes')
    )
  const start = String.fromCharCode(...bytes.subarray(0, 512))
    .trimStart()
    .toLowerCase()
  if (/^(<\?xml[^>]*>\s*)?<svg/.test(start)) return phrase('an SVG drawing')
  return /^<(!doctype )?html/.test(start) ? phrase('a web page') : 'text'
}

/** A size as people say it: bytes, kB or MB of 1,024. */
export function sizeText(bytes: number): string {
  if (bytes < 1024) return `${bytes} ${bytes === 1 ? 'byte' : 'bytes'}`
  return bytes < 1024 ** 2
    ? phrase('{ceil} kB', { ceil: Math.ceil(bytes / 1024) })
    : phrase('{ceil} MB', { ceil: (Math.ceil((bytes / 1024 ** 2) * 10) / 10).toFixed(1) })
}

// biome-ignore lint/suspicious/noControlCharactersInRegex: those are what must not be in a name
const plainFile = /^[^./\\:*?"<>|\u0000-\u001f\u007f][^/\\:*?"<>|\u0000-\u001f\u007f]*$/
/** Names that Windows takes for devices, whatever follows the dot. */
const device = /^(con|prn|aux|nul|com\d|lpt\d)\s*(\.|$)/i

/**
 * Whether a file of a fleet folder's `attachments` may be called so: one plain name on every system, with the ending of
 * one of the types.
 */
export function isAttachmentFile(name: string): boolean {
  const ending = Object.values(endings)
    .flat()
    .find((each) => name.toLowerCase().endsWith(each))
  return (
    ending !== undefined &&
    name.length > ending.length &&
    name.length <= mostLetters &&
    name.isWellFormed() &&
    plainFile.test(name) &&
    !device.test(name)
  )
}

export interface CheckedAttachment {
  readonly type: AttachmentType
  /** That it may have been cut off, as a sentence; it is kept all the same. */
  readonly warning: string | null
}

const problem = (code: string, value: string, message: string, advice = ''): Problem => ({
  code,
  field: 'file',
  value,
  accepted: acceptedAttachment(),
  message: phrase('{message}; {acceptedAttachment} is accepted.{advice}', {
    message,
    acceptedAttachment: acceptedAttachment(),
    advice,
  }),
})

/** What is wrong with the size of a file, before any of it is read; undefined: nothing. Codes `too-large`, `empty`. */
export function sizeProblem(name: string, bytes: number): Problem | undefined {
  if (bytes === 0) return problem('empty', phrase('no bytes'), phrase('{name} is empty', { name }))
  return bytes > mostAttachmentBytes
    ? problem(
        'too-large',
        sizeText(bytes),
        phrase('{name} has {bytes}', { name, bytes: sizeText(bytes) }),
        phrase(' Save it smaller, as cameras and scanners offer, then attach it again.'),
      )
    : undefined
}

/**
 * What a file is by its bytes, whatever its name or its sender say. name: as the person knows it. Problems:
 * `too-large`, `empty`, `wrong-kind`.
 */
export function checkAttachment(name: string, bytes: Uint8Array): Result<CheckedAttachment> {
  const unfit = sizeProblem(name, bytes.byteLength)
  if (unfit) return refuse(unfit)
  const found = signatures.find(({ begins }) => begins(bytes))
  if (!found)
    return refuse(problem('wrong-kind', whatItIs(bytes), phrase('{name} is {bytes}', { name, bytes: whatItIs(bytes) })))
  return ok({
    type: found.type,
    warning: found.ends(bytes)
      ? null
      : phrase(
          '{name} is {words} without its end: it may have been cut off on its way. Open it to see whether all of it is there.',
          { name, words: found.words },
        ),
  })
}

/** A file's name without the folders it came from and without control and direction characters; 200 letters at most. */
export function plainName(given: string): string {
  const last = given.toWellFormed().split(/[/\\]/).at(-1) ?? ''
  const plain = last.replaceAll(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/gu, '').trim()
  return /^[.\s]*$/.test(plain) ? 'attachment' : shorten(plain, mostLetters)
}

/** Whole characters up to a length. */
function shorten(text: string, most: number): string {
  if (text.length <= most) return text
  const cut = text.slice(0, most)
  return (cut.isWellFormed() ? cut : cut.slice(0, -1)).trimEnd()
}

/**
 * The name under which a file is kept: its plain one, which ends as its type does, so that it never opens as something
 * else.
 */
export function keptName(given: string, type: AttachmentType): string {
  const name = plainName(given)
  const ending = endings[type].find((each) => name.toLowerCase().endsWith(each))
  if (ending !== undefined && name.length > ending.length) return name
  return `${shorten(name, mostLetters - endingOf(type).length)}${endingOf(type)}`
}
