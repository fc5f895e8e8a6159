import { useEffect, useEffectEvent, useMemo } from 'react'
import type { RosterOrderInput, RosterRow } from '#core/contracts/unit.ts'
import { nextDue, sayDue } from '#core/findings/next-due.ts'
import { hrefOf, oneOf } from '#renderer/parts/address.ts'
import { Blank } from '#renderer/parts/blank.tsx'
import { type Measures, count, useMeasures } from '#renderer/parts/format.ts'
import { type LineColumn, LineGrid, Name, useLines } from '#renderer/parts/line-grid.tsx'
import { TrustMark } from '#renderer/parts/marks.tsx'
import type { PagedRows } from '#renderer/parts/paged-rows.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { findingTitle } from '#core/findings/finding-title.ts'
import { useArrival } from '#renderer/parts/screen-title.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { type RosterColumn, type RosterSort, sortableColumns, useRows } from './roster-view.ts'

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

function Due({ row, asOf }: { row: RosterRow; asOf: string }) {
  const { times } = useMeasures()
  const found = dueOf(row)
  if (!found) return <Blank />
  const { due, why } = found
  return (
    <span className="roster-due">
      <span className="roster-date">{sayDue(due)}</span>{' '}
      <span className={due === 'now' ? undefined : 'roster-date'}>{due !== 'now' && times.away(due, asOf)}</span>{' '}
      <span className="quiet roster-why">{why}</span>
    </span>
  )
}

/** The Roster's columns and what each shows of a unit. */
function rosterColumns(asOf: string, { weight, times }: Measures): readonly LineColumn<RosterRow>[] {
  const columns: readonly (LineColumn<RosterRow> & { readonly id: RosterColumn })[] = [
    {
      id: 'unit',
      head: phrase('Unit'),
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
      draw: ({ trust }) => <TrustMark trust={trust} />,
    },
    {
      id: 'finding',
      head: phrase('Worst finding'),
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
      draw: ({ calibratedAt }) =>
        calibratedAt === null ? (
          <Blank />
        ) : (
          <span title={times.day(calibratedAt)}>
            {phrase('{calibratedAt} d ago', { calibratedAt: count(times.daysFrom(calibratedAt, asOf)) })}
          </span>
        ),
    },
    { id: 'due', head: phrase('Next due'), draw: (row) => <Due row={row} asOf={asOf} /> },
    {
      id: 'uncertainty',
      head: phrase('At limit, {weightSymbol}', { weightSymbol: weight.symbol }),
      note: phrase(
        'What a weight at the limit is good to by the line in use, 95 % and what it lies off; the worst group',
      ),
      isFigure: true,
      draw: ({ uLimitLb }) => (uLimitLb === null ? <Blank /> : weight.plusMinusFigure(uLimitLb)),
    },
    {
      id: 'cell',
      head: phrase('Oldest cell'),
      note: phrase('Age of the oldest sensor cell'),
      isFigure: true,
      draw: ({ cellSince }) =>
        cellSince === null ? (
          <Blank />
        ) : (
          <span title={phrase('In since {cellSince}', { cellSince: times.day(cellSince) })}>
            {phrase('{days} d', { days: count(times.daysFrom(cellSince, asOf)) })}
          </span>
        ),
    },
    { id: 'yard', head: phrase('Yard'), draw: ({ yard }) => (yard === null ? <Blank /> : <Name>{yard}</Name>) },
    {
      id: 'model',
      head: phrase('Make and model'),
      draw: ({ make, model, modelYear }) => {
        const name = [make, model, modelYear].filter(Boolean).join(' ')
        return name === '' ? <Blank /> : <Name>{name}</Name>
      },
    },
  ]
  return columns.map((column) => ({ ...column, isSortable: true }))
}

const unitOf = ({ unit }: RosterRow) => unit

/** The chosen line: its unit as far as its row is there. */
export interface Choice {
  readonly index: number
  readonly unit: string | null
}

/** Where the chosen unit stands now: rows move as units are judged anew. */
function placeOf(choice: Choice, { rowAt, loaded }: PagedRows<RosterRow>): number {
  const here = rowAt(choice.index)
  if (choice.unit === null || here === undefined || here.unit === choice.unit) return choice.index
  return loaded.find(([, { unit }]) => unit === choice.unit)?.[0] ?? -1
}

interface RosterTableProps {
  readonly order: RosterOrderInput
  readonly total: number
  /** The first page. */
  readonly first: readonly RosterRow[]
  readonly asOf: string
  readonly sort: RosterSort
  readonly chosen: Choice
  readonly onSort: (sort: RosterSort) => void
  readonly onChoose: (choice: Choice) => void
  readonly onOpen: (unit: string) => void
}

/** Every unit as one line; only the lines in sight are in the page. Arrow keys move the selection, Enter opens it. */
export function RosterTable({ order, total, first, asOf, sort, chosen, onSort, onChoose, onOpen }: RosterTableProps) {
  const measures = useMeasures()
  const columns = useMemo(() => rosterColumns(asOf, measures), [asOf, measures])
  const grid = useArrival<HTMLTableElement>()
  const lines = useLines(total, chosen.index)
  const rows = useRows(order, first, [
    ...(chosen.index < 0 ? [] : [chosen.index]),
    ...lines.items.map(({ index }) => index),
  ])
  const selected = placeOf(chosen, rows)
  const reached = rows.rowAt(selected)?.unit ?? null
  const tell = useEffectEvent(() => {
    if (chosen.unit === null && reached !== null) onChoose({ index: selected, unit: reached })
  })
  // A line that was leapt to says its unit once its row is there.
  // biome-ignore lint/correctness/useExhaustiveDependencies: whenever another row stands there
  useEffect(() => tell(), [reached])
  const showSelected = useEffectEvent(() => {
    if (selected >= 0) lines.virtual.scrollToIndex(selected, { align: 'center' })
  })
  useEffect(() => showSelected(), [])
  const open = (index: number) => {
    const row = rows.rowAt(index)
    if (row) onOpen(row.unit)
  }

  return (
    <>
      {rows.error !== undefined && <ProblemNotice title={phrase('Some units could not be read')} error={rows.error} />}
      <LineGrid
        label={phrase('Units')}
        className="roster-table"
        grid={grid}
        lines={lines}
        columns={columns}
        rowAt={rows.rowAt}
        nameOf={unitOf}
        sort={sort}
        onSort={(id) => {
          const column = oneOf(sortableColumns, id)
          if (column) onSort({ column, descending: column === sort.column && !sort.descending })
        }}
        at={selected}
        onMove={(index) => onChoose({ index, unit: rows.rowAt(index)?.unit ?? null })}
        onEnter={() => open(selected)}
        onClick={open}
        arrives
      />
    </>
  )
}
