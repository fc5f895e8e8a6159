import fc from 'fast-check'
import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { csvRow } from '#core/exchange/csv-records.ts'
import { type HeavyExportRow, heavyCsv, heavySpreadsheet } from '#core/exchange/documents/heavy-export.ts'
import { exportFolder } from '#core/exchange/export-folder.ts'
import { importIntoFile } from '#core/jobs/import-into-file.ts'
import { openStore } from '#core/store/open.ts'
import { asText, beginsAsFormula } from '#core/words/text.ts'
import { problemsAsCsv } from '#renderer/screens/folder/import-outcome.tsx'
import { smallFleet, withCell, writeFiles } from '#tests/exchange/small-fleet.ts'
import { sayStored } from '#core/words/say.ts'
import { some } from '#tests/some.ts'

/**
 * Beginnings that spreadsheet programs take for formulas (OWASP, CSV injection; from memory), and what surrounds them.
 */
const hostile = [
  '=1+1',
  '=HYPERLINK("http://example.com")',
  '+1',
  '-1+2',
  '@SUM(A1)',
  '\t=1',
  '\r=1',
  '\n=1',
  '  =1',
  '\uff1d1',
  '\u00a0@x',
  "+cmd|' /C calc'!A0",
]

async function inFolder<T>(work: (folder: string) => Promise<T>): Promise<T> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-formula-'))
  try {
    return await work(folder)
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

const sheetHead = { title: 'Heavy Log', asOf: '2026-03-01', file: 'fleet.tareline', notes: [] }

const row = (text: string): HeavyExportRow => ({
  weighedAt: '2025-03-03T12:00:00Z',
  units: [text, 'V-201'],
  unit: text,
  yard: text,
  kind: 'group',
  group: text,
  set: null,
  weightLb: 34_500,
  uLb: 200,
  limitLb: 34_000,
  overLb: -12,
  pOver: 0.9,
  verdict: 'over',
  byLine: null,
  provisional: false,
  lookBack: null,
  source: 'reading',
  superseded: false,
  reading: text,
  ticket: text,
  scale: text,
  note: text,
  driver: text,
  lane: text,
})

it('a text that begins as a formula does is made one, and any other stays as it is', () => {
  for (const text of hostile)
    expect([text, beginsAsFormula(asText(text)), asText(text).slice(1)]).toEqual([text, false, text])
  fc.assert(
    fc.property(fc.string(), (text) => {
      expect(beginsAsFormula(asText(text))).toBe(false)
    }),
  )
  fc.assert(
    fc.property(
      fc.string().filter((text) => !beginsAsFormula(text)),
      (text) => {
        expect(asText(text)).toBe(text)
      },
    ),
  )
})

it('no cell of the Heavy Log’s CSV file, nor of the list of an import’s problems, is a formula; numbers stay numbers', async () => {
  for (const text of hostile) {
    let csv = ''
    for await (const part of heavyCsv(
      (async function* () {
        yield [row(text)]
      })(),
    ))
      csv += part
    expect(csv).toContain(csvRow([asText(text)]).trimEnd())
    expect(csv).toContain(',-12,')
    const problems = problemsAsCsv([
      {
        file: 'units.csv',
        line: 2,
        column: 'unit',
        value: text,
        accepted: 'a name',
        message: `${text} is not accepted`,
      },
    ])
    for (const line of [csv, problems]) expect(line).not.toContain(`,${text}`)
  }
})

it('the Heavy Log’s spreadsheet holds texts and numbers, and no formula', async () => {
  await inFolder(async (folder) => {
    writeFileSync(join(folder, 'x.xlsx'), await heavySpreadsheet(hostile.map(row), sayStored('UTC'), sheetHead))
    execFileSync('unzip', ['-q', join(folder, 'x.xlsx'), '-d', folder])
    const sheet = readFileSync(join(folder, 'xl/worksheets/sheet1.xml'), 'utf8')
    expect(sheet).not.toMatch(/<f[ >]/)
    expect(sheet).toContain('<v>-10</v>')
    expect(execFileSync('unzip', ['-l', join(folder, 'x.xlsx')], { encoding: 'utf8' })).not.toMatch(
      /externalLink|vbaProject|connections/,
    )
  })
})

it('the fleet folder keeps such a text as it is, says how many there are, and brings back what was written out', async () => {
  await inFolder(async (folder) => {
    writeFiles(folder, withCell(smallFleet(), 'units.csv', 2, 'make', '=1+1'))
    await importIntoFile(join(folder, 'a.tareline'), folder, {})
    const store = await openStore(join(folder, 'a.tareline'), { mustExist: true })
    const first = await exportFolder(store, join(folder, 'out')).finally(() => store.close())
    expect(first.formulaTexts).toBe(1)
    expect(readFileSync(join(folder, 'out/units.csv'), 'utf8')).toContain(',=1+1,')
    await importIntoFile(join(folder, 'b.tareline'), join(folder, 'out'), {})
    const again = await openStore(join(folder, 'b.tareline'), { mustExist: true })
    const second = await exportFolder(again, join(folder, 'out-again')).finally(() => again.close())
    expect(second.formulaTexts).toBe(1)
    for (const { file } of some(first.files))
      expect(readFileSync(join(folder, 'out-again', file), 'utf8')).toBe(
        readFileSync(join(folder, 'out', file), 'utf8'),
      )
  })
})
