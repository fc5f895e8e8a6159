import { defaultRangeExtractor, useVirtualizer } from '@tanstack/react-virtual'
import { type KeyboardEvent, type ReactNode, useEffect, useMemo, useRef, useState } from 'react'
import type { HeavyEntry } from '#core/contracts/heavy.ts'
import { areApart } from '#core/words/sentences/two-weights.ts'
import { type Measures, chance, useMeasures } from '#renderer/parts/format.ts'
import { lineAfter, linesInSight } from '#renderer/parts/line-keys.ts'
import { VerdictMark } from '#renderer/parts/marks.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { HeavyEntryPanel, entryKey, limitOf, sourceWords } from './heavy-entry.tsx'
import { type HeavySort, type HeavySortName, type HeavyView, type Rows, useRows } from './heavy-view.ts'

interface Column {
  readonly id: string
  readonly header: string
  /** What it can be sorted by. */
  readonly sort?: HeavySortName
  readonly figure?: boolean
  readonly draw: (entry: HeavyEntry) => ReactNode
}

/**
 * The columns of the log. Weights from pressures carry their 95 % interval, those of tickets what a good scale leaves
 * open.
 */
export const heavyColumns = ({ weight, times }: Measures): readonly Column[] => [
  { id: 'when', header: 'Weighed', sort: 'weighedAt', draw: ({ weighedAt }) => times.moment(weighedAt) },
  { id: 'units', header: 'Combination', draw: ({ units }) => units.join(' + ') },
  {
    id: 'limit',
    header: 'Limit of',
    draw: (entry) => (
      <>
        {limitOf(entry)}
        {entry.set !== null && entry.set.more > 0 && <span className="quiet"> +{entry.set.more}</span>}
      </>
    ),
  },
  {
    id: 'weight',
    header: `Weight, ${weight.symbol}`,
    sort: 'weightLb',
    figure: true,
    draw: ({ weightLb }) => weight.estimateFigure(weightLb),
  },
  {
    id: 'over',
    header: `Over by, ${weight.symbol}`,
    sort: 'overLb',
    figure: true,
    draw: ({ overLb, uLb }) => (
      <>
        <span className="heavy-over">{weight.difference(overLb)}</span> {weight.plusMinusFigure(uLb)}
      </>
    ),
  },
  { id: 'verdict', header: 'Verdict', draw: ({ verdict }) => <VerdictMark verdict={verdict} /> },
  { id: 'chance', header: 'Chance', sort: 'pOver', figure: true, draw: ({ pOver }) => chance(pOver) },
  {
    id: 'source',
    header: 'By',
    draw: ({ source, superseded, weightLb, uLb, byLine }) => (
      <>
        {sourceWords[source]}
        {byLine !== null && areApart({ weightLb, uLb }, byLine) && (
          <span className="quiet">, by the line {weight.estimateFigure(byLine.weightLb)}</span>
        )}
        {superseded && <span className="quiet">, decided</span>}
      </>
    ),
  },
  { id: 'note', header: 'Driver’s note', draw: ({ note }) => note ?? '' },
]

const rowHeightPx = 30

interface HeavyLogProps {
  view: HeavyView
  total: number
  first: readonly HeavyEntry[]
  /** Whether the rows answer an earlier question, until those of this one are there. */
  earlier: boolean
  onSort: (sort: HeavySort) => void
}

type Columns = ReturnType<typeof heavyColumns>

function Head({ columns, sort, onSort }: { columns: Columns; sort: HeavySort; onSort: (sort: HeavySort) => void }) {
  return (
    <thead role="rowgroup" className="line-head">
      <tr role="row" aria-rowindex={1}>
        {columns.map(({ id, header, sort: column, figure }) => {
          const sorted = sort.column === column
          return (
            <th
              key={id}
              role="columnheader"
              scope="col"
              className={figure ? 'figure' : undefined}
              aria-sort={
                column === undefined ? undefined : sorted ? (sort.descending ? 'descending' : 'ascending') : 'none'
              }
            >
              {column === undefined ? (
                <span>{header}</span>
              ) : (
                <button type="button" onClick={() => onSort({ column, descending: !sorted || !sort.descending })}>
                  {header}
                  {sorted && (
                    <span className="line-sort" aria-hidden="true">
                      {sort.descending ? '▼' : '▲'}
                    </span>
                  )}
                </button>
              )}
            </th>
          )
        })}
      </tr>
    </thead>
  )
}

interface LineProps {
  entry: HeavyEntry | undefined
  index: number
  selected: boolean
  columns: Columns
}

/** One weight; a row whose page is still on its way says so. */
function Line({ entry, index, selected, columns }: LineProps) {
  return (
    <tr
      role="row"
      id={`heavy-row-${index}`}
      className="line"
      data-index={index}
      aria-rowindex={index + 2}
      aria-selected={selected}
      style={{ transform: `translateY(${index * rowHeightPx}px)` }}
    >
      {entry ? (
        columns.map(({ id, figure, draw }) => (
          <td key={id} role="gridcell" className={figure ? 'figure' : undefined}>
            {draw(entry)}
          </td>
        ))
      ) : (
        <td role="gridcell" className="quiet">
          Reading…
        </td>
      )}
    </tr>
  )
}

interface Choice {
  readonly index: number
  readonly entry: HeavyEntry | null
}

/**
 * Where the chosen weight stands. Rows move when weights are made anew: what was chosen stays chosen, so that a note
 * never ends up with another weighing than the one it was begun for.
 */
function placeOf(choice: Choice, { rowAt, loaded }: Rows): Choice {
  const here = rowAt(choice.index)
  if (choice.entry === null) return { index: choice.index, entry: here ?? null }
  const key = entryKey(choice.entry)
  if (here === undefined || entryKey(here) === key) return { index: choice.index, entry: here ?? choice.entry }
  const [index, entry] = loaded.find(([, row]) => entryKey(row) === key) ?? [-1, choice.entry]
  return { index, entry }
}

/** Every weight over a limit or too close to call, one line each, and the chosen one in full beside the list. */
export function HeavyLog({ view, total, first, earlier, onSort }: HeavyLogProps) {
  const measures = useMeasures()
  const columns = useMemo(() => heavyColumns(measures), [measures])
  const frame = useRef<HTMLDivElement>(null)
  const grid = useRef<HTMLTableElement>(null)
  const note = useRef<HTMLTextAreaElement>(null)
  const [choice, setChoice] = useState<Choice>({ index: 0, entry: null })
  const virtual = useVirtualizer({
    count: total,
    getScrollElement: () => frame.current,
    estimateSize: () => rowHeightPx,
    overscan: 6,
    scrollPaddingStart: rowHeightPx,
    useFlushSync: false,
    // The chosen line stays in the page, so that what the grid points at always exists.
    rangeExtractor: (range) =>
      [...new Set([...defaultRangeExtractor(range), ...(choice.index < total ? [choice.index] : [])])].sort(
        (a, b) => a - b,
      ),
  })
  const items = virtual.getVirtualItems()
  const rows = useRows(view, first, [choice.index, ...items.map(({ index }) => index)])
  const chosen = placeOf(choice, rows)
  // Another question is another list: it starts at its top.
  const question = JSON.stringify(view)
  const [asked, setAsked] = useState(question)
  if (asked !== question) {
    setAsked(question)
    setChoice({ index: 0, entry: null })
  } else if (choice.entry === null && chosen.entry !== null && !earlier) setChoice(chosen)
  useEffect(() => {
    if (question) frame.current?.scrollTo({ top: 0 })
  }, [question])

  const moveTo = (index: number) => {
    virtual.scrollToIndex(index)
    setChoice({ index, entry: rows.rowAt(index) ?? null })
  }
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.target !== grid.current || event.ctrlKey || event.altKey || event.metaKey) return
    const target = lineAfter(event.key, {
      at: chosen.index,
      lines: total,
      inSight: linesInSight(frame.current, rowHeightPx),
    })
    if (target !== undefined) moveTo(target)
    else if (event.key === 'Enter') note.current?.focus()
    else return
    event.preventDefault()
  }
  return (
    <div className="heavy-log">
      <div ref={frame} className="line-frame">
        {/* The layout is a CSS grid, which takes a table's own roles away in some readers: they are written out. */}
        <table
          ref={grid}
          role="grid"
          aria-label="Heavy weights"
          className="line-grid heavy-table"
          tabIndex={0}
          aria-rowcount={total + 1}
          aria-activedescendant={chosen.index < 0 ? undefined : `heavy-row-${chosen.index}`}
          onKeyDown={onKeyDown}
        >
          <Head columns={columns} sort={view.sort} onSort={onSort} />
          {/* biome-ignore lint/a11y/useKeyWithClickEvents: the arrow keys on the grid do what a click on a line does */}
          <tbody
            role="rowgroup"
            style={{ height: virtual.getTotalSize() }}
            onClick={(event) => {
              const index =
                event.target instanceof Element ? event.target.closest<HTMLElement>('tr')?.dataset['index'] : undefined
              if (index !== undefined) moveTo(Number(index))
            }}
          >
            {items.map(({ index }) => (
              <Line
                key={index}
                entry={rows.rowAt(index)}
                index={index}
                selected={index === chosen.index}
                columns={columns}
              />
            ))}
          </tbody>
        </table>
      </div>
      <aside className="heavy-side" aria-label="The chosen weight">
        {rows.error !== undefined && <ProblemNotice title="Some rows could not be read" error={rows.error} />}
        {chosen.entry && (
          <HeavyEntryPanel
            entry={chosen.entry}
            noteField={note}
            onLeaveNote={() => grid.current?.focus({ preventScroll: true })}
          />
        )}
      </aside>
    </div>
  )
}
