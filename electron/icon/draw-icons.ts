import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { chromium } from 'playwright-core'

/**
 * Draws the packaged app's icons from their SVG sources beside this file: `node electron/icon/draw-icons.ts`. Run it
 * after a source has changed; what it writes is kept with the sources, so that packaging needs no browser.
 */
const here = import.meta.dirname
const sizes = [16, 24, 32, 48, 64, 128, 256, 512, 1024] as const
type Drawings = ReadonlyMap<number, Buffer>

async function draw(svg: string, wanted: readonly number[] = sizes): Promise<Drawings> {
  const browser = await chromium.launch({
    executablePath: process.env['TARELINE_CHROMIUM'] ?? '/usr/bin/chromium',
    args: ['--no-sandbox'],
  })
  try {
    const page = await browser.newPage()
    const drawn = new Map<number, Buffer>()
    for (const size of wanted) {
      await page.setViewportSize({ width: size, height: size })
      await page.setContent(`<style>*{margin:0}svg{display:block;width:${size}px;height:${size}px}</style>${svg}`)
      drawn.set(size, await page.screenshot({ omitBackground: true }))
    }
    return drawn
  } finally {
    await browser.close()
  }
}

const of = (drawings: Drawings, size: number): Buffer => {
  const png = drawings.get(size)
  if (!png) throw new Error(`no drawing of ${size} pixels`)
  return png
}

/** Windows' container: a directory of entries, then PNG files as they are. A side of 256 is written as 0. */
function ico(drawings: Drawings): Buffer {
  const wanted = sizes.filter((size) => size <= 256)
  const head = Buffer.alloc(6 + 16 * wanted.length)
  head.writeUInt16LE(1, 2)
  head.writeUInt16LE(wanted.length, 4)
  let offset = head.length
  for (const [at, size] of wanted.entries()) {
    const entry = 6 + 16 * at
    const { length } = of(drawings, size)
    head.writeUInt8(size % 256, entry)
    head.writeUInt8(size % 256, entry + 1)
    head.writeUInt16LE(1, entry + 4)
    head.writeUInt16LE(32, entry + 6)
    head.writeUInt32LE(length, entry + 8)
    head.writeUInt32LE(offset, entry + 12)
    offset += length
  }
  return Buffer.concat([head, ...wanted.map((size) => of(drawings, size))])
}

/** macOS's container: four letters that say the size, the length, then a PNG file as it is. */
function icns(drawings: Drawings): Buffer {
  const kinds: [string, number][] = [
    ['ic11', 32],
    ['ic12', 64],
    ['ic07', 128],
    ['ic13', 256],
    ['ic08', 256],
    ['ic14', 512],
    ['ic09', 512],
    ['ic10', 1024],
  ]
  const part = (kind: string, content: Buffer) => {
    const head = Buffer.alloc(8)
    head.write(kind, 'ascii')
    head.writeUInt32BE(content.length + 8, 4)
    return Buffer.concat([head, content])
  }
  return part('icns', Buffer.concat(kinds.map(([kind, size]) => part(kind, of(drawings, size)))))
}

/** What a phone shows among its own: in its corners clear, and whole where it cuts every icon to one shape. */
const onPhones = [
  ['icon', 192, 'icon-192.png'],
  ['icon-whole', 512, 'icon-whole.png'],
] as const

for (const [name, size, file] of onPhones) {
  const drawings = await draw(readFileSync(join(here, `${name}.svg`), 'utf8'), [size])
  writeFileSync(join(here, file), of(drawings, size))
}
for (const name of ['icon', 'fleet-file']) {
  const drawings = await draw(readFileSync(join(here, `${name}.svg`), 'utf8'))
  writeFileSync(join(here, `${name}.ico`), ico(drawings))
  writeFileSync(join(here, `${name}.icns`), icns(drawings))
  if (name === 'icon') writeFileSync(join(here, 'icon.png'), of(drawings, 512))
}
