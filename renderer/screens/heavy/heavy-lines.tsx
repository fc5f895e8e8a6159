import type { ReactNode } from 'react'
import type { HeavyEntry } from '#core/api/heavy-contract.ts'
import { chance, type Measures, moment } from '#renderer/parts/format.ts'
import { VerdictMark } from '#renderer/parts/verdict-mark.tsx'
import type { HeavySortName } from './heavy-view.ts'
import { limitOf, sourceWords } from './heavy-words.ts'

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
export const heavyColumns = ({ weight }: Measures): readonly Column[] => [
  { id: 'when', header: 'Weighed', sort: 'weighedAt', draw: ({ weighedAt }) => moment(weighedAt) },
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
    draw: ({ source, superseded }) => (
      <>
        {sourceWords[source]}
        {superseded && <span className="quiet">, decided</span>}
      </>
    ),
  },
  { id: 'note', header: 'Driver’s note', draw: ({ note }) => note ?? '' },
]
