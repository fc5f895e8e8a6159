import { Button, SegmentedControl } from '@mantine/core'
import { keepPreviousData, useQuery } from '@tanstack/react-query'
import { useMemo } from 'react'
import { heavySources, heavyVerdicts } from '#core/weight/heavy.ts'
import { api } from '#renderer/client/api.ts'
import { AddressCheck, AddressChoice } from '#renderer/parts/address-fields.tsx'
import { changeParams, useAddress } from '#renderer/parts/address.ts'
import { NotForTrade } from '#renderer/parts/cautions.tsx'
import { count, counted, share } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { sentenceCase } from '#renderer/parts/record-text.ts'
import { Scrolls } from '#renderer/parts/sheet-table.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { CountView } from './counts.tsx'
import { rateOf } from './heavy-counts.ts'
import { plural } from './heavy-entry.tsx'
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
  { value: 'log', label: 'Log' },
  { value: 'offenders', label: 'Offenders' },
  { value: 'counts', label: 'Months, yards, limits' },
]
const sourceChoices = { ticket: 'Scale tickets', onboard: 'Onboard weights' }

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
      <progress aria-label="Weighing the record" />
      <p>
        Weighing every ticket and reading of the record. It is done once; from then on only what has changed is weighed
        anew.
      </p>
    </div>
  )
}

function Failed({ error, onAgain }: { error: unknown; onAgain: () => void }) {
  return (
    <div className="heavy-wait">
      <ProblemNotice title="The heavy weights could not be read" error={error}>
        <Button onClick={onAgain}>Try again</Button>
        <Button onClick={() => changeParams(noSpan)}>Clear filters</Button>
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
          ? 'No verdict that was shown has changed here.'
          : isFiltered
            ? 'Nothing here was over a limit or too close to call.'
            : 'No ticket and no reading of the record is over a limit or too close to call.'}
      </p>
      {isFiltered && (
        <Button onClick={() => changeParams({ ...noSpan, verdict: null, source: null, changed: null })}>
          Show everything
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
        heard="Verdict"
        all={view.changed ? 'Every verdict' : 'Over or too close to call'}
        options={[
          ...heavyVerdicts.map((verdict) => ({ value: verdict, label: `${sentenceCase(verdict)} only` })),
          { value: 'under', label: 'Under, heavy by the line alone' },
        ]}
      />
      <AddressChoice
        name="source"
        heard="Weighed by"
        all="Tickets and onboard"
        options={heavySources.map((source) => ({ value: source, label: sourceChoices[source] }))}
      />
      <AddressCheck name="changed" label="Changed since it was shown" />
      <AddressCheck name="decided" label="Onboard too where a ticket decided" />
      <output className="quiet">
        {total !== undefined && counted(total, 'weight')}
        {total !== undefined && total > mostLines && `, the first ${count(mostLines)} of them below`}
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
    <Scrolls className="heavy-summary" label={view.part === 'offenders' ? 'Offenders' : 'Months, yards, limits'}>
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
        <strong>{count(total.weighings)}</strong> {plural(total.weighings, 'weighing')}
      </span>
      <span>
        <strong>{count(total.over)}</strong> over a limit{' '}
        <span className="quiet">({share(rateOf(total.over, total))})</span>
      </span>
      <span>
        <strong>{count(total.close)}</strong> too close to call
      </span>
      {!data.current && (
        <span className="heavy-stale">
          <progress aria-label="Weighing what has changed" /> From before the last change; what it touched is being
          weighed anew.
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
          <ScreenTitle>Heavy Log</ScreenTitle>
          <Totals view={view} />
          <SegmentedControl
            aria-label="Show"
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
