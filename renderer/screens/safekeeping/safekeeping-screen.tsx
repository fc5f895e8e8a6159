import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import type { ReactNode } from 'react'
import type { CheckNote, RehearsalNote, SafekeepingPage } from '#core/contracts/safekeeping.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { OutcomeMark } from '#renderer/parts/marks.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { sayKept } from '#core/words/kept-phrase.ts'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { Overdue } from './overdue.tsx'
import { SecondPlace } from './second-place.tsx'
import './safekeeping-screen.css'

const occasions: Readonly<Record<CheckNote['by'], string>> = {
  copy: phrase('as a copy of it was kept'),
  restore: phrase('as it was restored from a copy'),
  person: phrase('as somebody asked for it'),
}
const checkWords: Readonly<Record<CheckNote['outcome'], string>> = {
  whole: phrase('whole'),
  mended: phrase('repaired'),
  harmed: phrase('harmed'),
}

/** What a look over the whole file found. */
const Found = ({ checked: { outcome, found } }: { checked: CheckNote }) => (
  <>
    <OutcomeMark well={outcome !== 'harmed'} word={checkWords[outcome]} />
    {outcome === 'whole' ? phrase('every page, index and row is as it was saved') : found.map(sayKept).join('; ')}
    {outcome === 'mended' && phrase(': rebuilt from the record, which is whole')}
  </>
)

function TheFile({ page: { checked, checkOverdueDays } }: { page: SafekeepingPage }) {
  const { times } = useMeasures()
  const check = useMutation(api.safekeeping.checkNow.mutationOptions())
  const shown = check.data ?? checked
  return (
    <Section className="section" title={phrase('The file')}>
      <p>
        {phrase(
          'Looked over whole with each day’s copy: every page, every index against its rows, every row against its seal, and the schema. When you ask for it here, every reference and attachment too.',
        )}
      </p>
      {shown ? (
        <Facts
          as="lines"
          facts={[
            [phrase('Last looked over'), `${times.moment(shown.at)}, ${occasions[shown.by]}`],
            [phrase('Outcome'), <Found key="found" checked={shown} />],
          ]}
        />
      ) : (
        <p>{phrase('Not looked over whole yet: that comes with its first copy.')}</p>
      )}
      <Overdue days={check.data ? null : checkOverdueDays} what={phrase('The file has not been looked over')} />
      <Button loading={check.isPending} onClick={() => check.mutate(undefined)}>
        {phrase('Look it over now')}
      </Button>
      {check.isError && (
        <ProblemNotice title={phrase('The file could not be looked over as whole')} error={check.error} />
      )}
    </Section>
  )
}

function Copies({ page: { copies, copiesFolder, lastCopy, copyFailure } }: { page: SafekeepingPage }) {
  const { times } = useMeasures()
  return (
    <Section className="section" title={phrase('Its copies')}>
      <Facts
        as="lines"
        facts={[
          [phrase('Newest copy'), lastCopy === null ? phrase('none yet') : times.moment(lastCopy.madeAt)],
          [
            phrase('Kept'),
            <Phrase
              key="kept"
              text="{copies, plural, one {# copy} other {# copies}} in <span>{copiesFolder}</span>. <link>See them and restore one</link>"
              with={{
                copies,
                span: (words) => <span className="safekeeping-place">{words}</span>,
                copiesFolder,
                link: (words) => <a href={hrefOf('copies')}>{words}</a>,
              }}
            />,
          ],
          copyFailure !== null && [
            phrase('Last attempt'),
            <>
              <OutcomeMark well={false} word={phrase('failed')} />
              {copyFailure}
            </>,
          ],
        ]}
      />
    </Section>
  )
}

const rehearsalWords: Readonly<Record<RehearsalNote['outcome'], string>> = {
  restored: phrase('restored'),
  failed: phrase('failed'),
  hindered: phrase('not tried'),
}

const Outcome = ({ note: { outcome, words, rows } }: { note: RehearsalNote }) => (
  <>
    <OutcomeMark well={outcome === 'restored'} word={rehearsalWords[outcome]} />
    {outcome === 'restored' &&
      phrase('all {rows} rows came back as they are in the copy{words}', { rows: count(rows), words: words && '. ' })}
    {sayKept(words)}
  </>
)

function Rehearsal({ page: { rehearsed, rehearsalOverdueDays, lastCopy, lookOnly } }: { page: SafekeepingPage }) {
  const { times } = useMeasures()
  const rehearse = useMutation(api.safekeeping.rehearseNow.mutationOptions())
  const shown = rehearse.data ?? rehearsed
  return (
    <Section className="section" title={phrase('A restore, rehearsed')}>
      <p>
        {phrase(
          'Once a week the newest copy is restored into a folder of its own, opened as a window opens it, looked over and compared row by row, then taken away again. The fleet file is not touched.',
        )}
      </p>
      {shown ? (
        <Facts
          as="lines"
          facts={[
            [phrase('Last rehearsed'), times.moment(shown.at)],
            [phrase('With the copy of'), times.moment(shown.copyMadeAt)],
            [phrase('Outcome'), <Outcome key="outcome" note={shown} />],
          ]}
        />
      ) : (
        <p>{lastCopy === null ? phrase('There is no copy to rehearse with yet.') : phrase('Not rehearsed yet.')}</p>
      )}
      <Overdue days={rehearse.data ? null : rehearsalOverdueDays} what={phrase('No restore has been rehearsed')} />
      {!lookOnly && (
        <Button disabled={lastCopy === null} loading={rehearse.isPending} onClick={() => rehearse.mutate(undefined)}>
          {phrase('Rehearse a restore now')}
        </Button>
      )}
      {rehearse.isError && (
        <ProblemNotice title={phrase('The restore could not be rehearsed')} error={rehearse.error} />
      )}
    </Section>
  )
}

const titleOf = (page: SafekeepingPage | undefined): ReactNode =>
  page
    ? phrase('Safekeeping of {demo}', { demo: page.demo ? phrase('the demo fleet') : page.file.split(/[\\/]/).at(-1) })
    : phrase('Safekeeping')

/** What is done in the background comes without a save that would tell of it. */
const againMs = 15_000

/** Whether the fleet file is whole, where its copies lie, and whether one of them would bring it back. */
export function SafekeepingScreen() {
  const page = useQuery(api.safekeeping.page.queryOptions({ refetchOnMount: 'always', refetchInterval: againMs }))
  return (
    <div className="page stack safekeeping">
      <ScreenTitle tab={phrase('Safekeeping')}>{titleOf(page.data)}</ScreenTitle>
      <Answer
        to={page}
        waiting={phrase('Looking after the file…')}
        failed={phrase('It could not be told how the file is kept')}
      >
        {(known) => (
          <>
            <TheFile page={known} />
            <Copies page={known} />
            <Rehearsal page={known} />
            {!known.lookOnly && <SecondPlace page={known} />}
          </>
        )}
      </Answer>
    </div>
  )
}
