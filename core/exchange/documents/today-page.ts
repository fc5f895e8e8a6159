import ical, { ICalCalendarMethod, ICalEventTransparency } from 'ical-generator'
import { createHash } from 'node:crypto'
import type { Content, TDocumentDefinitions, TableCell } from 'pdfmake/interfaces.js'
import { cautions } from '#core/bench/steps.ts'
import type { TodayPage } from '#core/contracts/today.ts'
import { boxed, ink, printedPage, quiet, ruledRows } from '#core/exchange/documents/printed-page.ts'
import { trustStates } from '#core/findings/finding.ts'
import { addDays, storedDay } from '#core/words/day.ts'
import { fromStoredInstant } from '#core/words/instant.ts'
import type { Say } from '#core/words/say.ts'
import { count } from '#core/words/text.ts'

interface TodayHead {
  /** The yard it is of; null: units without one; undefined: the whole fleet. */
  readonly yard: string | null | undefined
  readonly file: string
}

const noYard = 'no yard'
const heading = (text: string): Content => ({ text, style: 'heading', headlineLevel: 1 })
const bold = (text: string): TableCell => ({ text, bold: true })

/** A table under its heading, with what is left out counted; a sentence where it has no row. */
function part(
  title: string,
  none: string,
  { total, rows }: { readonly total: number; readonly rows: readonly TableCell[][] },
  heads: readonly string[],
  widths: readonly (string | number)[],
): Content[] {
  if (rows.length === 0) return [heading(title), { text: none, color: quiet }]
  return [
    heading(title),
    {
      table: { headerRows: 1, dontBreakRows: true, widths: [...widths], body: [heads.map(bold), ...rows] },
      layout: ruledRows((i) => (i <= 1 ? 0.8 : 0.3)),
    },
    ...(total > rows.length
      ? [{ text: `and ${count(total - rows.length, 'more', 'more')}, on the screen`, color: quiet } as Content]
      : []),
  ]
}

const aboutOf = ({ unit, groups, scale, ticket }: TodayPage['untrusted']['rows'][number]): string =>
  unit === null
    ? [ticket === null ? null : `Ticket ${ticket}`, scale === null ? null : `Scale ${scale}`].filter(Boolean).join(', ')
    : [unit, groups.join(', ')].filter(Boolean).join(' ')

/** The page of a day to print, in the measures in use: what stands on the screen, the worst first. */
export function todayPageDefinition(page: TodayPage, { yard, file }: TodayHead, say: Say): TDocumentDefinitions {
  const { day, untrusted, due, changed, weigh, groups } = page
  const title = `Today${yard === undefined ? '' : `, ${yard ?? noYard}`}`
  return {
    ...printedPage(`${title}, ${day}`, `${file} · as of ${day}`),
    pageMargins: [40, 40, 40, 46],
    defaultStyle: { font: 'Roboto', fontSize: 8.5, color: ink, lineHeight: 1.1 },
    styles: {
      title: { fontSize: 16, bold: true },
      heading: { fontSize: 11.5, bold: true, margin: [0, 10, 0, 3] },
      small: { fontSize: 8, color: quiet },
    },
    pageBreakBefore: ({ headlineLevel, pageNumbers }, nodes) =>
      headlineLevel === 1 && pageNumbers.length > 0 && nodes.getFollowingNodesOnPage().length === 0,
    content: [
      { text: `${title}, ${day}`, style: 'title' },
      {
        text: `Axle groups: ${trustStates.map((trust) => `${groups[trust]} ${trust}`).join(' · ')}`,
        color: quiet,
        margin: [0, 2, 0, 4],
      },
      ...part(
        'What cannot be trusted',
        'Nothing is found that takes trust away.',
        {
          total: untrusted.total,
          rows: untrusted.rows.map((row) => [
            { text: row.trust ?? '', bold: true },
            aboutOf(row),
            row.yard ?? '',
            row.since === null ? '' : say.day(fromStoredInstant(row.since)),
            { stack: [row.message, { text: row.nextStep, color: quiet }] },
          ]),
        },
        ['State', 'Of', 'Yard', 'Since', 'Why, and what to do'],
        [52, 74, 56, 50, '*'],
      ),
      ...part(
        `Lines due until ${due.until}`,
        'No trusted line runs out.',
        { total: due.lines.total, rows: due.lines.rows.map((row) => [row.dueOn, row.unit, row.group, row.yard ?? '']) },
        ['Day', 'Unit', 'Group', 'Yard'],
        [60, 70, '*', 120],
      ),
      ...part(
        `Cells to swap until ${due.until}`,
        'No cell is due.',
        {
          total: due.cells.total,
          rows: due.cells.rows.map((row) => [
            row.overdue ? `${row.swapBy}, past its life` : row.swapBy,
            row.unit,
            [row.group, row.circuit].filter(Boolean).join(' '),
            row.serial,
            row.yard ?? '',
          ]),
        },
        ['Swap by', 'Unit', 'Place', 'Sensor', 'Yard'],
        [106, 70, '*', 90, 120],
      ),
      ...part(
        `Visits planned until ${due.until}`,
        'No visit is planned.',
        { total: due.visits.total, rows: due.visits.rows.map((row) => [row.on, row.unit, row.yard ?? '']) },
        ['Day', 'Unit', 'Yard'],
        [60, 70, '*'],
      ),
      ...part(
        `Changed since ${changed.since}`,
        'The trust of no group is known to have changed.',
        {
          total: changed.trust.total,
          rows: changed.trust.rows.map((row) => [row.unit, row.group, `${row.was} on ${row.on}`, bold(row.now)]),
        },
        ['Unit', 'Group', 'Was', 'Is'],
        [70, 90, '*', 90],
      ),
      ...part(
        'Weighings that teach most',
        'No single weighing is worth its trip now.',
        {
          total: weigh.length,
          rows: weigh.map(({ unit, scale, groups: own }) => [
            unit,
            scale,
            own.map(({ group, how }) => `${group} ${how}`).join('; '),
            own[0]?.why ?? '',
          ]),
        },
        ['Unit', 'On the scale', 'Groups and load', 'Why'],
        [60, 100, 130, '*'],
      ),
      {
        margin: [0, 12, 0, 0],
        unbreakable: true,
        stack: [
          boxed({
            stack: [{ text: 'Before working on a vehicle', bold: true, margin: [0, 0, 0, 2] }, { ul: [...cautions] }],
          }),
          {
            text: 'Onboard weights are not legal for trade; the certified scale and the local authority decide.',
            color: quiet,
            margin: [0, 4, 0, 0],
          },
        ],
      },
    ],
  }
}

/** What comes due, for a calendar; days YYYY-MM-DD. */
export interface DueForCalendar {
  readonly lines: readonly TodayPage['due']['lines']['rows'][number][]
  readonly cells: readonly TodayPage['due']['cells']['rows'][number][]
  readonly visits: readonly TodayPage['due']['visits']['rows'][number][]
}

interface Entry {
  readonly unit: string
  readonly yard: string | null
  readonly on: string
  readonly what: string
}

const entriesOf = ({ lines, cells, visits }: DueForCalendar): Entry[] => [
  ...lines.map(({ dueOn, group, ...unit }) => ({ ...unit, on: dueOn, what: `calibrate ${group}` })),
  ...cells.map(({ swapBy, serial, group, unit, yard }) => ({
    unit,
    yard,
    on: swapBy,
    what: `swap the cell of sensor ${serial}${group === null ? '' : ` on ${group}`}`,
  })),
  ...visits.map(({ on, ...unit }) => ({ ...unit, on, what: 'planned visit' })),
]

/**
 * What comes due as a calendar (RFC 5545): one all-day event a unit and due day; what was due before stands on `today`.
 * An event has the same name in every later file, so that a calendar moves it instead of showing it twice.
 * madeAt (ms UTC) stands as the time stamp of every event, so that one record always gives one text.
 */
export function todayCalendar(due: DueForCalendar, today: string, madeAt: number): string {
  const calendar = ical({
    name: 'Today',
    prodId: { company: 'Tareline', product: 'Today', language: 'EN' },
    method: ICalCalendarMethod.PUBLISH,
  })
  for (const [key, entries] of Map.groupBy(entriesOf(due), ({ unit, on }) => `${unit}\n${on}`)) {
    const [{ unit, yard, on: dueOn }] = entries as [Entry, ...Entry[]]
    const day = dueOn < today ? today : dueOn
    const name = createHash('sha256').update(key).digest('hex').slice(0, 32)
    calendar.createEvent({
      id: `${name}@today.tareline`,
      stamp: new Date(madeAt),
      allDay: true,
      timezone: null,
      start: new Date(day),
      // The end of an all-day event is the day after its last.
      end: new Date(addDays(storedDay(day), 1)),
      summary: `Unit ${unit}: ${[...new Set(entries.map(({ what }) => what.split(' ')[0]))].join(', ')}`,
      description: [
        ...entries.map(({ what }) => `- ${what}${dueOn < today ? ` (was due on ${dueOn})` : ''}`),
        '',
        ...cautions,
      ].join('\n'),
      transparency: ICalEventTransparency.TRANSPARENT,
      ...(yard === null ? {} : { location: yard }),
    })
  }
  return calendar.toString()
}
