import { createColumnHelper, createSortedRowModel, rowSortingFeature, tableFeatures } from '@tanstack/react-table'
import type { ReactNode } from 'react'
import type { RosterRow } from '#core/api/contract.ts'
import { trustStates } from '#core/findings/finding.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { awayInDays, count, day, daysFrom, type Measures } from '#renderer/parts/format.ts'
import { TrustMark } from '#renderer/parts/trust-mark.tsx'
import { findingTitle, unknownText } from '#renderer/parts/words.ts'
import { naturalKey } from './filter-rows.ts'
import { dueKey, nextDue } from './next-due.ts'
import type { RosterColumn } from './roster-view.ts'

export const rosterFeatures = tableFeatures({ rowSortingFeature, sortedRowModel: createSortedRowModel() })
const helper = createColumnHelper<typeof rosterFeatures, RosterRow>()

const Unknown = ({ word = 'unknown' }: { word?: string }) => (
  <span className="quiet">
    <span aria-hidden="true">{unknownText}</span>
    <span className="unheard">{word}</span>
  </span>
)

function Due({ row, asOf }: { row: RosterRow; asOf: string }) {
  const due = nextDue(row)
  if (!due) return <Unknown word="nothing due" />
  return (
    <span className="roster-due">
      <span className="roster-date">{due.on ?? 'now'}</span>{' '}
      <span className={due.on === null ? undefined : 'roster-date'}>{due.on && awayInDays(due.on, asOf)}</span>{' '}
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
export function rosterColumns(asOf: string, { weight }: Measures) {
  const common = { sortFn: byValue, sortUndefined: 'last' as const }
  return helper.columns([
    helper.accessor((row) => naturalKey(row.unit), { ...common, id: 'unit', header: 'Unit' }),
    helper.accessor(({ trust }) => (trust === null ? undefined : trustRank.get(trust)), {
      ...common,
      id: 'trust',
      header: 'Trust',
    }),
    helper.accessor(findingRank, { ...common, id: 'finding', header: 'Worst finding' }),
    helper.accessor(({ calibratedAt }) => (calibratedAt === null ? undefined : daysFrom(calibratedAt, asOf)), {
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
    helper.accessor(({ cellSince }) => (cellSince === null ? undefined : daysFrom(cellSince, asOf)), {
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
export function rosterCells(asOf: string, { weight }: Measures): readonly (readonly [RosterColumn, DrawCell])[] {
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
          <span title={day(calibratedAt)}>{count(daysFrom(calibratedAt, asOf))} d ago</span>
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
          <span title={`In since ${day(cellSince)}`}>{count(daysFrom(cellSince, asOf))} d</span>
        ),
    ],
    ['yard', ({ yard }) => yard ?? <Unknown />],
    ['model', ({ make, model, modelYear }) => [make, model, modelYear].filter(Boolean).join(' ') || <Unknown />],
  ]
}
