import ical, { ICalCalendarMethod, ICalEventTransparency } from 'ical-generator'
import { createHash } from 'node:crypto'
import { cautions } from '#core/bench/steps.ts'
import { csvRow } from '#core/exchange/csv-records.ts'
import { sayWorkDue } from '#core/findings/next-due.ts'
import { addDays, storedDay } from '#core/words/day.ts'
import { asText } from '#core/words/text.ts'
import { phrase, phraseLater, speech, spoken } from '#core/words/phrase.ts'

/** One thing to do, as the shop's documents say it. Days are YYYY-MM-DD. */
export interface SheetItem {
  /** Of the evidence behind it: the same until the work is done. */
  readonly id: string
  readonly kind: 'cell' | 'recalibration' | 'repair'
  readonly what: string
  /** Why it is to be done, and what to do next. */
  readonly why: string
  readonly next: string
  readonly group: string | null
  readonly circuit: string | null
  readonly serial: string | null
  readonly cell: string | null
  readonly dueOn: string
  /** To be done at once, said instead of the day. */
  readonly dueNow: boolean
  readonly minutes: number
}

/** One visit of one unit, as the shop's documents list it: by yard, then day. */
export interface SheetVisit {
  readonly yard: string | null
  readonly unit: string
  readonly day: string
  readonly untilDay: string
  readonly dueOn: string
  /** To be done at once, said instead of the day. */
  readonly dueNow: boolean
  readonly minutes: number
  readonly plannedOn: string | null
  readonly lateDays: number
  readonly items: readonly SheetItem[]
}

const kindInText: Readonly<Record<SheetItem['kind'], string>> = spoken({
  cell: phraseLater('cell'),
  recalibration: phraseLater('recalibration'),
  repair: phraseLater('repair'),
})

export const seatOf = ({ group, circuit }: Pick<SheetItem, 'group' | 'circuit'>): string =>
  [group, circuit].filter((name) => name !== null).join(' ')

/** The same visit has the same name in every later file, so that a calendar moves it instead of showing it twice. */
const nameOf = ({ unit, items }: SheetVisit): string =>
  `${createHash('sha256')
    .update(`${unit}\n${items[0]?.id ?? ''}`)
    .digest('hex')
    .slice(0, 32)}@bench.tareline`

function descriptionOf({ items, lateDays, dueOn, dueNow, minutes }: SheetVisit): string {
  const work = items.flatMap((item) => [
    phrase('- {what} (due {dueOn})', {
      what: [seatOf(item), item.what].filter((text) => text !== '').join(': '),
      dueOn: sayWorkDue(item),
    }),
    phrase('  Why: {why}', { why: item.why }),
    phrase('  Next: {next}', { next: item.next }),
  ])
  return [
    phrase('{minutes} minutes of work{lateDays}.', {
      minutes,
      lateDays:
        lateDays > 0
          ? phrase('; was due on {dueOn}, {lateDays} days late', { dueOn, lateDays })
          : dueNow
            ? phrase(', due now')
            : phrase(', due on {dueOn}', { dueOn }),
    }),
    ...work,
    '',
    ...cautions(),
  ].join('\n')
}

/**
 * The visits as a calendar (RFC 5545): one all-day event each, the work and the cautions in its description.
 * madeAt (ms UTC) stands as the time stamp of every event, so that one plan always gives one text.
 */
export function benchCalendar(visits: readonly SheetVisit[], madeAt: number): string {
  const calendar = ical({
    name: phrase('Shop Bench'),
    prodId: { company: 'Tareline', product: phrase('Shop Bench'), language: speech().language.toUpperCase() },
    method: ICalCalendarMethod.PUBLISH,
  })
  for (const visit of visits) {
    calendar.createEvent({
      id: nameOf(visit),
      stamp: new Date(madeAt),
      allDay: true,
      timezone: null,
      start: new Date(visit.day),
      // The end of an all-day event is the day after its last.
      end: new Date(addDays(storedDay(visit.untilDay), 1)),
      summary: phrase('Unit {unit}: {items}', {
        unit: visit.unit,
        items: visit.items
          .map(({ kind }) => kindInText[kind])
          .filter((kind, at, all) => all.indexOf(kind) === at)
          .join(', '),
      }),
      description: descriptionOf(visit),
      transparency: ICalEventTransparency.TRANSPARENT,
      ...(visit.yard === null ? {} : { location: visit.yard }),
    })
  }
  return calendar.toString()
}

const columns = [
  'yard',
  'day',
  'until_day',
  'unit',
  'planned_visit',
  'kind',
  'place',
  'serial',
  'cell',
  'what',
  'due_on',
  'due_now',
  'days_late',
  'minutes',
  'why',
  'next',
] as const

/**
 * The planned work as CSV, one row a thing to do. Unlike the fleet folder it is for reading, not for bringing in again.
 */
export function benchCsv(visits: readonly SheetVisit[]): string {
  const rows = visits.flatMap(({ yard, day, untilDay, unit, plannedOn, lateDays, items }) =>
    items.map((item) => [
      yard ?? '',
      day,
      untilDay,
      unit,
      plannedOn ?? '',
      item.kind,
      seatOf(item),
      item.serial ?? '',
      item.cell ?? '',
      item.what,
      item.dueOn,
      item.dueNow ? 'yes' : 'no',
      String(lateDays),
      String(item.minutes),
      item.why,
      item.next,
    ]),
  )
  return [csvRow(columns), ...rows.map((row) => csvRow(row.map(asText)))].join('')
}
