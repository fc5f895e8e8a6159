import { useEffect, useMemo, useRef, useState } from 'react'
import { type HeavyEntry, heavySortNames } from '#core/contracts/heavy.ts'
import { oneOf } from '#renderer/parts/address.ts'
import { areApart } from '#core/words/sentences/two-weights.ts'
import { type Measures, chance, useMeasures } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { type LineColumn, LineGrid, Name, useLines } from '#renderer/parts/line-grid.tsx'
import { VerdictMark } from '#renderer/parts/marks.tsx'
import type { PagedRows } from '#renderer/parts/paged-rows.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { HeavyEntryPanel, entryKey, limitOf, lineHref, recordHref, sourceWords } from './heavy-entry.tsx'
import { type HeavySort, type HeavyView, useRows } from './heavy-view.ts'

/**
 * The columns of the log. Weights from pressures carry their 95 % interval, those of tickets what a good scale leaves
 * open.
 */
const heavyColumns = ({ weight, times }: Measures): readonly LineColumn<HeavyEntry>[] => [
  {
    id: 'weighedAt',
    head: phrase('Weighed'),
    isSortable: true,
    draw: ({ weighedAt, ahead }) => (
      <>
        {times.moment(weighedAt)}
        {ahead && <span className="quiet">{phrase(', ahead')}</span>}
      </>
    ),
  },
  { id: 'units', head: phrase('Combination'), draw: ({ units }) => <Name>{units.join(' + ')}</Name> },
  {
    id: 'limit',
    head: phrase('Limit of'),
    draw: (entry) => (
      <>
        {entry.source === 'onboard' && entry.kind === 'group' ? (
          <a href={lineHref(entry)} tabIndex={-1}>
            {limitOf(entry)}
          </a>
        ) : (
          limitOf(entry)
        )}
        {entry.set !== null && entry.set.more > 0 && <span className="quiet"> +{entry.set.more}</span>}
      </>
    ),
  },
  {
    id: 'weightLb',
    head: phrase('Weight, {weightSymbol}', { weightSymbol: weight.symbol }),
    isSortable: true,
    isFigure: true,
    draw: ({ weightLb, uLb, byLine }) => (
      <>
        {byLine !== null && areApart({ weightLb, uLb }, byLine) && (
          <span className="quiet">
            {phrase('line {weightLb}', { weightLb: weight.estimateFigure(byLine.weightLb) })}{' '}
          </span>
        )}
        {weight.estimateFigure(weightLb)}
      </>
    ),
  },
  {
    id: 'overLb',
    head: phrase('Over by, {weightSymbol}', { weightSymbol: weight.symbol }),
    isSortable: true,
    isFigure: true,
    draw: ({ overLb, uLb }) => (
      <>
        <span className="heavy-over">{weight.difference(overLb)}</span> {weight.plusMinusFigure(uLb)}
      </>
    ),
  },
  {
    id: 'verdict',
    head: phrase('Verdict'),
    draw: ({ verdict, lookBack }) => (
      <>
        <VerdictMark verdict={verdict} />
        {lookBack && <span className="quiet">{phrase(', was {verdict}', { verdict: shortly[lookBack.verdict] })}</span>}
      </>
    ),
  },
  { id: 'pOver', head: phrase('Chance'), isSortable: true, isFigure: true, draw: ({ pOver }) => chance(pOver) },
  {
    id: 'source',
    head: phrase('By'),
    draw: (entry) => (
      <>
        <a href={recordHref(entry)} tabIndex={-1}>
          {sourceWords[entry.source]}
        </a>
        {entry.superseded && <span className="quiet">{phrase(', decided')}</span>}
      </>
    ),
  },
  { id: 'note', head: phrase('Note'), draw: ({ note }) => note && <Name>{note}</Name> },
]

/** What a narrow column has room for. */
const shortly = { under: phrase('under'), 'too close to call': phrase('too close'), over: phrase('over') } as const

/** What the figures of a weight mean, said of the chosen one. */
const exampleOf = (entry: HeavyEntry, { weight, times }: Measures): string =>
  phrase(
    '{units} on {weighedAt}, {entry}: {weightLb} against {limitLb}. The true weight is over the limit in {pOver} of such cases: {verdict}.',
    {
      units: entry.units.join(' + '),
      weighedAt: times.moment(entry.weighedAt),
      entry: limitOf(entry),
      weightLb: weight.estimate(entry.weightLb),
      limitLb: weight.text(entry.limitLb),
      pOver: chance(entry.pOver),
      verdict: word(entry.verdict),
    },
  )

interface HeavyLogProps {
  readonly view: HeavyView
  readonly total: number
  readonly first: readonly HeavyEntry[]
  /** Whether the rows answer an earlier question, until those of this one are there. */
  readonly earlier: boolean
  readonly onSort: (sort: HeavySort) => void
}

interface Choice {
  readonly index: number
  readonly entry: HeavyEntry | null
}

/**
 * Where the chosen weight stands. Rows move when weights are made anew: what was chosen stays chosen, so that a note
 * never ends up with another weighing than the one it was begun for.
 */
function placeOf(choice: Choice, { rowAt, loaded }: PagedRows<HeavyEntry>): Choice {
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
  const grid = useRef<HTMLTableElement>(null)
  const note = useRef<HTMLTextAreaElement>(null)
  const [choice, setChoice] = useState<Choice>({ index: 0, entry: null })
  const lines = useLines(total, choice.index)
  const rows = useRows(view, first, [choice.index, ...lines.items.map(({ index }) => index)])
  const chosen = placeOf(choice, rows)
  useHelpExample(chosen.entry && exampleOf(chosen.entry, measures))
  // Another question is another list: it starts at its top.
  const question = JSON.stringify(view)
  const [asked, setAsked] = useState(question)
  if (asked !== question) {
    setAsked(question)
    setChoice({ index: 0, entry: null })
  } else if (choice.entry === null && chosen.entry !== null && !earlier) setChoice(chosen)
  const { frame } = lines
  useEffect(() => {
    if (question) frame.current?.scrollTo({ top: 0 })
  }, [question, frame])
  const choose = (index: number) => setChoice({ index, entry: rows.rowAt(index) ?? null })
  return (
    <div className="heavy-log">
      <LineGrid
        label={phrase('Heavy weights')}
        className="heavy-table"
        grid={grid}
        lines={lines}
        columns={columns}
        rowAt={rows.rowAt}
        sort={view.sort}
        onSort={(id) => {
          const column = oneOf(heavySortNames, id)
          if (column) onSort({ column, descending: view.sort.column !== column || !view.sort.descending })
        }}
        at={chosen.index}
        onMove={choose}
        onEnter={() => note.current?.focus()}
        onClick={choose}
      />
      <aside className="heavy-side" aria-label={phrase('The chosen weight')}>
        {rows.error !== undefined && <ProblemNotice title={phrase('Some rows could not be read')} error={rows.error} />}
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
