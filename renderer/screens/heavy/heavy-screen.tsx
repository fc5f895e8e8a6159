import { Button, SegmentedControl } from '@mantine/core'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useMemo } from 'react'
import { heavySources, heavyVerdicts } from '#core/weight/heavy.ts'
import { api } from '#renderer/client/api.ts'
import { AddressCheck, AddressChoice } from '#renderer/parts/address-fields.tsx'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { count, share } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { sentenceCase } from '#renderer/parts/record-text.ts'
import { Scrolls } from '#renderer/parts/sheet-table.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { CountView } from './counts.tsx'
import { rateOf } from './heavy-counts.ts'
import { HeavyExport, HeavyFilters } from './heavy-filters.tsx'
import { HeavyLog } from './heavy-log.tsx'
import './heavy-screen.css'
import {
  type HeavyView,
  isNarrowed,
  mostLines,
  noSpan,
  readHeavyView,
  sortParams,
  spanInput,
  untilCurrent,
  useFirstPage,
} from './heavy-view.ts'
import { OffenderView } from './offenders.tsx'

const parts = [
  { value: 'log', label: phrase('Log') },
  { value: 'offenders', label: phrase('Offenders') },
  { value: 'counts', label: phrase('Months, yards, limits') },
]
const sourceChoices = { ticket: phrase('Scale tickets'), onboard: phrase('Onboard weights') }

function useSummary(view: HeavyView, enabled = true) {
  return useQuery({
    ...api.heavy.summary.queryOptions({ input: spanInput(view), ...untilCurrent, enabled }),
    placeholderData: keepPreviousData,
  })
}

/** The first weighing of a record takes as long as its size; later ones only what has changed. */
function Weighing() {
  return (
    <div className="heavy-wait" role="status">
      <progress aria-label={phrase('Weighing the record')} />
      <p>
        {phrase(
          'Weighing every ticket and reading of the record. It is done once; from then on only what has changed is weighed again.',
        )}
      </p>
    </div>
  )
}

function Failed({ error, onAgain }: { error: unknown; onAgain: () => void }) {
  return (
    <div className="heavy-wait">
      <ProblemNotice title={phrase('The heavy weights could not be read')} error={error}>
        <Button onClick={onAgain}>{phrase('Try again')}</Button>
        <Button onClick={() => changeParams(noSpan)}>{phrase('Clear filters')}</Button>
      </ProblemNotice>
    </div>
  )
}

function NothingHeavy({ view }: { view: HeavyView }) {
  const isFiltered = isNarrowed(view) || view.verdict !== null || view.source !== null || view.changed
  return (
    <div className="heavy-wait">
      <p>
        {view.changed
          ? phrase('No verdict that was shown has changed here.')
          : isFiltered
            ? phrase('Nothing here was over a limit or too close to call.')
            : phrase('No ticket and no reading of the record is over a limit or too close to call.')}
      </p>
      {isFiltered && (
        <Button onClick={() => changeParams({ ...noSpan, verdict: null, source: null, changed: null })}>
          {phrase('Show everything')}
        </Button>
      )}
    </div>
  )
}

function LogTools({ view, total }: { view: HeavyView; total: number | undefined }) {
  return (
    <div className="flow heavy-tools">
      <AddressChoice
        name="verdict"
        heard={phrase('Verdict')}
        all={view.changed ? phrase('Every verdict') : phrase('Over or too close to call')}
        options={[
          ...heavyVerdicts.map((verdict) => ({
            value: verdict,
            label: phrase('{verdict} only', { verdict: sentenceCase(word(verdict)) }),
          })),
          { value: 'under', label: phrase('Under, heavy by the line alone') },
        ]}
      />
      <AddressChoice
        name="source"
        heard={phrase('Weighed by')}
        all={phrase('Tickets and onboard')}
        options={heavySources.map((source) => ({ value: source, label: sourceChoices[source] }))}
      />
      <AddressCheck name="changed" label={phrase('Changed since it was shown')} />
      <AddressCheck name="decided" label={phrase('Onboard too where a ticket decided')} />
      <output className="quiet">
        {total !== undefined && phrase('{total, plural, one {# weight} other {# weights}}', { total })}
        {total !== undefined &&
          total > mostLines &&
          phrase(', the first {mostLines} of them below', { mostLines: count(mostLines) })}
      </output>
      <HeavyExport view={view} />
    </div>
  )
}

function LogPart({ view }: { view: HeavyView }) {
  const page = useFirstPage(view)
  return (
    <>
      <LogTools view={view} total={page.data?.total} />
      {page.isPending && <Weighing />}
      {page.isError && <Failed error={page.error} onAgain={() => void page.refetch()} />}
      {page.data &&
        !page.isError &&
        (page.data.total === 0 ? (
          <NothingHeavy view={view} />
        ) : (
          <HeavyLog
            view={view}
            total={Math.min(page.data.total, mostLines)}
            first={page.data.rows}
            earlier={page.isPlaceholderData}
            onSort={(sort) => changeParams(sortParams(sort))}
          />
        ))}
    </>
  )
}

function SummaryPart({ view }: { view: HeavyView }) {
  const summary = useSummary(view)
  if (summary.isPending) return <Weighing />
  if (summary.isError) return <Failed error={summary.error} onAgain={() => void summary.refetch()} />
  return (
    <Scrolls
      className="heavy-summary"
      label={view.part === 'offenders' ? phrase('Offenders') : phrase('Months, yards, limits')}
    >
      {view.part === 'offenders' ? <OffenderView summary={summary.data} /> : <CountView summary={summary.data} />}
      <NotForTrade />
    </Scrolls>
  )
}

function Totals({ view }: { view: HeavyView }) {
  // Counting a million weighings takes longer than a page of them: whoever looks at the log gets the page first.
  const isLog = view.part === 'log'
  const page = useFirstPage(view, isLog)
  const { data } = useSummary(view, !isLog || (page.isFetched && !page.isPlaceholderData))
  if (!data) return null
  const { total } = data
  return (
    <output className="flow heavy-totals">
      <span>
        <Phrase
          text="<strong>{weighings, number}</strong> {weighings, plural, one {weighing} other {weighings}}"
          with={{ strong: (words) => <strong>{words}</strong>, weighings: total.weighings }}
        />
      </span>
      <span>
        <Phrase
          text="<strong>{over}</strong> over a limit <span>({over2})</span>"
          with={{
            strong: (words) => <strong>{words}</strong>,
            over: count(total.over),
            span: (words) => <span className="quiet">{words}</span>,
            over2: share(rateOf(total.over, total)),
          }}
        />
      </span>
      <span>
        <Phrase
          text="<strong>{close}</strong> too close to call"
          with={{ strong: (words) => <strong>{words}</strong>, close: count(total.close) }}
        />
      </span>
      {!data.current && (
        <span className="heavy-stale">
          <progress aria-label={phrase('Weighing what has changed')} />{' '}
          {phrase('From before the last change; what it touched is being weighed again.')}
        </span>
      )}
    </output>
  )
}

/** Which weighings were over a limit, by how much and how surely, and who, when and where it was. */
export function HeavyScreen() {
  const { params } = useAddress()
  const view = useMemo(() => readHeavyView(params), [params])
  return (
    <div className="heavy">
      <div className="heavy-top">
        <div className="flow heavy-title">
          <ScreenTitle>{phrase('Heavy Log')}</ScreenTitle>
          <Totals view={view} />
          <SegmentedControl
            aria-label={phrase('Show')}
            value={view.part}
            data={parts}
            onChange={(part) => changeParams({ part: part === 'log' ? null : part })}
          />
        </div>
        <HeavyFilters view={view} />
      </div>
      {view.part === 'log' ? <LogPart view={view} /> : <SummaryPart view={view} />}
    </div>
  )
}
