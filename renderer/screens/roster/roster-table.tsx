import {
  type Row,
  createColumnHelper,
  createSortedRowModel,
  rowSortingFeature,
  tableFeatures,
  useTable,
} from '@tanstack/react-table'
import { type Virtualizer, defaultRangeExtractor, useVirtualizer } from '@tanstack/react-virtual'
import { type KeyboardEvent, type ReactNode, memo, useEffect, useEffectEvent, useMemo, useRef } from 'react'
import type { RosterRow } from '#core/contracts/unit.ts'
import { trustStates } from '#core/findings/finding.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { type Measures, count, useMeasures } from '#renderer/parts/format.ts'
import '#renderer/parts/line-grid.css'
import { lineAfter, linesInSight } from '#renderer/parts/line-keys.ts'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { findingTitle, unknownText } from '#renderer/parts/record-text.ts'
import { useArrival } from '#renderer/parts/ticket-link.tsx'
import './roster-table.css'
import { type RosterColumn, type RosterSort, naturalKey } from './roster-view.ts'

/** When a unit must be seen to, and why: at once where its trust is gone, else on its due date. */
export interface NextDue {
  readonly now: boolean
  readonly on: string | null
  readonly why: string
}

type DueFacts = Pick<RosterRow, 'trust' | 'worstFinding' | 'findingCodes' | 'dueOn'>

export function nextDue({ trust, worstFinding, findingCodes, dueOn }: DueFacts): NextDue | null {
  if (trust === null) return null
  if (trust === 'uncalibrated') return { now: true, on: null, why: 'no line' }
  if (trust === 'upset') return { now: true, on: null, why: 'work since calibration' }
  if (trust === 'doubtful')
    return { now: true, on: null, why: worstFinding ? findingTitle(worstFinding).toLowerCase() : 'line in doubt' }
  return dueOn === null
    ? null
    : { now: false, on: dueOn, why: findingCodes.includes('uncertainty-over-tolerance') ? 'uncertainty' : 'age' }
}

/** Orders by urgency: what is due now first, then by date. */
export const dueKey = (row: DueFacts): string | undefined => {
  const due = nextDue(row)
  return due === null ? undefined : due.now ? '' : (due.on ?? undefined)
}

export const rosterFeatures = tableFeatures({ rowSortingFeature, sortedRowModel: createSortedRowModel() })
const helper = createColumnHelper<typeof rosterFeatures, RosterRow>()

const Unknown = ({ word = 'unknown' }: { word?: string }) => (
  <span className="quiet">
    <span aria-hidden="true">{unknownText}</span>
    <span className="unheard">{word}</span>
  </span>
)

function Due({ row, asOf }: { row: RosterRow; asOf: string }) {
  const { times } = useMeasures()
  const due = nextDue(row)
  if (!due) return <Unknown word="nothing due" />
  return (
    <span className="roster-due">
      <span className="roster-date">{due.on ?? 'now'}</span>{' '}
      <span className={due.on === null ? undefined : 'roster-date'}>{due.on && times.away(due.on, asOf)}</span>{' '}
      <span className="quiet">{due.why}</span>
    </span>
  )
}

const trustRank = new Map(trustStates.map((trust, rank) => [trust, rank]))
const findingRank = (row: RosterRow) => (row.worstFinding === null ? undefined : row.worstFinding)
const byValue = (a: { getValue(id: string): unknown }, b: { getValue(id: string): unknown }, id: string): number => {
  const left = a.getValue(id) as string | number
  const right = b.getValue(id) as string | number
  return left < right ? -1 : left > right ? 1 : 0
}

/** Headings that say more than their word; shown as the header's title and read out with it. */
export const columnNotes: Partial<Record<RosterColumn, string>> = {
  trust: 'Trust of the unit’s worst axle group',
  age: 'Age of the oldest calibration in force',
  uncertainty: 'Largest 95 % uncertainty of a weight at the group’s limit',
  cell: 'Age of the oldest sensor cell',
}
export const figureColumns: ReadonlySet<string> = new Set<RosterColumn>(['age', 'uncertainty', 'cell'])

/** The Roster's columns as they are sorted and headed; unknown values go last whichever way a column is sorted. */
export function rosterColumns(asOf: string, { weight, times }: Measures) {
  const common = { sortFn: byValue, sortUndefined: 'last' as const }
  return helper.columns([
    helper.accessor((row) => naturalKey(row.unit), { ...common, id: 'unit', header: 'Unit' }),
    helper.accessor(({ trust }) => (trust === null ? undefined : trustRank.get(trust)), {
      ...common,
      id: 'trust',
      header: 'Trust',
    }),
    helper.accessor(findingRank, { ...common, id: 'finding', header: 'Worst finding' }),
    helper.accessor(({ calibratedAt }) => (calibratedAt === null ? undefined : times.daysFrom(calibratedAt, asOf)), {
      ...common,
      id: 'age',
      header: 'Calibrated',
    }),
    helper.accessor(dueKey, { ...common, id: 'due', header: 'Next due' }),
    helper.accessor(({ uLimitLb }) => uLimitLb ?? undefined, {
      ...common,
      id: 'uncertainty',
      header: `At limit, ${weight.symbol}`,
    }),
    helper.accessor(({ cellSince }) => (cellSince === null ? undefined : times.daysFrom(cellSince, asOf)), {
      ...common,
      id: 'cell',
      header: 'Oldest cell',
    }),
    helper.accessor(({ yard }) => yard ?? undefined, { ...common, id: 'yard', header: 'Yard' }),
    helper.accessor(({ make, model }) => [make, model].filter(Boolean).join(' ') || undefined, {
      ...common,
      id: 'model',
      header: 'Make and model',
    }),
  ])
}

/** What one cell of a unit's line shows. */
type DrawCell = (row: RosterRow) => ReactNode

/**
 * The cells of a line in the order of the columns. They are drawn without the table's own cells: a leap over hundreds
 * of units would make some 250 of those a frame, which is most of its time.
 */
export function rosterCells(asOf: string, { weight, times }: Measures): readonly (readonly [RosterColumn, DrawCell])[] {
  return [
    [
      'unit',
      ({ unit, kind, retired }) => (
        <a href={hrefOf('unit', unit)} tabIndex={-1}>
          <span className="roster-unit">{unit}</span>
          <span className="quiet">
            {' '}
            {kind}
            {retired && ', retired'}
          </span>
        </a>
      ),
    ],
    ['trust', ({ trust }) => <TrustMark trust={trust} />],
    [
      'finding',
      ({ worstFinding, findingCodes }) => {
        if (worstFinding === null) return <span className="quiet">none</span>
        const others = findingCodes.length - 1
        return (
          <>
            {findingTitle(worstFinding)}
            {others > 0 && <span className="quiet"> +{others}</span>}
          </>
        )
      },
    ],
    [
      'age',
      ({ calibratedAt }) =>
        calibratedAt === null ? (
          <Unknown word="never" />
        ) : (
          <span title={times.day(calibratedAt)}>{count(times.daysFrom(calibratedAt, asOf))} d ago</span>
        ),
    ],
    ['due', (row) => <Due row={row} asOf={asOf} />],
    ['uncertainty', ({ uLimitLb }) => (uLimitLb === null ? <Unknown /> : weight.plusMinusFigure(uLimitLb))],
    [
      'cell',
      ({ cellSince }) =>
        cellSince === null ? (
          <Unknown />
        ) : (
          <span title={`In since ${times.day(cellSince)}`}>{count(times.daysFrom(cellSince, asOf))} d</span>
        ),
    ],
    ['yard', ({ yard }) => yard ?? <Unknown />],
    ['model', ({ make, model, modelYear }) => [make, model, modelYear].filter(Boolean).join(' ') || <Unknown />],
  ]
}

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
