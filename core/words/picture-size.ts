import { imageSize } from 'image-size'
import { sizeText } from '#core/words/attachment-file.ts'
import type { Problem } from '#core/words/problem.ts'
import { phrase } from '#core/words/phrase.ts'
import { figures } from '#core/words/numbers.ts'

/**
 * Dots of a picture that is drawn: four bytes each in the page's memory, however few the file has. A page of 11 by 17
 * inches scanned at 580 dots an inch.
 */
const mostDots = 64_000_000
const mostSide = 30_000

export interface PictureSize {
  readonly width: number
  readonly height: number
}

/** How many dots a JPEG or PNG picture has, by its header; undefined where that does not say. */
export function pictureSize(bytes: Uint8Array): PictureSize | undefined {
  try {
    const { width, height } = imageSize(bytes)
    return width > 0 && height > 0 ? { width, height } : undefined
  } catch {
    // What the library throws says only that the header is none.
    return undefined
  }
}

/** Whether a picture may be drawn; one whose size is not known may turn out as large as it likes. */
export const isDrawn = (size: PictureSize | undefined): boolean =>
  size !== undefined && size.width * size.height <= mostDots && Math.max(size.width, size.height) <= mostSide

const dots = figures()
const acceptedPicture = (): string =>
  phrase('a picture of at most {dots} million dots, {mostSide} on a side', {
    dots: dots(mostDots / 1_000_000),
    mostSide: dots(mostSide),
  })

/** Says of a picture why it is not drawn. */
export const whyNotDrawn = (size: PictureSize | undefined): string =>
  size === undefined
    ? phrase('how many dots it has cannot be read from it.')
    : phrase('it has {width} by {height} dots; {acceptedPicture}, is drawn.', {
        width: dots(size.width),
        height: dots(size.height),
        acceptedPicture: acceptedPicture(),
      })

/** What is wrong with the dots of a picture that is to be kept; undefined: nothing, or that is not known. */
export function dotsProblem(name: string, bytes: Uint8Array): Problem | undefined {
  const size = pictureSize(bytes)
  if (size === undefined || isDrawn(size)) return undefined
  return {
    code: 'too-many-dots',
    field: 'file',
    value: phrase('{width} by {height} dots, {byteLength}', {
      width: dots(size.width),
      height: dots(size.height),
      byteLength: sizeText(bytes.byteLength),
    }),
    accepted: acceptedPicture(),
    message: phrase(
      '{name} has {width} by {height} dots; {acceptedPicture}, is accepted. Save it smaller, as cameras and scanners offer, then attach it again.',
      { name, width: dots(size.width), height: dots(size.height), acceptedPicture: acceptedPicture() },
    ),
  }
}
