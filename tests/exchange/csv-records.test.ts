import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { csvRow, csvScanner } from '#core/exchange/csv-records.ts'

interface Scanned {
  readonly records: { line: number; cells: string[] }[]
  readonly faults: { line: number; value: string }[]
}

/** Scans a text fed in pieces of the given sizes, over and over. */
function scan(text: string, pieces: readonly number[] = [text.length + 1], delimiter = ','): Scanned {
  const records: Scanned['records'] = []
  const faults: Scanned['faults'] = []
  const scanner = csvScanner(
    {
      record: (cells, line) => records.push({ line, cells }),
      fault: ({ line, value }) => faults.push({ line, value }),
    },
    delimiter,
  )
  for (let at = 0, turn = 0; at < text.length; turn += 1) {
    const size = Math.max(1, pieces[turn % pieces.length] ?? 1)
    scanner.take(text.slice(at, at + size))
    at += size
  }
  scanner.end()
  return { records, faults }
}

const cells = (text: string, pieces?: readonly number[]) => scan(text, pieces).records.map((record) => record.cells)

describe('the CSV scanner', () => {
  it('tells the first line of each record, whatever line breaks its cells hold', () => {
    expect(scan('a,b\n1,"x\ny"\n\n"q\n\n",2\n3,4').records).toEqual([
      { line: 1, cells: ['a', 'b'] },
      { line: 2, cells: ['1', 'x\ny'] },
      { line: 5, cells: ['q\n\n', '2'] },
      { line: 8, cells: ['3', '4'] },
    ])
  })

  it.each([['\n'], ['\r\n'], ['\r']])('takes the line break %j', (lineBreak) => {
    const text = ['a,b', '1,"x, ""y"""', '', '"",'].join(lineBreak)
    expect(scan(text).records).toEqual([
      { line: 1, cells: ['a', 'b'] },
      { line: 2, cells: ['1', 'x, "y"'] },
      { line: 4, cells: ['', ''] },
    ])
    expect(cells(text, [1])).toEqual(cells(text))
  })

  it('goes on after a fault', () => {
    expect(scan('a,b"c\n1,2\n"x"y,3\n4,5\n')).toEqual({
      records: [
        { line: 2, cells: ['1', '2'] },
        { line: 4, cells: ['4', '5'] },
      ],
      faults: [
        { line: 1, value: 'b"c' },
        { line: 3, value: 'y,3' },
      ],
    })
  })

  it('does not read the rest of a large file into one cell whose quote never closes', () => {
    const { records, faults } = scan(`a,b\n1,"${'x,y\n'.repeat(400_000)}`, [65_536])
    expect(records).toEqual([{ line: 1, cells: ['a', 'b'] }])
    expect(faults).toMatchObject([{ line: 2 }])
  })

  const cell = fc.oneof(
    fc.stringMatching(/^[a-z0-9 .-]{0,6}$/),
    fc.string({ unit: fc.constantFrom('a', ',', '"', '\n', '\r\n', ' ', 'é', '😀'), maxLength: 6 }),
  )
  const table = fc
    .integer({ min: 1, max: 4 })
    .chain((width) => fc.array(fc.array(cell, { minLength: width, maxLength: width }), { minLength: 1, maxLength: 8 }))

  it('gives the cells that csv-parse gives, in pieces of any size', () => {
    fc.assert(
      fc.property(table, fc.array(fc.integer({ min: 1, max: 9 }), { minLength: 1, maxLength: 4 }), (rows, pieces) => {
        const text = rows.map(csvRow).join('')
        const expected = parse(text, {
          relax_column_count: true,
          skip_empty_lines: true,
          record_delimiter: '\n',
        }) as string[][]
        // A line that is only one empty cell is an empty line to both.
        const given = cells(text)
        const same =
          JSON.stringify(given) === JSON.stringify(expected) &&
          JSON.stringify(cells(text, pieces)) === JSON.stringify(expected)
        if (!same)
          throw new Error(
            `${JSON.stringify(text)}\n${JSON.stringify(given)}\n${JSON.stringify(expected)}\n${JSON.stringify(cells(text, pieces))}`,
          )
      }),
      { numRuns: 2000 },
    )
  })

  it.each([';', '\t', '|'])('splits at %j as csv-parse does, and at no comma', (delimiter) => {
    fc.assert(
      fc.property(table, fc.array(fc.integer({ min: 1, max: 9 }), { minLength: 1, maxLength: 4 }), (rows, pieces) => {
        const text = rows
          .map((row) => `${row.map((each) => `"${each.replaceAll('"', '""')}"`).join(delimiter)}\n`)
          .join('')
        const expected = parse(text, {
          relax_column_count: true,
          skip_empty_lines: true,
          record_delimiter: '\n',
          delimiter,
        }) as string[][]
        expect(scan(text, pieces, delimiter).records.map((record) => record.cells)).toEqual(expected)
      }),
      { numRuns: 300 },
    )
  })

  it('gives back what was written', () => {
    fc.assert(
      fc.property(table, (rows) => {
        const kept = rows.filter((row) => row.length > 1 || row[0] !== '')
        const text = `x,x,x,x\n${kept.map(csvRow).join('')}`
        expect(cells(text).slice(1)).toEqual(kept)
      }),
      { numRuns: 500 },
    )
  })
})
