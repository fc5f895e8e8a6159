import { readPlainTable } from '#core/exchange/plain-table.ts'
import type { ProblemList } from '#core/exchange/row-reader.ts'
import type { Point } from '#core/line/fit.ts'

const columns = ['x', 'y', 'ux', 'uy'] as const
const number = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$/

/** The points of a CSV file with the columns x, y, ux, uy, and what is wrong in it. Errors: the file system's. */
export async function readPoints(path: string, name: string): Promise<{ points: Point[]; problems: ProblemList }> {
  const points: Point[] = []
  const problems = await readPlainTable(
    { path },
    {
      name,
      columns,
      take: (row, refuse) => {
        for (const column of columns)
          if (!number.test(row[column]) || !Number.isFinite(Number(row[column]))) refuse(column, 'a finite number')
        points.push({ x: Number(row.x), y: Number(row.y), ux: Number(row.ux), uy: Number(row.uy) })
      },
    },
  )
  return { points, problems }
}
