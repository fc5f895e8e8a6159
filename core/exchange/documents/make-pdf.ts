import type { TDocumentDefinitions } from 'pdfmake/interfaces.js'

/** pdfmake keeps files in memory under a name; its types do not tell. */
interface MemoryFiles {
  writeFileSync(name: string, content: Buffer): void
}

async function loadPdfmake() {
  // Two megabytes that most runs never need: loaded with the first document.
  const [{ default: pdfmake }, { default: fontFiles }] = await Promise.all([
    import('pdfmake'),
    import('pdfmake/build/vfs_fonts.js'),
  ])
  const { virtualfs } = pdfmake as typeof pdfmake & { virtualfs: MemoryFiles }
  for (const [name, base64] of Object.entries(fontFiles))
    virtualfs.writeFileSync(name, Buffer.from(base64 as string, 'base64'))
  pdfmake.setFonts({
    Roboto: {
      normal: 'Roboto-Regular.ttf',
      bold: 'Roboto-Medium.ttf',
      italics: 'Roboto-Italic.ttf',
      bolditalics: 'Roboto-MediumItalic.ttf',
    },
  })
  // A document holds what it is given: no address and no file is ever fetched for it.
  pdfmake.setUrlAccessPolicy(() => false)
  pdfmake.setLocalAccessPolicy(() => false)
  return pdfmake
}

let loading: ReturnType<typeof loadPdfmake> | undefined

/**
 * The bytes of a PDF with the embedded Roboto fonts. Errors: pdfmake's own, for a definition that it cannot lay out.
 */
export async function makePdf(definition: TDocumentDefinitions): Promise<Uint8Array<ArrayBuffer>> {
  loading ??= loadPdfmake()
  return new Uint8Array(await (await loading).createPdf(definition).getBuffer())
}
