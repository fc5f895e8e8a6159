/** Rows of a long list as far as they are there; the others are asked for as they come in sight. */
export interface PagedRows<Row> {
  readonly rowAt: (index: number) => Row | undefined
  /** Every row that is there, with its place. */
  readonly loaded: readonly (readonly [number, Row])[]
  readonly error: unknown
}

export const pageRows = 100

/** The pages beside the first in which some places of a list lie. */
export const pagesOf = (places: readonly number[]): number[] =>
  [...new Set(places.map((place) => Math.floor(place / pageRows)))].filter((page) => page > 0)

interface Answer<Row> {
  readonly data: { readonly rows: readonly Row[] } | undefined
  readonly isError: boolean
  readonly error: unknown
}

/** The rows of the first page and of others, whose answers stand in the order of `pages`. */
export function rowsOfPages<Row>(
  first: readonly Row[],
  pages: readonly number[],
  answers: readonly Answer<Row>[],
): PagedRows<Row> {
  const rows = new Map<number, Row>(first.entries())
  for (const [i, { data }] of answers.entries())
    for (const [at, row] of (data?.rows ?? []).entries()) rows.set((pages[i] as number) * pageRows + at, row)
  return { rowAt: (index) => rows.get(index), loaded: [...rows], error: answers.find(({ isError }) => isError)?.error }
}
