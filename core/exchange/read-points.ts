import { NotUtf8, csvScanner, readUtf8 } from '#core/exchange/csv-records.ts'
import { type ProblemList, problemList } from '#core/exchange/row-reader.ts'
import type { Point } from '#core/line/fit.ts'

const columns = ['x', 'y', 'ux', 'uy'] as const
const number = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$/
const accepted = 'a finite number'

/**
 * The points of a CSV file with the columns x, y, ux, uy, and what is wrong with its rows. Errors: ListFull; the file
 * system's.
 */
export async function readPoints(path: string, shownName: string): Promise<{ points: Point[]; problems: ProblemList }> {
  const problems = problemList()
  const points: Point[] = []
  let positions: number[] | undefined
  let width = 0
  const scanner = csvScanner({
    fault: ({ line, value, accepted: needed }) =>
      problems.add(shownName, line, null, value, needed, `the row cannot be read; ${needed} is needed.`),
    record: (cells, line) => {
      if (!positions) {
        width = cells.length
        positions = columns.map((column) => cells.findIndex((cell) => cell.trim().toLowerCase() === column))
        positions.forEach((position, index) => {
          if (position < 0)
            problems.add(
              shownName,
              line,
              columns[index] ?? null,
              cells.join(','),
              'a header with x, y, ux, uy',
              `the column is missing; a header with x, y, ux, uy is needed.`,
            )
        })
        return
      }
      if (cells.every((cell) => cell.trim() === '') || positions.includes(-1)) return
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
      const values = positions.map((position, index) => {
        const text = (cells[position] ?? '').trim()
        const value = number.test(text) ? Number(text) : Number.NaN
        if (!Number.isFinite(value))
          problems.add(
            shownName,
            line,
            columns[index] ?? null,
            text,
            accepted,
            `${JSON.stringify(text)} is not accepted; ${accepted} is.`,
          )
        return value
      })
      const [x = 0, y = 0, ux = 0, uy = 0] = values
      points.push({ x, y, ux, uy })
    },
  })
  try {
    for await (const { text } of readUtf8(path)) scanner.take(text)
    scanner.end()
  } catch (error) {
    if (!(error instanceof NotUtf8)) throw error
    problems.add(
      shownName,
      error.line,
      null,
      'bytes that are not UTF-8',
      'text in UTF-8',
      'the text is not UTF-8; save the file as CSV in UTF-8.',
    )
    return { points, problems }
  }
  if (!positions)
    problems.add(
      shownName,
      1,
      null,
      '',
      'a header with x, y, ux, uy',
      'the file is empty; a header with x, y, ux, uy is needed.',
    )
  return { points, problems }
}
