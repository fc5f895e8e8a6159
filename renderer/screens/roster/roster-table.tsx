import { useTable, type Row } from '@tanstack/react-table'
import { defaultRangeExtractor, useVirtualizer, type Virtualizer } from '@tanstack/react-virtual'
import { type KeyboardEvent, memo, useEffect, useEffectEvent, useMemo, useRef } from 'react'
import type { RosterRow } from '#core/api/contract.ts'
import { useArrival } from '#renderer/parts/arrival.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { lineAfter, linesInSight } from '#renderer/parts/line-keys.ts'
import { columnNotes, figureColumns, rosterCells, rosterColumns, rosterFeatures } from './roster-columns.tsx'
import type { RosterColumn, RosterSort } from './roster-view.ts'
import '#renderer/parts/line-grid.css'
import './roster-table.css'

const rowHeightPx = 30

interface RosterTableProps {
  rows: RosterRow[]
  asOf: string
  sort: RosterSort
  /** Number of the selected unit, or null. */
  at: string | null
  onSort: (sort: RosterSort) => void
  onSelect: (unit: string) => void
  onOpen: (unit: string) => void
}

type RosterLine = Row<typeof rosterFeatures, RosterRow>
type Cells = ReturnType<typeof rosterCells>

interface LineProps {
  unit: RosterRow
  index: number
  selected: boolean
  cells: Cells
}

/** One unit. It is drawn again only when it changes or is selected, which keeps scrolling smooth. */
const Line = memo(function Line({ unit, index, selected, cells }: LineProps) {
  return (
    <tr
      role="row"
      id={`roster-row-${index}`}
      className="line"
      aria-rowindex={index + 2}
      aria-selected={selected}
      data-unit={unit.unit}
      style={{ transform: `translateY(${index * rowHeightPx}px)` }}
    >
      {cells.map(([column, draw]) => (
        <td key={column} role="gridcell" className={figureColumns.has(column) ? 'figure' : undefined}>
          {draw(unit)}
        </td>
      ))}
    </tr>
  )
})

function useRosterTable(rows: RosterRow[], asOf: string, sort: RosterSort) {
  const measures = useMeasures()
  const columns = useMemo(() => rosterColumns(asOf, measures), [asOf, measures])
  const cells = useMemo(() => rosterCells(asOf, measures), [asOf, measures])
  const sorting = useMemo(() => [{ id: sort.column, desc: sort.desc }], [sort.column, sort.desc])
  return {
    cells,
    table: useTable({
      features: rosterFeatures,
      columns,
      data: rows,
      getRowId: ({ unit }) => unit,
      state: { sorting },
    }),
  }
}

function Head({
  table,
  sort,
  onSort,
}: {
  table: ReturnType<typeof useRosterTable>['table']
  sort: RosterSort
  onSort: (sort: RosterSort) => void
}) {
  return (
    <thead role="rowgroup" className="line-head">
      {table.getHeaderGroups().map((group) => (
        <tr key={group.id} role="row" aria-rowindex={1}>
          {group.headers.map((header) => {
            const column = header.column.id as RosterColumn
            const sorted = sort.column === column
            return (
              <th
                key={header.id}
                role="columnheader"
                scope="col"
                className={figureColumns.has(column) ? 'figure' : undefined}
                aria-sort={sorted ? (sort.desc ? 'descending' : 'ascending') : 'none'}
              >
                <button
                  type="button"
                  title={columnNotes[column]}
                  onClick={() => onSort({ column, desc: sorted && !sort.desc })}
                >
                  <table.FlexRender header={header} />
                  {sorted && (
                    <span className="line-sort" aria-hidden="true">
                      {sort.desc ? '▼' : '▲'}
                    </span>
                  )}
                </button>
              </th>
            )
          })}
        </tr>
      ))}
    </thead>
  )
}

interface BodyProps {
  lines: readonly RosterLine[]
  selected: number
  virtual: Virtualizer<HTMLDivElement, Element>
  cells: Cells
  onOpen: (unit: string) => void
}

/**
 * The lines in sight. A line that leaves hands its place in the page to one that comes, as making new ones costs most
 * of a frame.
 */
function Body({ lines, selected, virtual, cells, onOpen }: BodyProps) {
  const items = virtual.getVirtualItems()
  const places = useRef(0)
  places.current = Math.max(places.current, items.length)
  return (
    // biome-ignore lint/a11y/useKeyWithClickEvents: Enter on the grid does what a click on a line does
    <tbody
      role="rowgroup"
      style={{ height: virtual.getTotalSize() }}
      onClick={(event) => {
        const line = event.target instanceof Element ? event.target.closest<HTMLElement>('tr') : null
        if (line?.dataset['unit'] && !(event.target as Element).closest('a')) onOpen(line.dataset['unit'])
      }}
    >
      {items.map(({ index }) => {
        const row = lines[index]
        return (
          row && (
            <Line
              key={index === selected ? 'selected' : index % places.current}
              unit={row.original}
              index={index}
              selected={index === selected}
              cells={cells}
            />
          )
        )
      })}
    </tbody>
  )
}

/** Every unit as one line; only the lines in sight are in the page. Arrow keys move the selection, Enter opens it. */
export function RosterTable({ rows, asOf, sort, at, onSort, onSelect, onOpen }: RosterTableProps) {
  const { table, cells } = useRosterTable(rows, asOf, sort)
  const lines = table.getRowModel().rows
  const frame = useRef<HTMLDivElement>(null)
  const grid = useArrival<HTMLTableElement>()
  const selected = useMemo(
    () => (at === null ? -1 : lines.findIndex(({ original }) => original.unit === at)),
    [lines, at],
  )
  const virtual = useVirtualizer({
    count: lines.length,
    getScrollElement: () => frame.current,
    estimateSize: () => rowHeightPx,
    overscan: 3,
    scrollPaddingStart: rowHeightPx,
    useFlushSync: false,
    // The selected line stays in the page, so that what the grid points at always exists.
    rangeExtractor: (range) => {
      const seen = defaultRangeExtractor(range)
      return selected < 0 || (selected >= (seen[0] ?? 0) && selected <= (seen.at(-1) ?? 0))
        ? seen
        : [...seen, selected].sort((a, b) => a - b)
    },
  })

  const moveTo = (index: number) => {
    const line = lines[index]
    if (!line) return
    virtual.scrollToIndex(index)
    onSelect(line.original.unit)
  }
  const onKeyDown = (event: Pick<KeyboardEvent, 'key' | 'preventDefault' | 'ctrlKey' | 'altKey' | 'metaKey'>) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return
    const target = lineAfter(event.key, {
      at: selected,
      lines: lines.length,
      inSight: linesInSight(frame.current, rowHeightPx),
    })
    const open = lines[selected]
    if (target !== undefined) moveTo(target)
    else if (event.key === 'Enter' && open) onOpen(open.original.unit)
    else return
    event.preventDefault()
  }

  const showSelected = useEffectEvent(() => {
    if (selected >= 0) virtual.scrollToIndex(selected, { align: 'center' })
  })
  useEffect(() => showSelected(), [])

  // Arrow keys pressed right after arrival, when nothing has the focus yet, belong to the list.
  const adopt = useEffectEvent((event: globalThis.KeyboardEvent) => {
    const focus = document.activeElement
    if (focus !== document.body && focus?.id !== 'main') return
    if (!['ArrowDown', 'ArrowUp', 'PageDown', 'PageUp', 'Home', 'End'].includes(event.key)) return
    grid.current?.focus({ preventScroll: true })
    onKeyDown(event)
  })
  useEffect(() => {
    addEventListener('keydown', adopt)
    return () => removeEventListener('keydown', adopt)
  }, [])

  return (
    <div ref={frame} className="line-frame">
      {/* The layout is a CSS grid, which takes a table's own roles away in some readers: they are written out. */}
      <table
        ref={grid}
        role="grid"
        aria-label="Units"
        className="line-grid roster-table"
        data-arrival
        tabIndex={0}
        aria-rowcount={lines.length + 1}
        aria-activedescendant={selected < 0 ? undefined : `roster-row-${selected}`}
        onKeyDown={(event) => {
          if (event.target === grid.current) onKeyDown(event)
        }}
      >
        <Head table={table} sort={sort} onSort={onSort} />
        <Body lines={lines} selected={selected} virtual={virtual} cells={cells} onOpen={onOpen} />
      </table>
    </div>
  )
}
