import { type ListedWord, word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { readPlainTable } from '#core/exchange/plain-table.ts'
import { type ProblemList, quote } from '#core/exchange/row-reader.ts'
import type { VisitToPlan } from '#core/store/visits.ts'
import { acceptedDay, parseDay } from '#core/words/day.ts'

/** What units and yards are called, by name. */
export interface VisitNames {
  readonly units: ReadonlyMap<string, number>
  readonly yards: ReadonlyMap<string, number>
}

/**
 * The planned visits of a CSV text or file with the columns unit, yard, date, and what is wrong with its rows. Of two
 * rows for one unit and day the last counts. Errors: the file system's.
 */
export async function readVisits(
  source: { readonly text: string } | { readonly path: string },
  name: string,
  { units, yards }: VisitNames,
): Promise<{ visits: readonly VisitToPlan[]; problems: ProblemList }> {
  const visits = new Map<string, VisitToPlan>()
  const problems = await readPlainTable(source, {
    name,
    columns: ['unit', 'yard', 'date'],
    // A unit comes to its own.
    optional: 'yard',
    take: ({ unit, yard, date }, refuse) => {
      const unitId = units.get(unit)
      const yardId = yard === '' ? null : yards.get(yard)
      const on = parseDay(date)
      const missing = (what: ListedWord, text: string) =>
        phrase('there is no {what} {text} in this fleet.', { what: word(what), text: quote(text) })
      if (unitId === undefined) refuse('unit', phrase('the number of a unit in this fleet'), missing('unit', unit))
      if (yardId === undefined)
        refuse('yard', phrase('a yard of this fleet, or nothing for the unit’s own'), missing('yard', yard))
      if (on === undefined) refuse('date', acceptedDay())
      if (unitId !== undefined && yardId !== undefined && on !== undefined)
        visits.set(`${unitId} ${on}`, { unitId, yardId, on })
    },
  })
  return { visits: [...visits.values()], problems }
}
