import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  attachmentTypes,
  checkAttachment,
  endingOf,
  keptName,
  mostAttachmentBytes,
  plainName,
  sizeText,
} from '#core/words/attachment-file.ts'
import { jpegPhoto, pdfScan, photoOf, pngPicture, samples } from '#tests/store/attachment-samples.ts'

const check = (bytes: Uint8Array) => checkAttachment('ticket 7', bytes)
const hex = (text: string) => Uint8Array.from(Buffer.from(text.replaceAll(' ', ''), 'hex'))
const ascii = (text: string) => Uint8Array.from(Buffer.from(text, 'latin1'))
const cut = (bytes: Uint8Array) => bytes.subarray(0, Math.floor(bytes.byteLength * 0.45))

describe('what a file is', () => {
  it.each(samples)('%s is %s by its bytes, and whole', (_, type, bytes) => {
    expect(check(bytes)).toEqual({ ok: true, value: { type, warning: null } })
  })

  it('follows the first bytes that the standards give', () => {
    // ISO/IEC 10918-1, table B.1: SOI X'FFD8', then a marker. ISO/IEC 15948, 5.2 and 11.2.2. ISO 32000-1, 7.5.2.
    const first: readonly (readonly [Uint8Array, string | undefined])[] = [
      [hex('ff d8 ff e0'), 'image/jpeg'],
      [hex('ff d8 ff db'), 'image/jpeg'],
      [hex('ff d8 00'), undefined],
      [hex('00 ff d8 ff e0'), undefined],
      [hex('89 50 4e 47 0d 0a 1a 0a 00 00 00 0d 49 48 44 52'), 'image/png'],
      [hex('89 50 4e 47 0a 1a 0a 00 00 00 0d 49 48 44 52 00'), undefined],
      [hex('89 50 4e 47 0d 0a 1a 0a 00 00 00 0d 49 44 41 54'), undefined],
      [ascii('%PDF-1.7\n'), 'application/pdf'],
      [ascii('%PDF-2.0\n'), 'application/pdf'],
      [ascii(' %PDF-1.7'), undefined],
      [ascii('%PDF-x.y'), undefined],
      [ascii('%PDF'), undefined],
    ]
    for (const [bytes, type] of first) {
      const found = check(bytes)
      expect([Buffer.from(bytes).toString('hex'), found.ok ? found.value.type : undefined]).toEqual([
        Buffer.from(bytes).toString('hex'),
        type,
      ])
    }
  })

  it.each(samples)('%s cut off is kept with a warning; bytes after its end are none', (_, type, bytes) => {
    const short = check(cut(bytes))
    expect(short).toMatchObject({
      ok: true,
      value: { type, warning: expect.stringMatching(/^ticket 7 is an? .* without its end: it may have been cut off/) },
    })
    expect(check(Uint8Array.from([...bytes, ...new Uint8Array(300)]))).toMatchObject({
      ok: true,
      value: { type, warning: null },
    })
  })

  it.each([
    ['a GIF picture', ascii('GIF89a\u0001\u0000')],
    ['a TIFF picture', ascii('II*\0abc')],
    ['a WebP picture', ascii('RIFF\0\0\0\0WEBPVP8 ')],
    ['a HEIF picture or a film', ascii('\0\0\0\u0018ftypheic')],
    ['a ZIP file or an office document', ascii('PK\u0003\u0004')],
    ['a program', ascii('MZ\u0090\0')],
    ['an SVG drawing', ascii('<?xml version="1.0"?>\n<svg xmlns="x"><script/></svg>')],
    ['a web page', ascii('<!doctype html><script>1</script>')],
    ['text', ascii('BM 30417, gross 64,220 lb')],
    ['none of them by its first bytes', hex('01 02 03 04')],
  ])('%s is refused, and called so', (words, bytes) => {
    expect(check(bytes)).toEqual({
      ok: false,
      problem: {
        code: 'wrong-kind',
        field: 'file',
        value: words,
        accepted: 'a JPEG or PNG picture or a PDF of 1 byte to 20 MB',
        message: `ticket 7 is ${words}; a JPEG or PNG picture or a PDF of 1 byte to 20 MB is accepted.`,
      },
    })
  })

  it('may have 20,971,520 bytes, one more is refused, none as well', () => {
    expect(mostAttachmentBytes).toBe(20_971_520)
    expect(check(photoOf(20_971_520))).toMatchObject({ ok: true, value: { warning: null } })
    expect(check(photoOf(20_971_521))).toMatchObject({
      ok: false,
      problem: { code: 'too-large', message: expect.stringContaining('has 20.1 MB') },
    })
    expect(check(new Uint8Array())).toMatchObject({ ok: false, problem: { code: 'empty' } })
    expect([1, 2, 1023, 1024, 1025, 20_971_520].map(sizeText)).toEqual([
      '1 byte',
      '2 bytes',
      '1023 bytes',
      '1 kB',
      '2 kB',
      '20.0 MB',
    ])
  })

  it('is told of any bytes at all, and the same whatever follows the first sixteen', () => {
    const mutated = fc
      .tuple(
        fc.constantFrom(jpegPhoto, pngPicture, pdfScan),
        fc.array(fc.tuple(fc.nat(2000), fc.nat(255)), { maxLength: 20 }),
        fc.nat(2000),
      )
      .map(([sample, changes, length]) => {
        const bytes = Uint8Array.from(sample.subarray(0, length))
        for (const [at, value] of changes) if (at < bytes.byteLength) bytes[at] = value
        return bytes
      })
    fc.assert(
      fc.property(
        fc.oneof(fc.uint8Array({ maxLength: 600 }), mutated),
        fc.uint8Array({ maxLength: 40 }),
        (bytes, more) => {
          const found = check(bytes)
          expect(found.ok ? found.value.type : found.problem.message).toMatch(
            found.ok
              ? new RegExp(`^(${attachmentTypes.join('|')})$`)
              : /^ticket 7 (is|has) .+; a JPEG or PNG picture or a PDF of 1 byte to 20 MB is accepted\.$/,
          )
          if (bytes.byteLength < 16) return
          const longer = check(Uint8Array.from([...bytes, ...more]))
          expect(longer.ok && longer.value.type).toBe(found.ok && found.value.type)
        },
      ),
      { numRuns: 500 },
    )
  })
})

describe('the name under which it is kept', () => {
  it.each([
    ['C:\\Scans\\ticket 30417.JPG', 'image/jpeg', 'ticket 30417.JPG'],
    ['../../etc/passwd', 'image/png', 'passwd.png'],
    ['scan.pdf.exe', 'application/pdf', 'scan.pdf.exe.pdf'],
    ['a\0b\u202egnp.jpg', 'image/png', 'abgnp.jpg.png'],
    ['..', 'image/jpeg', 'attachment.jpg'],
    ['', 'application/pdf', 'attachment.pdf'],
    ['.jpg', 'image/jpeg', '.jpg.jpg'],
    ['Wiegeschein Größe.jpeg', 'image/jpeg', 'Wiegeschein Größe.jpeg'],
  ] as const)('%j as %s is %j', (given, type, kept) => {
    expect(keptName(given, type)).toBe(kept)
  })

  it('has no path, no control characters, 200 letters at most, the ending of its type, and stays as it is', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 230 }), fc.constantFrom(...attachmentTypes), (given, type) => {
        const name = keptName(given, type)
        expect(name.length).toBeLessThanOrEqual(200)
        expect(name).toMatch(/^[^/\\\p{Cc}]+$/u)
        expect(name.isWellFormed()).toBe(true)
        expect(name.trim()).toBe(name)
        expect(keptName(name, type)).toBe(name)
        expect(plainName(name)).toBe(name)
      }),
      { numRuns: 50 },
    )
    expect(keptName(`${'😀'.repeat(150)}.pdf`, 'application/pdf')).toMatch(/^😀+\.pdf$/u)
    expect(endingOf('image/jpeg')).toBe('.jpg')
  })
})
