import { useEffect, useEffectEvent, useMemo } from 'react'
import type { RosterRow } from '#core/contracts/unit.ts'
import { nextDue } from '#core/findings/next-due.ts'
import { trustRank, worseStandingFirst } from '#core/findings/trust.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Blank } from '#renderer/parts/blank.tsx'
import { type Measures, count, measuresFor, useMeasures } from '#renderer/parts/format.ts'
import { type LineColumn, LineGrid, type LineSort, useLines } from '#renderer/parts/line-grid.tsx'
import { TrustMark } from '#renderer/parts/marks.tsx'
import { findingTitle } from '#renderer/parts/record-text.ts'
import { useArrival } from '#renderer/parts/screen-title.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { type RosterColumn, naturalKey } from './roster-view.ts'

/** When a unit must be seen to, `nextDue`, and why. */
interface UnitDue {
  readonly due: string
  readonly why: string
}

type DueFacts = Pick<RosterRow, 'trust' | 'worstFinding' | 'findingCodes' | 'dueOn'>

function whyDue({ trust, worstFinding, findingCodes }: DueFacts): string {
  if (trust === 'uncalibrated') return phrase('no line')
  if (trust === 'upset') return phrase('work since calibration')
  if (trust === 'doubtful') return worstFinding ? findingTitle(worstFinding).toLowerCase() : phrase('line in doubt')
  return findingCodes.includes('uncertainty-over-tolerance') ? phrase('uncertainty') : phrase('age')
}

function dueOf(row: DueFacts): UnitDue | null {
  const due = row.trust === null ? null : nextDue(row.trust, row.dueOn)
  return due === null ? null : { due, why: whyDue(row) }
}

/** Orders by urgency: what is due now first, then by date. */
const dueKey = (row: DueFacts): string | undefined => {
  const due = dueOf(row)?.due
  return due === 'now' ? '' : due
}

function Due({ row, asOf }: { row: RosterRow; asOf: string }) {
  const { times } = useMeasures()
  const found = dueOf(row)
  if (!found) return <Blank />
  const { due, why } = found
  return (
    <span className="roster-due">
      <span className="roster-date">{due}</span>{' '}
      <span className={due === 'now' ? undefined : 'roster-date'}>{due !== 'now' && times.away(due, asOf)}</span>{' '}
      <span className="quiet">{why}</span>
    </span>
  )
}

interface Column extends LineColumn<RosterRow> {
  readonly id: RosterColumn
  /** What it is sorted by; undefined: unknown. */
  readonly key: (row: RosterRow) => string | number | undefined
  /** How rows that are alike in it are sorted, either way. */
  readonly within?: (a: RosterRow, b: RosterRow) => number
}

/** The Roster's columns: what each is sorted by, and what it shows of a unit. */
function rosterColumns(asOf: string, { weight, times }: Measures): readonly Column[] {
  const daysFrom = (at: string | null) => (at === null ? undefined : times.daysFrom(at, asOf))
  const columns: readonly Column[] = [
    {
      id: 'unit',
      head: phrase('Unit'),
      key: ({ unit }) => naturalKey(unit),
      draw: ({ unit, kind, retired }) => (
        <a href={hrefOf('unit', unit)} tabIndex={-1}>
          <span className="roster-unit">{unit}</span>
          <span className="quiet">
            {' '}
            {word(kind)}
            {retired && phrase(', retired')}
          </span>
        </a>
      ),
    },
    {
      id: 'trust',
      head: phrase('Trust'),
      note: phrase('Trust of the unit’s worst axle group'),
      key: ({ trust }) => (trust === null ? undefined : trustRank(trust)),
      within: worseStandingFirst,
      draw: ({ trust }) => <TrustMark trust={trust} />,
    },
    {
      id: 'finding',
      head: phrase('Worst finding'),
      key: ({ worstFinding }) => worstFinding ?? undefined,
      draw: ({ worstFinding, findingCodes }) =>
        worstFinding === null ? (
          <Blank />
        ) : (
          <>
            {findingTitle(worstFinding)}
            {findingCodes.length > 1 && <span className="quiet"> +{findingCodes.length - 1}</span>}
          </>
        ),
    },
    {
      id: 'age',
      head: phrase('Calibrated'),
      note: phrase('Age of the oldest calibration in force'),
      isFigure: true,
      key: ({ calibratedAt }) => daysFrom(calibratedAt),
      draw: ({ calibratedAt }) =>
        calibratedAt === null ? (
          <Blank />
        ) : (
          <span title={times.day(calibratedAt)}>
            {phrase('{calibratedAt} d ago', { calibratedAt: count(times.daysFrom(calibratedAt, asOf)) })}
          </span>
        ),
    },
    { id: 'due', head: phrase('Next due'), key: dueKey, draw: (row) => <Due row={row} asOf={asOf} /> },
    {
      id: 'uncertainty',
      head: phrase('At limit, {weightSymbol}', { weightSymbol: weight.symbol }),
      note: phrase(
        'What a weight at the limit is good to by the line in use, 95 % and what it lies off; the worst group',
      ),
      isFigure: true,
      key: ({ uLimitLb }) => uLimitLb ?? undefined,
      draw: ({ uLimitLb }) => (uLimitLb === null ? <Blank /> : weight.plusMinusFigure(uLimitLb)),
    },
    {
      id: 'cell',
      head: phrase('Oldest cell'),
      note: phrase('Age of the oldest sensor cell'),
      isFigure: true,
      key: ({ cellSince }) => daysFrom(cellSince),
      draw: ({ cellSince }) =>
        cellSince === null ? (
          <Blank />
        ) : (
          <span title={phrase('In since {cellSince}', { cellSince: times.day(cellSince) })}>
            {count(times.daysFrom(cellSince, asOf))} d
          </span>
        ),
    },
    { id: 'yard', head: phrase('Yard'), key: ({ yard }) => yard ?? undefined, draw: ({ yard }) => yard ?? <Blank /> },
    {
      id: 'model',
      head: phrase('Make and model'),
      key: ({ make, model }) => [make, model].filter(Boolean).join(' ') || undefined,
      draw: ({ make, model, modelYear }) => [make, model, modelYear].filter(Boolean).join(' ') || <Blank />,
    },
  ]
  return columns.map((column) => ({ ...column, isSortable: true }))
}

/** The rows in order of a column; what is unknown goes last either way, and rows that are alike keep their order. */
function sortRows(
  rows: readonly RosterRow[],
  { key, within }: Pick<Column, 'key' | 'within'>,
  descending: boolean,
): RosterRow[] {
  const side = descending ? -1 : 1
  const keyed = rows.map((row) => ({ row, by: key(row) }))
  keyed.sort(({ by: a, row: p }, { by: b, row: q }) => {
    if (a === b) return within?.(p, q) ?? 0
    if (a === undefined || b === undefined) return a === undefined ? 1 : -1
    return a < b ? -side : side
  })
  return keyed.map(({ row }) => row)
}

/** The rows in the order in which the table has them; how a column is sorted hangs on no measure. */
export const inOrder = (rows: readonly RosterRow[], { column, descending }: LineSort, asOf: string): RosterRow[] =>
  sortRows(
    rows,
    rosterColumns(asOf, measuresFor(0, 'UTC')).find(({ id }) => id === column) ?? { key: dueKey },
    descending,
  )

const unitOf = ({ unit }: RosterRow) => unit

interface RosterTableProps {
  readonly rows: readonly RosterRow[]
  readonly asOf: string
  readonly sort: LineSort
  /** Number of the selected unit, or null. */
  readonly at: string | null
  readonly onSort: (sort: LineSort) => void
  readonly onSelect: (unit: string) => void
  readonly onOpen: (unit: string) => void
}

/** Every unit as one line; only the lines in sight are in the page. Arrow keys move the selection, Enter opens it. */
export function RosterTable({ rows, asOf, sort, at, onSort, onSelect, onOpen }: RosterTableProps) {
  const measures = useMeasures()
  const columns = useMemo(() => rosterColumns(asOf, measures), [asOf, measures])
  const { column, descending } = sort
  const sorted = useMemo(
    () => sortRows(rows, columns.find(({ id }) => id === column) ?? { key: dueKey }, descending),
    [rows, columns, column, descending],
  )
  const grid = useArrival<HTMLTableElement>()
  const selected = useMemo(() => (at === null ? -1 : sorted.findIndex(({ unit }) => unit === at)), [sorted, at])
  const act = (index: number, step: (unit: string) => void) => {
    const row = sorted[index]
    if (row) step(row.unit)
  }
  const lines = useLines(sorted.length, selected)
  const showSelected = useEffectEvent(() => {
    if (selected >= 0) lines.virtual.scrollToIndex(selected, { align: 'center' })
  })
  useEffect(() => showSelected(), [])

  return (
    <LineGrid
      label={phrase('Units')}
      className="roster-table"
      grid={grid}
      lines={lines}
      columns={columns}
      rowAt={(index) => sorted[index]}
      nameOf={unitOf}
      sort={sort}
      onSort={(id) => onSort({ column: id, descending: id === column && !descending })}
      at={selected}
      onMove={(index) => act(index, onSelect)}
      onEnter={() => act(selected, onOpen)}
      onClick={(index) => act(index, onOpen)}
      arrives
    />
  )
}
