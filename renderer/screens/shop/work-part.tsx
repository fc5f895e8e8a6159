import { Button, Checkbox, SegmentedControl } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import { closedSentences } from '#core/bench/bench-days.ts'
import type { BenchPlanView, BenchVisitView } from '#core/contracts/bench.ts'
import { sayWorkDue } from '#core/findings/next-due.ts'
import { storedDay } from '#core/words/day.ts'
import { client } from '#renderer/client/api.ts'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { AddressChoice } from '#renderer/parts/address-fields.tsx'
import { saveFile } from '#renderer/parts/save-file.ts'
import { count } from '#renderer/parts/format.ts'
import { useHelpExample } from '#renderer/parts/help-example.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { useScreenKeys } from '#renderer/parts/single-keys.ts'
import { phrase } from '#core/words/phrase.ts'
import { namesOfDays } from '#core/words/numbers.ts'
import { MarkSwapped } from './mark-swapped.tsx'
import {
  type CellToSwap,
  type Span,
  cellsOf,
  noYard,
  listOf,
  spanLabels,
  spans,
  visitKey,
  visitsAtOnce,
  whyWords,
  workWords,
  yardName,
} from './shop-view.ts'
import { UnitWork } from './unit-work.tsx'

const weekday = namesOfDays({ weekday: 'short' })

/** How full each worked day of a yard's bench is, as a bar and in what it counts. */
function BenchDays({ bench: { yard, counts, days } }: { bench: BenchPlanView['benches'][number] }) {
  const words = counts === 'jobs' ? phrase('jobs') : phrase('bench minutes')
  return (
    <section className="shop-bench" aria-label={phrase('Bench of {yard}', { yard: yardName(yard) })}>
      <h2>{yardName(yard)}</h2>
      <ol>
        {days.map(({ day, room, used }) => (
          <li
            key={day}
            title={phrase('{day}: {used} of {room} {words} taken', {
              day,
              used: count(used),
              room: count(room),
              words,
            })}
          >
            <span className="shop-bar" aria-hidden="true">
              <span style={{ height: `${Math.min(100, (100 * used) / room)}%` }} />
            </span>
            <span aria-hidden="true">{weekday(Date.parse(day)).slice(0, 2)}</span>
            <span className="unheard">
              {phrase('{day}: {used} of {room} {words}', {
                day,
                used: count(used),
                room: count(room),
                words,
              })}
            </span>
          </li>
        ))}
      </ol>
    </section>
  )
}

function Told({ title, unmet }: { title: string; unmet: BenchPlanView['notMet'][number] | undefined }) {
  if (unmet === undefined) return null
  const { visits, first } = unmet
  return (
    <details className="shop-unmet">
      <summary>{title}</summary>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a list that scrolls must be reachable by keyboard */}
      <ul tabIndex={0}>
        {first.map(({ unit, dueOn, message }) => (
          <li key={`${unit} ${dueOn} ${message}`}>{message}</li>
        ))}
        {visits > first.length && (
          <li>{phrase('and {count} more, all of them in the CSV file', { count: count(visits - first.length) })}</li>
        )}
      </ul>
    </details>
  )
}

const visitsWords = (number: number) =>
  number === 1 ? phrase('1 visit') : phrase('{number} visits', { number: count(number) })

/** What comes late, by why: most of a fleet's first dates had passed before anyone planned. */
function Unmet({ plan: { notMet, overdue: jobs } }: { plan: BenchPlanView }) {
  const by = (because: BenchPlanView['notMet'][number]['because']) => notMet.find((each) => each.because === because)
  const noRoom = by('no room before its date')
  const noBench = by('no bench time')
  return (
    <>
      <Told
        title={phrase('{jobs} overdue, planned for the first free slot', {
          jobs: jobs === 1 ? phrase('1 job is') : phrase('{jobs} jobs are', { jobs: count(jobs) }),
        })}
        unmet={by('date already past')}
      />
      <Told
        title={phrase('{noRoom} late: the bench is full before', { noRoom: visitsWords(noRoom?.visits ?? 0) })}
        unmet={noRoom}
      />
      <Told
        title={phrase('{noBench} without a day: the yard’s bench never works', {
          noBench: visitsWords(noBench?.visits ?? 0),
        })}
        unmet={noBench}
      />
    </>
  )
}

type Paper = 'pdf' | 'ics' | 'csv'

async function makePaper(paper: Paper, yard: string | null | undefined, when: Span): Promise<File> {
  const input = yard === undefined ? { when } : { yard, when }
  if (paper === 'pdf') return client.bench.workListPdf(input)
  const { fileName, text } = await (paper === 'ics' ? client.bench.calendar(input) : client.bench.csv(input))
  return new File([text], fileName, { type: paper === 'ics' ? 'text/calendar' : 'text/csv' })
}

function Papers({ yard, span }: { yard: string | null | undefined; span: Span }) {
  const make = useMutation({ mutationFn: (paper: Paper) => makePaper(paper, yard, span), onSuccess: saveFile })
  const button = (paper: Paper, label: string) => (
    <Button loading={make.isPending && make.variables === paper} onClick={() => make.mutate(paper)}>
      {label}
    </Button>
  )
  return (
    <>
      <span className="shop-papers">
        {button('pdf', phrase('Work list (PDF)'))}
        {button('ics', phrase('Calendar'))}
        {button('csv', 'CSV')}
      </span>
      {make.isError && <ProblemNotice title={phrase('It could not be written')} error={make.error} />}
    </>
  )
}

interface VisitTableProps {
  readonly visits: readonly BenchVisitView[]
  /** How many are listed, of which these are the first. */
  readonly total: number
  readonly onMore: () => void
  readonly isLoading: boolean
  readonly chosen: string | null
  readonly ticked: ReadonlySet<string>
  readonly onOpen: (unit: string) => void
  readonly onTick: (keys: readonly string[], on: boolean) => void
}

function VisitTable({ visits, total, onMore, isLoading, chosen, ticked, onOpen, onTick }: VisitTableProps) {
  const isOne = new Set(visits.map(({ yard }) => yard)).size === 1
  const withCells = visits.filter((visit) => cellsOf(visit).length > 0).map(visitKey)
  const allTicked = withCells.length > 0 && withCells.every((key) => ticked.has(key))
  return (
    <>
      <SheetTable
        className="shop-table"
        rows={visits}
        keyOf={visitKey}
        mark={({ unit }) => ({ 'data-current': unit === chosen || undefined })}
        under={({ yard }) => (isOne ? null : yardName(yard))}
        named={1}
        columns={[
          [
            <Checkbox
              key="all"
              aria-label={phrase('Cells of every visit shown')}
              checked={allTicked}
              indeterminate={!allTicked && withCells.some((key) => ticked.has(key))}
              onChange={(event) => onTick(withCells, event.currentTarget.checked)}
            />,
            (visit) =>
              cellsOf(visit).length > 0 && (
                <Checkbox
                  aria-label={phrase('Cells of {unit}', { unit: visit.unit })}
                  checked={ticked.has(visitKey(visit))}
                  onChange={(event) => onTick([visitKey(visit)], event.currentTarget.checked)}
                />
              ),
          ],
          [
            phrase('Unit'),
            ({ unit }) => (
              <LinkButton aria-expanded={unit === chosen} onClick={() => onOpen(unit)}>
                {unit}
              </LinkButton>
            ),
            'nowrap',
          ],
          [
            phrase('On the bench'),
            ({ day, untilDay, plannedOn }) => (
              <>
                {day}
                {untilDay !== day && phrase(' to {untilDay}', { untilDay })}
                {plannedOn !== null && <span className="quiet"> {phrase('comes in')}</span>}
              </>
            ),
            'nowrap',
          ],
          [
            phrase('Work, and why'),
            ({ items }) => (
              <>
                {workWords(items)}
                <span className="shop-why">{whyWords(items)}</span>
              </>
            ),
          ],
          [
            phrase('Due'),
            (visit) => (
              <>
                {sayWorkDue(visit)}
                {visit.dueNow && visit.lateDays > 0 && (
                  <span className="quiet"> {phrase('since {dueOn}', { dueOn: visit.dueOn })}</span>
                )}
                {visit.lateDays > 0 && (
                  <span className="shop-late"> {phrase('{lateDays} d late', { lateDays: count(visit.lateDays) })}</span>
                )}
              </>
            ),
            'nowrap',
          ],
          [phrase('Time needed'), ({ minutes }) => phrase('{minutes} min', { minutes: count(minutes) }), 'figure'],
        ]}
      />
      {total > visits.length && (
        <Button loading={isLoading} onClick={onMore}>
          {phrase('Show the next {pageRows} of {visits} visits', {
            pageRows: count(Math.min(visitsAtOnce, total - visits.length)),
            visits: count(total),
          })}
        </Button>
      )}
    </>
  )
}

interface WorkPartProps {
  /** The listed plan, with its first visits. */
  readonly plan: BenchPlanView
  /** Those of its visits that are there. */
  readonly visits: readonly BenchVisitView[]
  readonly more: Pick<VisitTableProps, 'onMore' | 'isLoading'>
}

/** The work due by yard and day; one unit's work open beside it. */
export function WorkPart({ plan, visits, more }: WorkPartProps) {
  const { params } = useAddress()
  const [ticked, setTicked] = useState<ReadonlySet<string>>(new Set())
  const [swapping, setSwapping] = useState<readonly CellToSwap[] | null>(null)
  const [said, setSaid] = useState('')
  const { yard, when: span } = listOf(params)
  const chosen = params.get('unit')
  const cells = visits.filter((visit) => ticked.has(visitKey(visit))).flatMap(cellsOf)
  const labels = spanLabels(plan)
  const [first] = visits
  useHelpExample(
    first
      ? phrase('{unit}, {work}. {why}', { unit: first.unit, work: workWords(first.items), why: whyWords(first.items) })
      : null,
  )
  const closed = closedSentences(plan.benchDays, storedDay(plan.firstDay))
  const tick = (keys: readonly string[], on: boolean) => {
    const next = new Set(ticked)
    for (const key of keys)
      if (on) next.add(key)
      else next.delete(key)
    setTicked(next)
  }
  const shownKeys = visits.filter((visit) => cellsOf(visit).length > 0).map(visitKey)
  useScreenKeys({
    a: () => tick(shownKeys, !shownKeys.every((key) => ticked.has(key))),
    m: () => cells.length > 0 && setSwapping(cells),
  })
  const open = (unit: string) => changeParams({ unit: unit === chosen ? null : unit }, { replace: true })
  return (
    <div className="shop-work" data-open={chosen !== null || undefined}>
      <div className="shop-list">
        <div className="flow shop-tools">
          <AddressChoice
            heard={phrase('Yard')}
            name="yard"
            all={phrase('All yards')}
            options={[...plan.yards, { value: noYard, label: phrase('Units without a yard') }]}
            replace
          />
          <SegmentedControl
            aria-label={phrase('When')}
            value={span}
            data={spans.map((value) => ({ value, label: labels[value] }))}
            onChange={(when) => changeParams({ when }, { replace: true })}
          />
          <Button variant="filled" disabled={cells.length === 0} onClick={() => setSwapping(cells)}>
            {phrase('Mark {cells} swapped', { cells: cells.length === 0 ? phrase('cells') : count(cells.length) })}
          </Button>
          <Papers yard={yard} span={span} />
        </div>
        <output className="shop-said">{said}</output>
        {closed.map((sentence) => (
          <p key={sentence} className="shop-closed">
            {sentence}
          </p>
        ))}
        <Unmet plan={plan} />
        {plan.whyEmpty !== null ? (
          <p className="shop-none">{plan.whyEmpty}</p>
        ) : (
          <VisitTable
            key={`${yard} ${span}`}
            visits={visits}
            total={plan.total}
            {...more}
            chosen={chosen}
            ticked={ticked}
            onOpen={open}
            onTick={tick}
          />
        )}
        {plan.contradictions.total > 0 && (
          <details className="shop-unmet">
            <summary>
              {phrase('{contradictions} contradictions in the records of cells', {
                contradictions: count(plan.contradictions.total),
              })}
            </summary>
            <ul>
              {plan.contradictions.first.map(({ serial, at, message }) => (
                <li key={`${serial} ${at} ${message}`}>{message}</li>
              ))}
            </ul>
          </details>
        )}
        {plan.assumedCells > 0 && (
          <p className="quiet">
            {phrase(
              '{assumedCells} {assumedCells2, plural, one {sensor has} other {sensors have}} no recorded cell change: their cells are counted from the mounting.',
              { assumedCells: count(plan.assumedCells), assumedCells2: plan.assumedCells },
            )}
          </p>
        )}
        <div className="shop-benches">
          {plan.benches.map((bench) => (
            <BenchDays key={bench.yard} bench={bench} />
          ))}
        </div>
      </div>
      {chosen !== null && (
        <aside className="shop-side" aria-label={phrase('Work of {chosen}', { chosen })}>
          <UnitWork key={chosen} unit={chosen} yards={plan.yards} onSwap={setSwapping} />
        </aside>
      )}
      <MarkSwapped
        opened={swapping !== null}
        cells={swapping ?? []}
        onClose={() => setSwapping(null)}
        onDone={(words) => {
          setSaid(words)
          setSwapping(null)
          setTicked(new Set())
        }}
      />
    </div>
  )
}
