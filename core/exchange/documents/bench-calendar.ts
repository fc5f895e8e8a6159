import { createHash } from 'node:crypto'
import ical, { ICalCalendarMethod, ICalEventTransparency } from 'ical-generator'
import { cautions } from '#core/battery/work-steps.ts'
import { type SheetVisit, seatOf } from '#core/exchange/documents/bench-sheet.ts'

const dayMs = 86_400_000

/** The same visit has the same name in every later file, so that a calendar moves it instead of showing it twice. */
const nameOf = ({ unit, items }: SheetVisit): string =>
  `${createHash('sha256')
    .update(`${unit}\n${items[0]?.id ?? ''}`)
    .digest('hex')
    .slice(0, 32)}@bench.tareline`

function descriptionOf({ items, lateDays, dueOn, minutes }: SheetVisit): string {
  const work = items.map(
    (item) => `- ${[seatOf(item), item.what].filter((text) => text !== '').join(': ')} (due ${item.dueOn})`,
  )
  return [
    `${minutes} minutes of work${lateDays > 0 ? `; was due on ${dueOn}, ${lateDays} days late` : `, due on ${dueOn}`}.`,
    ...work,
    '',
    ...cautions,
  ].join('\n')
}

/**
 * The visits as a calendar (RFC 5545): one all-day event each, the work and the cautions in its description.
 * madeAt (ms UTC) stands as the time stamp of every event, so that one plan always gives one text.
 */
export function benchCalendar(visits: readonly SheetVisit[], madeAt: number): string {
  const calendar = ical({
    name: 'Shop Bench',
    prodId: { company: 'Tareline', product: 'Shop Bench', language: 'EN' },
    method: ICalCalendarMethod.PUBLISH,
  })
  for (const visit of visits) {
    calendar.createEvent({
      id: nameOf(visit),
      stamp: new Date(madeAt),
      allDay: true,
      timezone: null,
      start: new Date(Date.parse(visit.day)),
      // The end of an all-day event is the day after its last.
      end: new Date(Date.parse(visit.untilDay) + dayMs),
      summary: `Unit ${visit.unit}: ${visit.items
        .map(({ kind }) => kind)
        .filter((kind, at, all) => all.indexOf(kind) === at)
        .join(', ')}`,
      description: descriptionOf(visit),
      transparency: ICalEventTransparency.TRANSPARENT,
      ...(visit.yard === null ? {} : { location: visit.yard }),
    })
  }
  return calendar.toString()
}
