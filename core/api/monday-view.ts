import { entryMaker } from '#core/api/heavy-entries.ts'
import type { MondayPage, MondayRow } from '#core/contracts/heavy.ts'
import { countHeavy, listHeavy } from '#core/store/heavy.ts'
import { readHouseRules } from '#core/store/house-rules.ts'
import { type Ground, type HeadTally, listGrounds, tallyByHead } from '#core/store/monday.ts'
import type { Store } from '#core/store/open.ts'
import { changeOf, countedRate, drawnRate, monthRates, standingTo } from '#core/weight/month-rates.ts'
import { verdicts } from '#core/weight/verdict.ts'
import { type LocalMonth, addMonths, dayOf, daysOfMonth, endOfDay, monthOf, startOfDay } from '#core/words/day.ts'
import { namesDrivers } from '#core/words/house-rules.ts'
import { fromStoredInstant, toStoredInstant } from '#core/words/instant.ts'
import { type Say, sayOfRules } from '#core/words/say.ts'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

/** As many as one page has room for; the rest are counted. */
const mostRows = 12
const mostGrounds = 3

type Tally = Pick<HeadTally, 'weighings' | 'over' | 'close'>
type Tallies = ReadonlyMap<string | null, Tally>

/** What the tallies of a month come to by something of the weighing. */
function sumBy(rows: readonly HeadTally[], by: (row: HeadTally) => string | null): Tallies {
  const sums = new Map<string | null, Tally>()
  for (const row of rows) {
    const { weighings, over, close } = sums.get(by(row)) ?? { weighings: 0, over: 0, close: 0 }
    sums.set(by(row), {
      weighings: weighings + row.weighings,
      over: over + row.over,
      close: close + row.close,
    })
  }
  return sums
}

const ratesOf = (tallies: Tallies) =>
  monthRates(Array.from(tallies, ([id, { weighings, over }]) => ({ id, weighings, heavy: over })))

interface Months<T> {
  readonly now: T
  readonly before: T
  readonly yearBefore: T
}

const eachMonth = <T, R>({ now, before, yearBefore }: Months<T>, of: (month: T) => R): Months<R> => ({
  now: of(now),
  before: of(before),
  yearBefore: of(yearBefore),
})

/**
 * What was weighed of a kind in the month, the highest rate first, as many as have room: each rate against the fleet's
 * and its own of other months.
 */
function rankBy(
  months: Months<readonly HeadTally[]>,
  fleet: number,
  by: (row: HeadTally) => string | null,
): MondayPage['units'] {
  const tallies = eachMonth(months, (rows) => sumBy(rows, by))
  const rates = eachMonth(tallies, ratesOf)
  const yards = new Map(months.now.map((row) => [by(row), row.unit === by(row) ? row.yard : null]))
  const ranked = [...rates.now.values()].sort((a, b) => b.shrunkRate - a.shrunkRate || b.weighings - a.weighings)
  const rows = ranked.slice(0, mostRows).flatMap((drawn): MondayRow[] => {
    const name = drawn.id
    const tally = tallies.now.get(name)
    if (!tally) return []
    const now = drawnRate(drawn)
    const earlier = (month: 'before' | 'yearBefore'): MondayRow['before'] => {
      const was = tallies[month].get(name)
      const rate = rates[month].get(name)
      if (!was || !rate) return null
      const then = drawnRate(rate)
      return { ...was, ...then, change: changeOf(now, then) }
    }
    return [
      {
        name,
        yard: yards.get(name) ?? null,
        ...tally,
        ...now,
        standing: standingTo(fleet, now),
        before: earlier('before'),
        yearBefore: earlier('yearBefore'),
        restsOn: [],
      },
    ]
  })
  return { total: ranked.length, rows }
}

function fleetRow(months: Months<readonly HeadTally[]>): MondayRow | null {
  const { now, before, yearBefore } = eachMonth(months, (rows) => {
    const tally = sumBy(rows, () => null).get(null) ?? { weighings: 0, over: 0, close: 0 }
    return { tally, rate: countedRate({ heavy: tally.over, weighings: tally.weighings }) }
  })
  if (!now.rate) return null
  const { rate } = now
  const earlier = (month: typeof before): MondayRow['before'] =>
    month.rate ? { ...month.tally, ...month.rate, change: changeOf(rate, month.rate) } : null
  return {
    name: null,
    yard: null,
    ...now.tally,
    ...rate,
    standing: 'no sure difference',
    before: earlier(before),
    yearBefore: earlier(yearBefore),
    restsOn: [],
  }
}

function sayGround(
  { source, scale, unit, group, trust, calibrated_at: calibratedAt, weights }: Ground,
  say: Say,
): string {
  const many = phrase('{weights, plural, one {# weight} other {# weights}}', { weights })
  if (source === 'ticket') return phrase('{many} by tickets of {scale}', { many, scale })
  if (group === null) return phrase('{many} onboard, by several lines together', { many })
  const line =
    calibratedAt === null
      ? phrase('without a line of its own')
      : phrase('by its line of {calibratedAt}', { calibratedAt: say.day(fromStoredInstant(calibratedAt)) })
  return phrase('{many} onboard of {unit} {group}, {line}{trust}', {
    many,
    unit,
    group,
    line,
    trust: trust === null ? '' : phrase(' ({trust} today)', { trust: word(trust) }),
  })
}

/** The last whole month before a day. */
const lastMonth = (now: number, zone: string): LocalMonth => addMonths(monthOf(dayOf(now, zone)), -1)

/**
 * Who ran heavy in a month against the month before and the same month last year, by what is stored: one question a
 * month and part. now: ms UTC.
 */
export async function readMonday(
  store: Store,
  asked: LocalMonth | undefined,
  now: number,
): Promise<Omit<MondayPage, 'current'>> {
  const { db } = store
  const rules = await readHouseRules(db)
  const say = sayOfRules(rules)
  const month = asked ?? lastMonth(now, rules.zone)
  const today = dayOf(now, rules.zone)
  /** The days of a month that count: a weighing may be dated ahead. */
  const daysOf = (of: LocalMonth) => (of < monthOf(today) ? daysOfMonth(of) : { ...daysOfMonth(of), to: today })
  const names = { now: month, before: addMonths(month, -1), yearBefore: addMonths(month, -12) }
  const months: Months<readonly HeadTally[]> = {
    now: await tallyByHead(db, daysOf(names.now)),
    before: await tallyByHead(db, daysOf(names.before)),
    yearBefore: await tallyByHead(db, daysOf(names.yearBefore)),
  }
  const fleet = fleetRow(months)
  const fleetsRate = fleet?.rate ?? 0
  const grounds = Map.groupBy(await listGrounds(db, daysOf(month), rules.zone), ({ lead }) => lead)
  const withGrounds = (row: MondayRow): MondayRow => ({
    ...row,
    restsOn:
      row.standing === 'worse than the fleet' && row.name !== null
        ? (grounds.get(row.name) ?? []).slice(0, mostGrounds).map((ground) => sayGround(ground, say))
        : [],
  })
  const namedBy = (by: (row: HeadTally) => string | null) =>
    rankBy(
      eachMonth(months, (rows) => rows.filter((row) => by(row) !== null)),
      fleetsRate,
      by,
    )
  const units = rankBy(months, fleetsRate, ({ unit }) => unit)
  const { from, to } = daysOfMonth(month)
  const changed = {
    verdicts,
    superseded: false,
    changed: true,
    from: toStoredInstant(startOfDay(from, rules.zone)),
    to: toStoredInstant(endOfDay(daysOf(month).to, rules.zone)),
  }
  const changedRows = await listHeavy(db, changed, { sort: 'over_lb', descending: true, offset: 0, limit: mostRows })
  return {
    month,
    from,
    to,
    before: names.before,
    yearBefore: names.yearBefore,
    fleet,
    units: { ...units, rows: units.rows.map(withGrounds) },
    yards: rankBy(months, fleetsRate, ({ yard }) => yard),
    drivers: namesDrivers(rules) ? namedBy(({ drivenBy }) => drivenBy) : null,
    lanes: namedBy(({ loadedAt }) => loadedAt),
    lookBack: { total: await countHeavy(db, changed), rows: await (await entryMaker(store))(changedRows) },
  }
}
