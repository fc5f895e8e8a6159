import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import type { RosterRow } from '#core/contracts/unit.ts'
import { rosterColumns } from '#core/exchange/documents/fleet-sheets.ts'
import { type SheetColumn, makeSpreadsheet } from '#core/exchange/documents/sheet.ts'
import { speechIn } from '#core/words/catalogues.ts'
import { english, languages, offeredLanguages, speakBy } from '#core/words/phrase.ts'
import { inFileName } from '#core/words/text.ts'
import { sayOfRules } from '#core/words/say.ts'

interface Row {
  readonly at: string
  readonly on: string
  readonly lb: number
}

const columns: readonly SheetColumn<Row>[] = [
  { heading: 'Weighed', meaning: 'When it was weighed', width: 18, of: ({ at }) => ({ moment: at }) },
  { heading: 'Due on', meaning: 'The day', width: 12, of: ({ on }) => ({ day: on }) },
  { heading: ({ measures }) => `Weight, ${measures.weight.symbol}`, meaning: 'Gross', width: 12, of: ({ lb }) => lb },
]

/** The sheets of a workbook as XML, and its texts. */
async function unpacked(zone: string): Promise<{ sheets: string[]; texts: string }> {
  const folder = mkdtempSync(join(tmpdir(), 'tareline-sheet-'))
  try {
    const head = { title: 'Weights', asOf: '2026-03-01', file: 'fleet.tareline', notes: ['A note'] }
    const rows = [{ at: '2026-03-01T02:30:00.000Z', on: '2026-03-01', lb: 34_000 }]
    writeFileSync(join(folder, 'x.xlsx'), await makeSpreadsheet(columns, rows, head, sayOfRules({ measures: 0, zone })))
    execFileSync('unzip', ['-q', join(folder, 'x.xlsx'), '-d', folder])
    const read = (name: string) => readFileSync(join(folder, 'xl', name), 'utf8')
    return { sheets: ['worksheets/sheet1.xml', 'worksheets/sheet2.xml'].map(read), texts: read('sharedStrings.xml') }
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
}

const serial = (sheet: string, cell: string): number =>
  Number(new RegExp(`<c r="${cell}"[^>]*><v>([\\d.]+)</v>`).exec(sheet)?.[1])

// Spreadsheet programs count days from 1899-12-30.
const dayOf = (number: number): string => new Date(Math.round((number - 25_569) * 86_400) * 1000).toISOString()

it('holds real dates of the fleet’s clocks, headings in words, and a sheet that says what the columns mean', async () => {
  const denver = await unpacked('America/Denver')
  const utc = await unpacked('UTC')
  expect(dayOf(serial(denver.sheets[0] ?? '', 'A2'))).toBe('2026-02-28T19:30:00.000Z')
  expect(dayOf(serial(utc.sheets[0] ?? '', 'A2'))).toBe('2026-03-01T02:30:00.000Z')
  expect(dayOf(serial(denver.sheets[0] ?? '', 'B2'))).toBe('2026-03-01T00:00:00.000Z')
  for (const text of [
    'Weighed',
    'Weight, lb',
    'What it means',
    'When it was weighed',
    'A note',
    'k = 2',
    'America/Denver',
  ])
    expect(denver.texts).toContain(text)
})

describe.each(offeredLanguages)('in %s', (language) => {
  afterEach(() => speakBy(() => english))

  it('is a workbook, whatever its title, with sheets named as spreadsheet programs accept', async () => {
    const speech = await speechIn(language, languages[language].locale)
    speakBy(() => speech)
    const say = sayOfRules({ measures: 0, zone: 'UTC' })
    for (const title of ['Weights', 'Weights of all units: [2026/03] as they were weighed'])
      expect(
        (await makeSpreadsheet(columns, [], { title, asOf: '2026-03-01', file: 'fleet.tareline', notes: [] }, say))
          .length,
      ).toBeGreaterThan(1000)
  })
})

it('the Roster’s spreadsheet has the date that the screen has, and now where a line cannot be trusted', () => {
  const due = rosterColumns.find(({ heading }) => heading === 'Due on')
  const row = { dueOn: '2027-04-23' } as RosterRow
  const told = (trust: RosterRow['trust']) => due?.of({ ...row, trust }, sayOfRules({ measures: 0, zone: 'UTC' }))
  expect(told('sound')).toEqual({ day: '2027-04-23' })
  expect(told('overdue')).toEqual({ day: '2027-04-23' })
  expect(told('doubtful')).toBe('now')
  expect(told(null)).toBeNull()
})

it('a name of a file keeps its letters without their accents', () => {
  expect(inFileName('Básculas de Peñón, 2.ª')).toBe('basculas-de-penon-2-a')
})
