import { execFileSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import fc from 'fast-check'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { type CsvFault, csvScanner, readUtf8 } from '#core/exchange/csv-records.ts'

let folder: string
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'tareline-long-'))
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

const wide = 'x'.repeat(1_000_001)
/** Cells by which a row comes to so many characters. */
const cells = (count: number, cell: string) => `${Array(count).fill(cell).join(',')}`

function faultsOf(text: string, piece: number): { faults: CsvFault[]; rows: number } {
  const faults: CsvFault[] = []
  let rows = 0
  const scanner = csvScanner({
    record: () => {
      rows += 1
    },
    fault: (fault) => faults.push(fault),
  })
  for (let at = 0; at < text.length; at += piece) scanner.take(text.slice(at, at + piece))
  scanner.end()
  return { faults, rows }
}

describe('a row of more characters than any of ours', () => {
  it.each([
    ['without an end', `a,b\n1,2\n${wide}`],
    ['that ends', `a,b\n1,2\n${wide}\n3,4\n`],
    ['with CR breaks', `a,b\r1,2\r${wide}\r3,4\r`],
    ['of many cells', `a,b\n1,2\n${cells(500_001, 'x')}\n3,4\n`],
    ['of many cells, the first in quotes', `a,b\n1,2\n"x",${cells(500_001, 'x')}\n3,4\n`],
    ['of many quoted cells', `a,b\n1,2\n${cells(250_001, '"x"')}\n3,4\n`],
  ])('%s is told by its line, however the text comes in pieces, and nothing after it is read', (_, text) => {
    for (const piece of [text.length, 300_000, 65_537])
      expect(faultsOf(text, piece)).toEqual({
        faults: [{ line: 3, value: expect.any(String), accepted: 'a row of at most 1,000,000 characters' }],
        rows: 2,
      })
  })

  it('begins only beyond a million', () => {
    expect(faultsOf(`a\n${'x'.repeat(1_000_000)}\n`, 4096)).toMatchObject({ faults: [], rows: 2 })
  })
})

it('a file is read in blocks that end at whole characters, whatever its lines are', async () => {
  const file = join(folder, 'blocks.txt')
  const text = fc.array(fc.constantFrom('ä', '€', '😀', 'x', '\n', '\r'), { minLength: 1, maxLength: 4 })
  await fc.assert(
    fc.asyncProperty(text, fc.nat(4), async (signs, before) => {
      const whole = `${'y'.repeat(before)}${signs.join('').repeat(Math.ceil(2_200_000 / signs.join('').length))}`
      writeFileSync(file, whole)
      let read = ''
      for await (const block of readUtf8(file)) {
        expect(block.text.length).toBeLessThan(2 ** 21 + 1)
        read += block.text
      }
      expect(read === whole).toBe(true)
    }),
    { numRuns: 4 },
  )
})

/** Reads by a program of its own that may hold little, and answers what it says and the most memory it took, MB. */
function readAlone(code: string): { said: string; most: number } {
  const script = `${code}; console.log(JSON.stringify({ said, most: process.resourceUsage().maxRSS / 1024 }))`
  const out = execFileSync(process.execPath, ['--max-old-space-size=64', '--input-type=module', '-e', script], {
    cwd: resolve(import.meta.dirname, '../..'),
    encoding: 'utf8',
  })
  return JSON.parse(out.trim().split('\n').at(-1) ?? '') as { said: string; most: number }
}

describe('a file of one line of 600 MB', () => {
  it('is refused by its line as a fleet folder, in little memory', () => {
    const fleet = join(folder, 'fleet')
    mkdirSync(fleet)
    writeFileSync(join(fleet, 'units.csv'), 'unit,kind\nT-1,truck\n')
    // The rest is zeros, which take no place on the disk.
    truncateSync(join(fleet, 'units.csv'), 600 * 1024 ** 2)
    const { said, most } = readAlone(`
      import { openStore } from '#core/store/open.ts'
      import { importFolder } from '#core/exchange/import-folder.ts'
      const store = await openStore(${JSON.stringify(join(folder, 'fleet.tareline'))})
      const { outcome, problems } = await importFolder(store, ${JSON.stringify(fleet)})
      await store.close()
      const said = outcome + ' ' + problems.map(({ message }) => message).join(' ')`)
    expect(said).toBe(
      'refused units.csv line 3: the row cannot be read; a row of at most 1,000,000 characters is needed.',
    )
    expect(most).toBeLessThan(300)
  })

  it.each([
    ['utf-8', 0, '3 a row of at most 1,000,000 characters'],
    ['utf-16', 0, '3 a row of at most 1,000,000 characters'],
    ['windows-1252', 3, ''],
  ])('is told by its line as a foreign file in %s, or passed over, in little memory', (encoding, skipLines, told) => {
    const file = join(folder, `${encoding}.csv`)
    writeFileSync(file, encoding === 'utf-16' ? Buffer.from('\ufeffa,b\n1,2\n', 'utf16le') : 'a,b\n1,2\n')
    truncateSync(file, 250 * 1024 ** 2)
    const { said, most } = readAlone(`
      import { readForeign } from '#core/foreign/foreign-rows.ts'
      const faults = []
      await readForeign(${JSON.stringify(file)},
        { delimiter: 'comma', encoding: '${encoding}', skipLines: ${skipLines} },
        { record: () => undefined, fault: ({ line, accepted }) => faults.push(line + ' ' + accepted) },
        async () => undefined)
      const said = faults.join(' ')`)
    expect(said).toBe(told)
    expect(most).toBeLessThan(300)
  })
})
