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
import { word, wordOf } from '#core/words/listed-words.ts'
import { phrase, speech } from '#core/words/phrase.ts'

interface TodayHead {
  /** The yard it is of; null: units without one; undefined: the whole fleet. */
  readonly yard: string | null | undefined
  readonly file: string
}

const noYard = (): string => phrase('no yard')
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
      ? [
          {
            text: phrase('and {total, plural, one {# more} other {# more}}, on the screen', {
              total: total - rows.length,
            }),
            color: quiet,
          } as Content,
        ]
      : []),
  ]
}

const aboutOf = ({ unit, groups, scale, ticket }: TodayPage['untrusted']['rows'][number]): string =>
  unit === null
    ? [
        ticket === null ? null : phrase('Ticket {ticket}', { ticket }),
        scale === null ? null : phrase('Scale {scale}', { scale }),
      ]
        .filter(Boolean)
        .join(', ')
    : [unit, groups.join(', ')].filter(Boolean).join(' ')

/** The page of a day to print, in the measures in use: what stands on the screen, the worst first. */
export function todayPageDefinition(page: TodayPage, { yard, file }: TodayHead, say: Say): TDocumentDefinitions {
  const { day, untrusted, due, changed, weigh, groups } = page
  const title = phrase('Today{yard}', { yard: yard === undefined ? '' : `, ${yard ?? noYard()}` })
  return {
    ...printedPage(`${title}, ${day}`, phrase('{file} · as of {day}', { file, day })),
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
        text: phrase('Axle groups: {trustStates}', {
          trustStates: trustStates.map((trust) => `${groups[trust]} ${word(trust)}`).join(' · '),
        }),
        color: quiet,
        margin: [0, 2, 0, 4],
      },
      ...part(
        phrase('What cannot be trusted'),
        phrase('Nothing is found that takes trust away.'),
        {
          total: untrusted.total,
          rows: untrusted.rows.map((row) => [
            { text: row.trust === null ? '' : word(row.trust), bold: true },
            aboutOf(row),
            row.yard ?? '',
            row.since === null ? '' : say.day(fromStoredInstant(row.since)),
            { stack: [row.message, { text: row.nextStep, color: quiet }] },
          ]),
        },
        [phrase('State'), phrase('Of'), phrase('Yard'), phrase('Since'), phrase('Why, and what to do')],
        [52, 74, 56, 50, '*'],
      ),
      ...part(
        phrase('Lines due until {until}', { until: due.until }),
        phrase('No trusted line runs out.'),
        { total: due.lines.total, rows: due.lines.rows.map((row) => [row.dueOn, row.unit, row.group, row.yard ?? '']) },
        [phrase('Day'), phrase('Unit'), phrase('Group'), phrase('Yard')],
        [60, 70, '*', 120],
      ),
      ...part(
        phrase('Cells to swap until {until}', { until: due.until }),
        phrase('No cell is due.'),
        {
          total: due.cells.total,
          rows: due.cells.rows.map((row) => [
            row.overdue ? phrase('now, past its life') : row.now ? phrase('now') : row.swapBy,
            row.unit,
            [row.group, row.circuit].filter(Boolean).join(' '),
            row.serial,
            row.yard ?? '',
          ]),
        },
        [phrase('Swap by'), phrase('Unit'), phrase('Place'), phrase('Sensor'), phrase('Yard')],
        [106, 70, '*', 90, 120],
      ),
      ...part(
        phrase('Visits planned until {until}', { until: due.until }),
        phrase('No visit is planned.'),
        { total: due.visits.total, rows: due.visits.rows.map((row) => [row.on, row.unit, row.yard ?? '']) },
        [phrase('Day'), phrase('Unit'), phrase('Yard')],
        [60, 70, '*'],
      ),
      ...part(
        phrase('Changed since {since}', { since: changed.since }),
        phrase('The trust of no group is known to have changed.'),
        {
          total: changed.trust.total,
          rows: changed.trust.rows.map((row) => [
            row.unit,
            row.group,
            phrase('{was} on {on}', { was: word(row.was), on: row.on }),
            bold(word(row.now)),
          ]),
        },
        [phrase('Unit'), phrase('Group'), phrase('Was'), phrase('Is')],
        [70, 90, '*', 90],
      ),
      ...part(
        phrase('Weighings that teach most'),
        phrase('No single weighing is worth its trip now.'),
        {
          total: weigh.length,
          rows: weigh.map(({ unit, scale, groups: own }) => [
            unit,
            scale,
            own.map(({ group, how }) => `${group} ${wordOf(how)}`).join('; '),
            own[0]?.why ?? '',
          ]),
        },
        [phrase('Unit'), phrase('On the scale'), phrase('Groups and load'), phrase('Why')],
        [60, 100, 130, '*'],
      ),
      {
        margin: [0, 12, 0, 0],
        unbreakable: true,
        stack: [
          boxed({
            stack: [
              { text: phrase('Before working on a vehicle'), bold: true, margin: [0, 0, 0, 2] },
              { ul: [...cautions()] },
            ],
          }),
          {
            text: phrase(
              'Onboard weights are not legal for trade; the certified scale and the local authority decide.',
            ),
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
  /** The same in a word. */
  readonly short: string
}

const entriesOf = ({ lines, cells, visits }: DueForCalendar): Entry[] => [
  ...lines.map(({ dueOn, group, ...unit }) => ({
    ...unit,
    on: dueOn,
    what: phrase('calibrate {group}', { group }),
    short: phrase('calibrate'),
  })),
  ...cells.map(({ swapBy, serial, group, unit, yard }) => ({
    unit,
    yard,
    on: swapBy,
    what: phrase('swap the cell of sensor {serial}{group}', {
      serial,
      group: group === null ? '' : phrase(' on {group}', { group }),
    }),
    short: phrase('swap a cell'),
  })),
  ...visits.map(({ on, ...unit }) => ({ ...unit, on, what: phrase('planned visit'), short: phrase('planned visit') })),
]

/**
 * What comes due as a calendar (RFC 5545): one all-day event a unit and due day; what was due before stands on `today`.
 * An event has the same name in every later file, so that a calendar moves it instead of showing it twice.
 * madeAt (ms UTC) stands as the time stamp of every event, so that one record always gives one text.
 */
export function todayCalendar(due: DueForCalendar, today: string, madeAt: number): string {
  const calendar = ical({
    name: phrase('Today'),
    prodId: { company: 'Tareline', product: phrase('Today'), language: speech().language.toUpperCase() },
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
      summary: phrase('Unit {unit}: {value}', {
        unit,
        value: [...new Set(entries.map(({ short }) => short))].join(', '),
      }),
      description: [
        ...entries.map(({ what }) => `- ${what}${dueOn < today ? phrase(' (was due on {dueOn})', { dueOn }) : ''}`),
        '',
        ...cautions(),
      ].join('\n'),
      transparency: ICalEventTransparency.TRANSPARENT,
      ...(yard === null ? {} : { location: yard }),
    })
  }
  return calendar.toString()
}
