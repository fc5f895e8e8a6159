import type { RowProblemView } from '#core/api/import-contract.ts'

/** Thrown by a full list: nothing more need be read. */
export class ListFull extends Error {}

const problemLimit = 200

export interface ProblemList {
  readonly problems: readonly RowProblemView[]
  /** Whether more were found than the list holds. */
  readonly more: boolean
  /** Takes down what is wrong with a cell, or with a whole line (column null). Errors: ListFull. */
  add(file: string, line: number | null, column: string | null, value: string, accepted: string, message: string): void
}

const shorten = (text: string) => (text.length > 80 ? `${text.slice(0, 79)}…` : text)

export function problemList(): ProblemList {
  const problems: RowProblemView[] = []
  let more = false
  return {
    problems,
    get more() {
      return more
    },
    add(file, line, column, value, accepted, message) {
      if (problems.length === problemLimit) {
        more = true
        throw new ListFull()
      }
      const place = `${file}${line === null ? '' : ` line ${line}`}${column === null ? '' : `, ${column}`}`
      problems.push({ file, line, column, value: shorten(value), accepted, message: `${place}: ${message}` })
    },
  }
}
