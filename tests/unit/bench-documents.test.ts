import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { csvScanner } from '#core/exchange/csv-records.ts'
import { type SheetVisit, benchCalendar, benchCsv } from '#core/exchange/documents/bench-lists.ts'
import { makePdf } from '#core/exchange/documents/make-pdf.ts'
import { workListDefinition } from '#core/exchange/documents/work-list.ts'
import { storedMeasures } from '#core/words/measures.ts'

const visit = (part: Partial<SheetVisit> = {}): SheetVisit => ({
  yard: 'Cinder Gap',
  unit: 'T-101',
  day: '2026-03-02',
  untilDay: '2026-03-02',
  dueOn: '2026-03-04',
  dueNow: false,
  minutes: 60,
  plannedOn: null,
  lateDays: 0,
  items: [
    {
      id: 'cell PA-1 2024-01-01',
      kind: 'cell',
      what: 'Swap the CR2477 cell of sensor PA-1',
      why: 'Its sensor has been silent since 2026-02-01: the cell is most likely dead.',
      next: 'Swap it and mark it swapped.',
      group: 'drive',
      circuit: 'main',
      serial: 'PA-1',
      cell: 'CR2477',
      dueOn: '2026-03-04',
      dueNow: false,
      minutes: 15,
    },
    {
      id: 'recalibration 1 2026-03-10',
      kind: 'recalibration',
      what: 'Recalibrate drive',
      why: 'Its line is good until 2026-03-10.',
      next: 'Weigh the unit empty and loaded.',
      group: 'drive',
      circuit: null,
      serial: null,
      cell: null,
      dueOn: '2026-03-10',
      dueNow: false,
      minutes: 45,
    },
  ],
  ...part,
})

type Property = { name: string; params: string[]; value: string }

/**
 * Reads a calendar by the words of RFC 5545 alone: content lines end with CR LF (3.1), long ones are folded, TEXT is
 * escaped (3.3.11).
 */
function readCalendar(text: string): { head: Property[]; events: Property[][] } {
  expect(text.endsWith('\r\n') || text.endsWith('END:VCALENDAR')).toBe(true)
  for (const line of text.split('\r\n')) expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75)
  expect(text.replaceAll('\r\n', '')).not.toMatch(/[\r\n]/)
  const lines = text
    .replaceAll(/\r\n[ \t]/g, '')
    .split('\r\n')
    .filter((line) => line !== '')
  expect(lines[0]).toBe('BEGIN:VCALENDAR')
  expect(lines.at(-1)).toBe('END:VCALENDAR')
  const head: Property[] = []
  const events: Property[][] = []
  let open: Property[] = head
  for (const line of lines.slice(1, -1)) {
    if (line === 'BEGIN:VEVENT') {
      open = []
      events.push(open)
    } else if (line === 'END:VEVENT') open = head
    else {
      const match = /^([A-Z-]+)((?:;[A-Z-]+=[^:;]+)*):(.*)$/.exec(line)
      if (!match) throw new Error(`not a content line: ${line}`)
      const [, name = '', params = '', value = ''] = match
      open.push({
        name,
        params: params.split(';').slice(1),
        value: value.replaceAll(/\\([\\;,nN])/g, (_, escaped: string) =>
          escaped.toLowerCase() === 'n' ? '\n' : escaped,
        ),
      })
    }
  }
  return { head, events }
}
const textOf = (properties: readonly Property[] | undefined, name: string) =>
  properties
    ?.filter((each) => each.name === name)
    .map(({ value }) => value)
    .join('|')

describe('the calendar of the bench plan (RFC 5545)', () => {
  const madeAt = Date.UTC(2026, 1, 27, 15)

  it('has what section 3.6 asks for, and an all-day event a visit that ends on the day after its last', () => {
    const { head, events } = readCalendar(
      benchCalendar([visit(), visit({ unit: 'T-102', untilDay: '2026-03-03' })], madeAt),
    )
    expect(textOf(head, 'VERSION')).toBe('2.0')
    expect(textOf(head, 'PRODID')).toBe('-//Tareline//Shop Bench//EN')
    expect(events).toHaveLength(2)
    const [first, second] = events
    expect(first?.find(({ name }) => name === 'DTSTART')).toMatchObject({ params: ['VALUE=DATE'], value: '20260302' })
    expect(textOf(first, 'DTEND')).toBe('20260303')
    expect(textOf(second, 'DTEND')).toBe('20260304')
    expect(textOf(first, 'DTSTAMP')).toBe('20260227T150000Z')
    expect(textOf(first, 'SUMMARY')).toBe('Unit T-101: cell, recalibration')
    expect(textOf(first, 'LOCATION')).toBe('Cinder Gap')
    expect(textOf(first, 'DESCRIPTION')).toContain(
      '- drive main: Swap the CR2477 cell of sensor PA-1 (due 2026-03-04)\n' +
        '  Why: Its sensor has been silent since 2026-02-01: the cell is most likely dead.\n' +
        '  Next: Swap it and mark it swapped.\n- drive: Recalibrate drive',
    )
    expect(textOf(first, 'DESCRIPTION')).toContain('Never tee into brake air.')
  })

  it('names a visit by its unit and work, so that a later file moves it', () => {
    const uid = (each: SheetVisit) => textOf(readCalendar(benchCalendar([each], madeAt)).events[0], 'UID')
    expect(uid(visit({ day: '2026-03-05', untilDay: '2026-03-05', minutes: 15 }))).toBe(uid(visit()))
    expect(uid(visit({ unit: 'T-102' }))).not.toBe(uid(visit()))
  })

  it('gives back any text as it was, whatever it holds', () => {
    fc.assert(
      fc.property(
        fc.string({ unit: 'grapheme', minLength: 1, maxLength: 120 }).filter((text) => !/\p{Cc}/u.test(text)),
        (what) => {
          const [item] = visit().items
          const [event] = readCalendar(
            benchCalendar([visit({ items: [{ ...(item as NonNullable<typeof item>), what }] })], madeAt),
          ).events
          expect(textOf(event, 'DESCRIPTION')).toContain(`- drive main: ${what} (due 2026-03-04)`)
        },
      ),
    )
  })
})

describe('the bench plan as CSV', () => {
  const read = (text: string) => {
    const rows: string[][] = []
    const scanner = csvScanner({
      record: (cells) => rows.push(cells),
      fault: (fault) => {
        throw new Error(JSON.stringify(fault))
      },
    })
    scanner.take(text)
    scanner.end()
    return rows
  }

  it('has a row a thing to do', () => {
    const rows = read(benchCsv([visit()]))
    expect(rows).toHaveLength(3)
    expect(rows[1]).toEqual([
      'Cinder Gap',
      '2026-03-02',
      '2026-03-02',
      'T-101',
      '',
      'cell',
      'drive main',
      'PA-1',
      'CR2477',
      'Swap the CR2477 cell of sensor PA-1',
      '2026-03-04',
      'no',
      '0',
      '15',
      'Its sensor has been silent since 2026-02-01: the cell is most likely dead.',
      'Swap it and mark it swapped.',
    ])
  })

  it('holds no cell that a spreadsheet would take for a formula', () => {
    fc.assert(
      fc.property(fc.constantFrom('=', '+', '-', '@', '\t'), fc.string({ maxLength: 20 }), (sign, rest) => {
        const text = `${sign}${rest}`.replaceAll(/[\r\n]/g, ' ')
        const [item] = visit().items
        const rows = read(
          benchCsv([
            visit({
              yard: text,
              unit: text,
              items: [
                { ...(item as NonNullable<typeof item>), what: text, serial: text, cell: text, group: text, why: text },
              ],
            }),
          ]),
        )
        for (const cell of rows[1] ?? []) expect(cell).not.toMatch(/^[=+\-@\t\r]/)
        expect(rows[1]?.[3]).toBe(`'${text}`)
      }),
    )
  })
})

describe('the work list', () => {
  /** Pages of a PDF, by its page objects. */
  const pages = (bytes: Uint8Array) =>
    Buffer.from(bytes)
      .toString('latin1')
      .match(/\/Type \/Page\b(?!s)/g)?.length ?? 0

  it('is a PDF of as many pages as its work needs, with a box for each thing to do', async () => {
    const head = {
      title: 'Shop work',
      asOf: '2026-03-02',
      file: 'fleet.tareline',
      whyEmpty: 'Nothing to do today.',
      measures: storedMeasures,
    }
    const one = await makePdf(workListDefinition([visit()], head))
    expect(Buffer.from(one.slice(0, 5)).toString()).toBe('%PDF-')
    expect(pages(one)).toBe(1)
    const many = await makePdf(
      workListDefinition(
        Array.from({ length: 200 }, (_, i) => visit({ unit: `T-${i}`, yard: `Yard ${Math.floor(i / 50)}` })),
        head,
      ),
    )
    expect(pages(many)).toBeGreaterThan(10)
    expect(pages(await makePdf(workListDefinition([], head)))).toBe(1)
  })

  it('stands under the cautions, and explains each kind of work that it asks for', () => {
    const text = JSON.stringify(
      workListDefinition([visit()], {
        title: 'Shop work',
        asOf: '2026-03-02',
        file: 'f',
        whyEmpty: '',
        measures: storedMeasures,
      }),
    )
    for (const words of [
      'chock the wheels',
      'Exhaust the suspension air',
      'held up by air',
      'brake air',
      'coin cells',
      'legal-for-trade',
      'Cell: steps',
      'Recalibration: steps',
    ])
      expect(text).toContain(words)
    expect(text).not.toContain('Repair: steps')
    expect(text.match(/"type":"rect"/g)).toHaveLength(2)
  })
})
