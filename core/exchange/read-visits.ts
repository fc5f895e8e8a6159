import { NotUtf8, csvScanner, readUtf8 } from '#core/exchange/csv-records.ts'
import { ListFull, type ProblemList, problemList } from '#core/exchange/row-reader.ts'
import type { VisitToPlan } from '#core/store/visits.ts'
import { acceptedDay, parseDay } from '#core/words/day.ts'

/** What units and yards are called, by name. */
export interface VisitNames {
  readonly units: ReadonlyMap<string, number>
  readonly yards: ReadonlyMap<string, number>
}

const columns = ['unit', 'yard', 'date'] as const
const header = 'a header with unit, yard, date'

interface VisitReader {
  take(text: string): void
  end(): VisitToPlan[]
}

function visitReader(shownName: string, names: VisitNames, problems: ProblemList): VisitReader {
  const visits = new Map<string, VisitToPlan>()
  let positions: number[] | undefined
  let width = 0
  const scanner = csvScanner({
    fault: ({ line, value, accepted }) =>
      problems.add(shownName, line, null, value, accepted, `the row cannot be read; ${accepted} is needed.`),
    record: (cells, line) => {
      if (!positions) {
        width = cells.length
        const titles = cells.map((cell) => cell.replace('\uFEFF', '').trim().toLowerCase())
        positions = columns.map((column) => titles.indexOf(column))
        positions.forEach((position, index) => {
          // The yard may be left out: a unit comes to its own.
          if (position < 0 && columns[index] !== 'yard')
            problems.add(
              shownName,
              line,
              columns[index] ?? null,
              cells.join(','),
              header,
              `the column is missing; ${header} is needed.`,
            )
        })
        return
      }
      if (cells.every((cell) => cell.trim() === '') || positions[0] === -1 || positions[2] === -1) return
      if (cells.length !== width) {
        problems.add(
          shownName,
          line,
          null,
          `${cells.length} cells`,
          `${width} cells, as in the header`,
          `the row has ${cells.length} cells; ${width}, as in the header, are needed.`,
        )
        return
      }
      const [unit = '', yard = '', date = ''] = positions.map((position) => (cells[position] ?? '').trim())
      const unitId = names.units.get(unit)
      const yardId = yard === '' ? null : names.yards.get(yard)
      const on = parseDay(date)
      if (unitId === undefined)
        problems.add(
          shownName,
          line,
          'unit',
          unit,
          'the number of a unit in this fleet',
          `there is no unit ${JSON.stringify(unit)} in this fleet.`,
        )
      if (yardId === undefined)
        problems.add(
          shownName,
          line,
          'yard',
          yard,
          'a yard of this fleet, or nothing for the unit’s own',
          `there is no yard ${JSON.stringify(yard)} in this fleet.`,
        )
      if (on === undefined)
        problems.add(
          shownName,
          line,
          'date',
          date,
          acceptedDay,
          `${JSON.stringify(date)} is not accepted; ${acceptedDay} is.`,
        )
      if (unitId !== undefined && yardId !== undefined && on !== undefined)
        visits.set(`${unitId} ${on}`, { unitId, yardId, on })
    },
  })
  return {
    take: scanner.take,
    end: () => {
      scanner.end()
      if (!positions) problems.add(shownName, 1, null, '', header, `the file is empty; ${header} is needed.`)
      return [...visits.values()]
    },
  }
}

export interface ReadVisits {
  readonly visits: readonly VisitToPlan[]
  readonly problems: ProblemList
}

/**
 * The planned visits of a CSV text with the columns unit, yard, date, and what is wrong with its rows. Of two rows for
 * one unit and day the last counts.
 */
export function readVisitsText(text: string, shownName: string, names: VisitNames): ReadVisits {
  const problems = problemList()
  try {
    const reader = visitReader(shownName, names, problems)
    reader.take(text)
    return { visits: reader.end(), problems }
  } catch (error) {
    if (!(error instanceof ListFull)) throw error
    return { visits: [], problems }
  }
}

/** The same from a file. Errors: the file system's. */
export async function readVisitsFile(path: string, shownName: string, names: VisitNames): Promise<ReadVisits> {
  const problems = problemList()
  try {
    const reader = visitReader(shownName, names, problems)
    for await (const { text } of readUtf8(path)) reader.take(text)
    return { visits: reader.end(), problems }
  } catch (error) {
    if (error instanceof NotUtf8)
      problems.add(
        shownName,
        error.line,
        null,
        'bytes that are not UTF-8',
        'text in UTF-8',
        'the text is not UTF-8; save the file as CSV in UTF-8.',
      )
    else if (!(error instanceof ListFull)) throw error
    return { visits: [], problems }
  }
}
