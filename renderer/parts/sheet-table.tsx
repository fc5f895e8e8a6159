import { type HTMLAttributes, type Key, type ReactNode, useLayoutEffect, useRef, useState } from 'react'
import { cellContent } from '#renderer/parts/blank.tsx'
import './sheet-table.css'

/** How a column is set: figures at the right, words on one line, or steps to take, whose heading is heard only. */
type Look = 'figure' | 'nowrap' | 'steps' | undefined

/** A heading (null: none), how its column is set, and what it says on the pointer. */
export type Head = readonly [head: ReactNode, look?: Look, title?: string | undefined]
/** A heading (null: none), what a row shows below it, how the column is set, what the heading says on the pointer. */
export type Column<Row> = readonly [head: ReactNode, cell: (row: Row) => ReactNode, look?: Look, title?: string]
/** Columns in order; false: one that is left out. */
export type Columns<Row> = readonly (Column<Row> | false)[]

/** A stretch that scrolls on its own: it is named, and reached by keyboard. */
export function Scrolls({ label, className = '', ...section }: HTMLAttributes<HTMLElement> & { label: string }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className={`scrolls ${className}`} aria-label={label} tabIndex={0} {...section} />
  )
}

/**
 * What scrolls sideways on its own where it is wider than its place, and only then: it is a stop of the Tab key as long
 * as it does, and its headings stay in sight where it does not.
 */
export function Wide({ label, children }: { label: string; children: ReactNode }) {
  const frame = useRef<HTMLDivElement>(null)
  const [isCut, setCut] = useState(false)
  useLayoutEffect(() => {
    const { current } = frame
    if (!current) return undefined
    const look = new ResizeObserver(() => setCut(current.scrollWidth > current.clientWidth + 1))
    for (const watched of [current, ...current.children]) look.observe(watched)
    return () => look.disconnect()
  }, [])
  return (
    <div ref={frame} {...(isCut && { className: 'wide', role: 'region', 'aria-label': label, tabIndex: 0 })}>
      {children}
    </div>
  )
}

export const SheetHead = ({ heads }: { heads: readonly Head[] }) => (
  <thead>
    <tr>
      {heads.map(([head, look, title], place) =>
        head === null ? (
          // biome-ignore lint/suspicious/noArrayIndexKey: a column is told by its place
          <td key={place} />
        ) : (
          // biome-ignore lint/suspicious/noArrayIndexKey: a column is told by its place
          <th key={place} scope="col" className={look === 'figure' ? look : undefined} title={title}>
            {look === 'steps' ? <span className="unheard">{head}</span> : head}
          </th>
        ),
      )}
    </tr>
  </thead>
)

interface SheetTableProps<Row> {
  readonly columns: Columns<Row>
  readonly rows: readonly Row[]
  readonly keyOf: (row: Row) => Key
  /** What the table is called, heard only. */
  readonly caption?: string
  /** The same where it is seen as well. */
  readonly title?: ReactNode
  /** Place of the column that names a row. */
  readonly named?: number
  readonly className?: string
  /** Class of the frame that the table scrolls in; empty: one like any other. */
  readonly frame?: string
  /** What the frame is called, where that is not the table's name. */
  readonly label?: string
  /** What is told of a row as a whole. */
  readonly mark?: (row: Row) => HTMLAttributes<HTMLElement> & { readonly [data: `data-${string}`]: true | undefined }
  /** The heading that a row stands under, with all that follow and have the same. */
  readonly under?: (row: Row) => string | null
  /** Rows of another kind, at the top and at the end. */
  readonly before?: ReactNode
  readonly after?: ReactNode
}

/** A table of records: a line each, its columns told one by one. */
export function SheetTable<Row>({
  columns: told,
  rows,
  keyOf,
  caption,
  title,
  named = 0,
  className = '',
  frame,
  label = caption ?? '',
  mark,
  under,
  before,
  after,
}: SheetTableProps<Row>) {
  const columns = told.filter((column) => column !== false)
  const line = (row: Row) => (
    <tr key={keyOf(row)} {...mark?.(row)}>
      {columns.map(([head, cell, look], place) =>
        place === named ? (
          <th key="name" scope="row" className={look}>
            {cellContent(cell(row))}
          </th>
        ) : (
          // biome-ignore lint/suspicious/noArrayIndexKey: a cell is told by its place
          <td key={place} className={look}>
            {typeof head === 'string' && look !== 'steps' ? cellContent(cell(row)) : cell(row)}
          </td>
        ),
      )}
    </tr>
  )
  const parts = under ? [...Map.groupBy(rows, under)] : [[null, rows] as const]
  const table = (
    <table className={`sheet-table ${className}`}>
      {caption !== undefined && <caption className="unheard">{caption}</caption>}
      {title !== undefined && <caption>{title}</caption>}
      <SheetHead heads={columns.map(([head, , look, said]) => [head, look, said])} />
      {before && <tbody>{before}</tbody>}
      {parts.map(([heading, own]) => (
        <tbody key={heading}>
          {heading !== null && (
            <tr className="sheet-heading">
              <th scope="rowgroup" colSpan={columns.length}>
                {heading}
              </th>
            </tr>
          )}
          {own.map(line)}
        </tbody>
      ))}
      {after && <tbody>{after}</tbody>}
    </table>
  )
  return frame === undefined ? (
    <Wide label={label}>{table}</Wide>
  ) : (
    <Scrolls className={frame} label={label}>
      {table}
    </Scrolls>
  )
}
