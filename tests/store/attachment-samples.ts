import { crc32, deflateSync } from 'node:zlib'

/**
 * Small files that are what they say: an invented ticket drawn by a browser as JPEG and PNG, and a PDF of one empty
 * page.
 */
const fromBase64 = (lines: readonly string[]): Uint8Array<ArrayBuffer> =>
  Uint8Array.from(Buffer.from(lines.join(''), 'base64'))

export const jpegPhoto = fromBase64([
  '/9j/4AAQSkZJRgABAQAAAQABAAD/4gHYSUNDX1BST0ZJTEUAAQEAAAHIAAAAAAQwAABtbnRyUkdCIFhZWiAH4AABAAEAAAAAAABhY3NwAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAQAA9tYAAQAAAADTLQAAAAAAAAAAAAAAAAAAAAAA',
  'AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAlkZXNjAAAA8AAAACRyWFlaAAABFAAAABRnWFlaAAABKAAAABRiWFlaAAABPAAAABR3dHB0AAABUAAAABRyVFJDAAABZAAAAChnVFJDAAABZAAAAChiVFJDAAABZAAAAChjcHJ0',
  'AAABjAAAADxtbHVjAAAAAAAAAAEAAAAMZW5VUwAAAAgAAAAcAHMAUgBHAEJYWVogAAAAAAAAb6IAADj1AAADkFhZWiAAAAAAAABimQAAt4UAABjaWFlaIAAAAAAAACSgAAAPhAAAts9YWVogAAAAAAAA9tYAAQAAAADTLXBhcmEAAAAAAAQA',
  'AAACZmYAAPKnAAANWQAAE9AAAApbAAAAAAAAAABtbHVjAAAAAAAAAAEAAAAMZW5VUwAAACAAAAAcAEcAbwBvAGcAbABlACAASQBuAGMALgAgADIAMAAxADb/2wBDABQODxIPDRQSEBIXFRQYHjIhHhwcHj0sLiQySUBMS0dARkVQWnNiUFVt',
  'VkVGZIhlbXd7gYKBTmCNl4x9lnN+gXz/2wBDARUXFx4aHjshITt8U0ZTfHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHz/wAARCACAAGADASIAAhEBAxEB/8QAGQABAQEBAQEAAAAAAAAAAAAAAAYE',
  'BQMB/8QAMRAAAQEGBAQGAQQDAAAAAAAAAAECAxETJvASFCExBAUzURUWMjRBYSIjQlJigaHB/8QAFgEBAQEAAAAAAAAAAAAAAAAAAAEC/8QAFREBAQAAAAAAAAAAAAAAAAAAABH/2gAMAwEAAhEDEQA/AKwAy8RxD90/dO2HLttHrSssqrxU',
  '/aq6phXsYVqBjzzSvFdMOUaezFYRMcE0ZRVVVh9w2Dzj14fBmnSOkaaVFXFFNEjFO8dvgo2AyZp+rx07Th2UbeMNNwbeQwoionwi6/kH/E8Q5V0kh01MaRjqrouv9fog1g+MxwpiREahqiLFD6FAAAAAA8nrma9cPMUJTStQhvFlU/6eoAxr',
  'wKo8aeu3uF5NV4yqsxREVlEVFSOu30G+BntMLxTxl9haaVWVY/HVmEET4/2bAVHOecsV6rpXjbp8jplpllH7nHoqpD53SEImleFi74diLDMltGoMMYWdI6IkdNzQAAAIoAAAAAHB5n5gz73Ie20wdPskd9d4neBUS1VXKFVXKKkCiWqq5Qqq',
  '5RUgUZeWZvIOs/7nXHt3WG2m0DUAQAAFAAAODzPzBn3uQ9tpg6fZI767xO8ColqquUKquUVIFEtVVyhVVyipAolqquUKquUVIFGDk3iGVa8U62NcPp9ME/jpvE3gEAABQ4PM/MGfe5D22mDp9kjvrvE7wKiWqq5Qqq5RUgUS1VXKFVXKKkCi',
  'Wqq5Qqq5RUgUS1VXKFVXKKkCjl8k8V/X8V/rL9H3H0/4OoAQDg8z8wZ97kPbaYOn2SO+u8TvAolqquUKquUVIFEtVVyhVVyipAolqquUKquUVIFHlws3Kucx1sDMzb1Q1203PUAigAAHB5n5gz73Ie20wdPskd9d4neBUS1VXKFVXKKkCiWq',
  'q5Qqq5RUgUS1VXKFVXKKkCiWqq5Qqq5RUgUZeWZvIOs/7nXHt3WG2m0DUAQAAFAAAAAAAAAAAAAH/9k=',
])

export const pngPicture = fromBase64([
  'iVBORw0KGgoAAAANSUhEUgAAAGAAAACACAYAAAD03Gy6AAAFcklEQVR4AeyZa2wUVRTH/9svkvh+kCgSRI0CMSHWlhI0WArNirXx9UmUgjaFIkjR1hZtAwpolGyKiKFIESI+QtDERwRMUQOJmCCmYvrBBzSC1W/UqN01kDRp6b3JLmw7s3t3',
  '53F2Z/+EO505d+45c38/TphMi2L/9A1zyDEoAv+IEqAAUfwABVCAMAHh8uwAChAmIFyeHUABwgSEy7MDKECAQA6VZAcIyzAW8HpkC2qXrMKCmnqUzgrrc3W978BBdB/v0fH4Xn7o/gm1S5/FE4ufxuOLlqGldT1+O9Grpw98+TUam9fqc3U4',
  'efJ3zK9+DKdO9+HMmX4Ul81L5Fb51dj+znv45dcTiXh55cN48NEafb10eZNKk7fDWMALzQ3YteNNvLLuRVx7zdX6XF1XV4WTNv9H319oeK4V9XU1+HD3NnzwbgdmzSxF/YpmnD17buy9jW3Y3L4BN0+epOcuv+zSRG6VX436ukWYNvX2RLxs',
  'RjGeWrxAX3d2tOt1+XowFmC6wS/2dWFexWzMLCvRS4qKivDIQ1XYvfMtjBt3iY6FQiH09/+NVSPw161txtQpt+l4IR5cF3C670+Ultw5huVNkyYiFArpeDQWw7JnWlBRfg/KZtylY4V6cF2A+hc/PDyckuePI/9n3BeuwCef7Udv76mke//9',
  'bwDTS+Ykja6Dh5LuCdKF6wLumDYFR491j2F05LvvMTg4qOPls+/GktqFWNPWhIbGVgxEozquDlddeQV6ug8nDSVLzQVxuC6g+oEwenp+xt6PP0/w+vbIUai3qIFoTMfiHVI5917MD89FU8vLGBoa0nOFdnBdgHpD2tn5Brq+OqRfTRc+uRx7',
  'PvoUb2+N6Len0YBXrqjTocimrfpnNPa/fr1Ur5/xsbptg54L4iFjAbfeMhld+/cmsSgpno49729PxCbccD12dW7WMfUa2rFlIybeOEHPV91fiU2R9fpcHUKhEHZsa8fq51di/PjrcPzYN1CvnhePja+uUbcmRuS1l/SbVSKQxycZC8h+r1xp',
  'RYACrKj4GKMAH2FblaIAKyo+xijAR9hWpSjAioqPMQrwEbZVKQqwouJjjAJ8hG1VigKsqPgYowCPYadLTwHpCHk8TwEeA06X3ljA6N9S5dp1uo3m6ryxgFzdQL4/FwUIG6SAfBEw+hfluXYtzDHr8uyArNG5s5AC3OGYdRYKyBqdOwuDKcAd',
  'Nr5koQBfMNsXoQB7Nr7MUIAvmO2LUIA9G19mKMAXzPZFKMCejS8zFOALZvsixgJy7fu/F89jj8m7GWMB3j1CYWemAGH/LgoQ3kmeljcWkGvf/714HgmHxgIkHq4QalKAsGUKoABhAsLl2QEUIExAuDw7gAKECQiXZwc4FOB0OQU4JehwPQU4',
  'BOh0ubEAL76/BzFnpkKMBWSamPebEaAAM06e3UUBnqE1S2wswIvv70HMaYb9wl3GAi4s4ZmbBCjATZpZ5KKALKC5uSQ/BbhJQDgXBVCAMAHh8uwAChAmIFyeHUABwgSEy7MD8kVAEL/dx/ck6YAdIEl/pDYFjECQ/JuBAMnHDG5tYwFB/HYf',
  '35OkXmMBkg8Z5NoUIGyXAihAmIBweXYABQgTEC7PDqAAYQLC5dkBaQR4PU0BXhNOk58C0gDyetpYQPzbOX/OgRWDbEUZC8i2ANelJkABqfl4PksBniNOXcBYQPzbOX8ehhWD1JjtZ40F2KfgjBMCFOCEngtrKcAFiE5S5KYAJzvKs7UUICyM',
  'AihAmIBweXYABQgTEC7PDqAAYQLC5dkBFCBMQLg8OyB3BAg/SYGWZwcIi6cAChAmIFyeHUABwgSEy7MDKECYgHB5dgAFCBMQLl/wHSDMH+cBAAD//1UTet0AAAAGSURBVAMAaG7YzNGKkyQAAAAASUVORK5CYII=',
])

function writePdf(): Uint8Array<ArrayBuffer> {
  const objects = [
    '<< /Type /Catalog /Pages 2 0 R >>',
    '<< /Type /Pages /Kids [3 0 R] /Count 1 >>',
    '<< /Type /Page /Parent 2 0 R /MediaBox [0 0 612 792] >>',
  ]
  let text = '%PDF-1.4\n'
  const places = objects.map((object, index) => {
    const at = text.length
    text += `${index + 1} 0 obj\n${object}\nendobj\n`
    return `${String(at).padStart(10, '0')} 00000 n \n`
  })
  const table = text.length
  text += `xref\n0 4\n0000000000 65535 f \n${places.join('')}trailer\n<< /Size 4 /Root 1 0 R >>\nstartxref\n${table}\n%%EOF\n`
  return Uint8Array.from(Buffer.from(text, 'latin1'))
}
export const pdfScan = writePdf()

/** Each with the name of a file, its type, and the bytes. */
export const samples = [
  ['photo.jpg', 'image/jpeg', jpegPhoto],
  ['picture.png', 'image/png', pngPicture],
  ['scan.pdf', 'application/pdf', pdfScan],
] as const

/** A JPEG of exactly so many bytes: zeros follow its end mark, as some cameras append their own. */
export function photoOf(bytes: number): Uint8Array<ArrayBuffer> {
  const photo = new Uint8Array(bytes)
  photo.set(jpegPhoto)
  photo.set([0xff, 0xd9], bytes - 2)
  return photo
}

/** A PNG picture of one color and of any size, whose rows take next to nothing. */
export function pngOf(width: number, height: number): Uint8Array<ArrayBuffer> {
  const chunk = (type: string, data: Uint8Array) => {
    const body = Buffer.concat([Buffer.from(type, 'latin1'), data])
    const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)]
    length.writeUInt32BE(data.byteLength)
    check.writeUInt32BE(crc32(body))
    return Buffer.concat([length, body, check])
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(width, 0)
  head.writeUInt32BE(height, 4)
  // One bit a dot, gray: a row is its filter's byte and an eighth of a byte for each dot.
  head.set([1, 0, 0, 0, 0], 8)
  const rows = deflateSync(Buffer.alloc(height * (1 + Math.ceil(width / 8))))
  const signature = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a)
  return Uint8Array.from(
    Buffer.concat([signature, chunk('IHDR', head), chunk('IDAT', rows), chunk('IEND', new Uint8Array())]),
  )
}
