import fc from 'fast-check'
import { deflateSync } from 'node:zlib'
import { describe, expect, it } from 'vitest'
import { dotsProblem, isDrawn, pictureSize, whyNotDrawn } from '#core/words/picture-size.ts'
import { jpegPhoto, pngOf, pngPicture } from '#tests/store/attachment-samples.ts'

describe('how many dots a picture has', () => {
  it('is read from the header of each kind that is kept', () => {
    expect(pictureSize(jpegPhoto)).toEqual({ width: 96, height: 128 })
    expect(pictureSize(pngPicture)).toEqual({ width: 96, height: 128 })
    expect(isDrawn(pictureSize(jpegPhoto))).toBe(true)
    expect(dotsProblem('photo.jpg', jpegPhoto)).toBeUndefined()
  })

  it('bounds what is drawn, however few bytes hold it', () => {
    const vast = pngOf(16_384, 16_384)
    expect(vast.byteLength).toBeLessThan(300_000)
    expect(isDrawn(pictureSize(vast))).toBe(false)
    expect(dotsProblem('vast.png', vast)).toMatchObject({
      code: 'too-many-dots',
      message:
        'vast.png has 16,384 by 16,384 dots; a picture of at most 64 million dots, 30,000 on a side, is accepted. ' +
        'Save it smaller, as cameras and scanners offer, then attach it again.',
    })
    expect([isDrawn({ width: 8000, height: 8000 }), isDrawn({ width: 8000, height: 8001 })]).toEqual([true, false])
    expect([isDrawn({ width: 30_000, height: 1 }), isDrawn({ width: 1, height: 30_001 })]).toEqual([true, false])
  })

  it('that cannot be read from it is not drawn, and refused by nothing else', () => {
    const headless = jpegPhoto.slice(0, 20)
    expect(isDrawn(pictureSize(headless))).toBe(false)
    expect(whyNotDrawn(pictureSize(headless))).toBe('how many dots it has cannot be read from it.')
    expect(dotsProblem('cut.jpg', headless)).toBeUndefined()
  })

  it('is told or not of any bytes, and never with an error', () => {
    const sample = fc.constantFrom(jpegPhoto, pngPicture, Uint8Array.from(deflateSync('none')))
    fc.assert(
      fc.property(
        sample,
        fc.array(fc.tuple(fc.nat(900), fc.nat(255)), { maxLength: 12 }),
        fc.nat(1200),
        (whole, hits, cut) => {
          const bytes = whole.slice(0, cut)
          for (const [at, value] of hits) if (at < bytes.length) bytes[at] = value
          const size = pictureSize(bytes)
          expect(size === undefined || (size.width > 0 && size.height > 0)).toBe(true)
        },
      ),
      { numRuns: 3000 },
    )
  })
})
