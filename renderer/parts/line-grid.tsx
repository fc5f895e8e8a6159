import { defaultRangeExtractor, useVirtualizer } from '@tanstack/react-virtual'
import { type KeyboardEvent, type ReactNode, type RefObject, memo, useEffect, useEffectEvent, useRef } from 'react'
import { cellContent } from '#renderer/parts/blank.tsx'
import { lineAfter, linesInSight } from '#renderer/parts/line-keys.ts'
import { phrase } from '#core/words/phrase.ts'
import './line-grid.css'

export interface LineColumn<Row> {
  readonly id: string
  readonly head: string
  /** What its heading says beyond its word, shown on the pointer. */
  readonly note?: string
  readonly isFigure?: boolean
  /** Whether the list can be sorted by it. */
  readonly isSortable?: boolean
  readonly draw: (row: Row) => ReactNode
}

/** A name, which may be longer than its column: the pointer shows all of it. */
export const Name = ({ children }: { readonly children: string }) => <span title={children}>{children}</span>

export interface LineSort {
  readonly column: string
  readonly descending: boolean
}

const linePx = 30

/** The lines of a long list that are in sight, of one height; the kept one stays in the page with them. */
export function useLines(total: number, kept: number) {
  const frame = useRef<HTMLDivElement>(null)
  const virtual = useVirtualizer({
    count: total,
    getScrollElement: () => frame.current,
    estimateSize: () => linePx,
    overscan: 3,
    scrollPaddingStart: linePx,
    useFlushSync: false,
    // What the grid points at always exists.
    rangeExtractor: (range) => {
      const seen = defaultRangeExtractor(range)
      return kept < 0 || kept >= total || (kept >= (seen[0] ?? 0) && kept <= (seen.at(-1) ?? 0))
        ? seen
        : [...seen, kept].sort((a, b) => a - b)
    },
  })
  return { frame, total, virtual, items: virtual.getVirtualItems() }
}

interface LineProps<Row> {
  readonly row: Row | undefined
  readonly name: string | undefined
  readonly index: number
  readonly isChosen: boolean
  readonly columns: readonly LineColumn<Row>[]
}

/**
 * One line; it says so while its row is still on its way. It is drawn again only when it changes or is chosen, which
 * keeps scrolling smooth.
 */
const Line = memo(function Line<Row>({ row, name, index, isChosen, columns }: LineProps<Row>) {
  return (
    <tr
      role="row"
      id={`line-${index}`}
      className="line"
      data-index={index}
      data-line={name}
      aria-rowindex={index + 2}
      aria-selected={isChosen}
      style={{ transform: `translateY(${index * linePx}px)` }}
    >
      {row === undefined ? (
        <td role="gridcell" className="quiet">
          {phrase('Reading…')}
        </td>
      ) : (
        columns.map(({ id, isFigure, draw }) => (
          <td key={id} role="gridcell" className={isFigure ? 'figure' : undefined}>
            {cellContent(draw(row))}
          </td>
        ))
      )}
    </tr>
  )
}) as <Row>(props: LineProps<Row>) => ReactNode

interface LineGridProps<Row> {
  readonly label: string
  readonly className: string
  readonly grid: RefObject<HTMLTableElement | null>
  readonly lines: ReturnType<typeof useLines>
  readonly columns: readonly LineColumn<Row>[]
  readonly rowAt: (index: number) => Row | undefined
  readonly nameOf?: (row: Row) => string
  readonly sort: LineSort
  readonly onSort: (column: string) => void
  /** Place of the chosen line; below 0 where none is. */
  readonly at: number
  readonly onMove: (index: number) => void
  readonly onEnter: () => void
  readonly onClick: (index: number) => void
  /** Whether the focus goes here on arrival at the screen, and the arrow keys that are pressed before it has. */
  readonly arrives?: boolean
}

const arrows = ['ArrowDown', 'ArrowUp', 'PageDown', 'PageUp', 'Home', 'End']

/** The lines under their headings, by which they are sorted. Keys move the chosen one. */
export function LineGrid<Row>({
  label,
  className,
  grid,
  lines: { frame, total, virtual, items },
  columns,
  rowAt,
  nameOf,
  sort,
  onSort,
  at,
  onMove,
  onEnter,
  onClick,
  arrives = false,
}: LineGridProps<Row>) {
  // A line that leaves hands its place in the page to one that comes, as making new ones costs most of a frame.
  const places = useRef(0)
  places.current = Math.max(places.current, items.length)
  const onKey = (event: Pick<KeyboardEvent, 'key' | 'preventDefault' | 'ctrlKey' | 'altKey' | 'metaKey'>) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return
    const target = lineAfter(event.key, { at, lines: total, inSight: linesInSight(frame.current, linePx) })
    if (target === undefined && event.key !== 'Enter') return
    event.preventDefault()
    if (target === undefined) onEnter()
    else {
      virtual.scrollToIndex(target)
      onMove(target)
    }
  }
  const adopt = useEffectEvent((event: globalThis.KeyboardEvent) => {
    const focus = document.activeElement
    if ((focus !== document.body && focus?.id !== 'main') || !arrows.includes(event.key)) return
    grid.current?.focus({ preventScroll: true })
    onKey(event)
  })
  useEffect(() => {
    if (!arrives) return
    addEventListener('keydown', adopt)
    return () => removeEventListener('keydown', adopt)
  }, [arrives])
  return (
    <div ref={frame} className="line-frame">
      <p className="paper-only">{phrase('The lines in sight; saved as PDF or spreadsheet, the list is whole.')}</p>
      {/* The layout is a CSS grid, which takes a table's own roles away in some readers: they are written out. */}
      <table
        ref={grid}
        role="grid"
        aria-label={label}
        className={`line-grid ${className}`}
        data-arrival={arrives || undefined}
        tabIndex={0}
        aria-rowcount={total + 1}
        aria-activedescendant={at < 0 ? undefined : `line-${at}`}
        onKeyDown={(event) => {
          if (event.target === grid.current) onKey(event)
        }}
      >
        <thead role="rowgroup" className="line-head">
          <tr role="row" aria-rowindex={1}>
            {columns.map(({ id, head, note, isFigure, isSortable }) => {
              const isSorted = sort.column === id
              return (
                <th
                  key={id}
                  role="columnheader"
                  scope="col"
                  className={isFigure ? 'figure' : undefined}
                  aria-sort={
                    isSortable ? (isSorted ? (sort.descending ? 'descending' : 'ascending') : 'none') : undefined
                  }
                >
                  {isSortable ? (
                    <button type="button" title={note} onClick={() => onSort(id)}>
                      {head}
                      {isSorted && (
                        <span className="line-sort" aria-hidden="true">
                          {sort.descending ? '▼' : '▲'}
                        </span>
                      )}
                    </button>
                  ) : (
                    <span>{head}</span>
                  )}
                </th>
              )
            })}
          </tr>
        </thead>
        {/* biome-ignore lint/a11y/useKeyWithClickEvents: keys on the grid do what a click on a line does */}
        <tbody
          role="rowgroup"
          style={{ height: virtual.getTotalSize() }}
          onClick={({ target }) => {
            const index = target instanceof Element && target.closest<HTMLElement>('tr')?.dataset['index']
            if (index && !target.closest('a')) onClick(Number(index))
          }}
        >
          {items.map(({ index }) => {
            const row = rowAt(index)
            return (
              <Line
                key={index === at ? 'chosen' : index % places.current}
                row={row}
                name={row && nameOf?.(row)}
                index={index}
                isChosen={index === at}
                columns={columns}
              />
            )
          })}
        </tbody>
      </table>
    </div>
  )
}
