import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useRef, useState } from 'react'
import type { CopiesList, CopyRow } from '#core/contracts/copies.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { OutcomeMark } from '#renderer/parts/marks.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { RightsNote } from '#renderer/parts/rights-note.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import './copies-screen.css'
import { type CopyCheck, columnsFor, fileName, reasonWords, useCopyChecks } from './copy-checks.ts'
import { MendedNotice } from './mended-notice.tsx'
import { type Done, RestoreDialog, RestoreFromFile } from './restore.tsx'
import { OtherWays, TroubleNotice, isToLook } from './trouble-notice.tsx'

/** Whether a copy is whole, as shape and word; asked for where nobody has looked yet. */
function CheckMark({ check, onAsk, about }: { check: CopyCheck; onAsk: () => void; about: string }) {
  if (check === undefined)
    return (
      <LinkButton about={about} onClick={onAsk}>
        {phrase('Check')}
      </LinkButton>
    )
  if (check === 'checking') return <span className="quiet">{phrase('checking…')}</span>
  return <OutcomeMark well={check.sound} word={check.sound ? phrase('whole') : phrase('damaged')} />
}

interface CopyTableProps {
  readonly list: CopiesList
  readonly checkOf: (name: string) => CopyCheck
  readonly onCheck: (name: string) => void
  /** Undefined: none can be restored just now. */
  readonly onRestore: ((copy: CopyRow) => void) | undefined
}

/** Every copy with what is in it, below the open file for comparison. */
function CopyTable({ list: { copies, now }, checkOf, onCheck, onRestore }: CopyTableProps) {
  const { times } = useMeasures()
  const facts = columnsFor([...copies, ...(now ? [now] : [])])
  const look = (isFigure: boolean) => (isFigure ? 'figure' : 'nowrap')
  return (
    <SheetTable
      className="copy-table"
      caption={phrase('Copies, newest first')}
      rows={copies}
      keyOf={({ name }) => name}
      before={
        now && (
          <tr className="copy-now">
            <th scope="row" className="nowrap">
              {phrase('Now')}
            </th>
            <td className="nowrap">{phrase('The open file')}</td>
            <td />
            {facts.map(({ label, isFigure, text }) => (
              <td key={label} className={look(isFigure)}>
                {text(now, times)}
              </td>
            ))}
            <td />
          </tr>
        )
      }
      columns={[
        [phrase('Made'), ({ madeAt }) => times.moment(madeAt), 'nowrap'],
        [phrase('Why'), ({ name, reason }) => <span title={name}>{reasonWords[reason]}</span>, 'nowrap'],
        [
          phrase('State'),
          ({ name, madeAt }) => (
            <CheckMark
              check={checkOf(name)}
              about={phrase('the copy of {madeAt}', { madeAt: times.moment(madeAt) })}
              onAsk={() => onCheck(name)}
            />
          ),
          'nowrap',
        ],
        ...facts.map(
          ({ label, isFigure, text }) => [label, (copy: CopyRow) => text(copy, times), look(isFigure)] as const,
        ),
        [
          null,
          (copy) => {
            const check = checkOf(copy.name)
            return (
              onRestore &&
              (typeof check !== 'object' || check.sound) && (
                <LinkButton
                  asks
                  about={phrase('the copy of {madeAt}', { madeAt: times.moment(copy.madeAt) })}
                  onClick={() => onRestore(copy)}
                >
                  {phrase('Restore…')}
                </LinkButton>
              )
            )
          },
          'nowrap',
        ],
      ]}
    />
  )
}

/** What is kept and where, and one more copy now. */
function Keeping({ folder, failure }: { folder: string; failure: string | null }) {
  const keep = useMutation(api.copies.keep.mutationOptions())
  return (
    <div className="copies-keeping">
      <p>
        <Phrase
          text="A copy is kept every day on which Tareline runs, and before imports, updates and restores: the last 14 days, and the last ten of each other kind. Each was read through when it was made. They lie in <span>{folder}</span>. For a disk that breaks, have the newest go to <link>a second place</link> too."
          with={{
            span: (words) => <span className="copies-folder">{words}</span>,
            folder,
            link: (words) => <a href={hrefOf('safekeeping')}>{words}</a>,
          }}
        />
      </p>
      <Button loading={keep.isPending} onClick={() => keep.mutate(undefined)}>
        {phrase('Copy now')}
      </Button>
      {failure !== null && (
        <Notice kind="problem" title={phrase('Today’s copy could not be kept')}>
          <p>{failure}</p>
        </Notice>
      )}
      {keep.isError && <ProblemNotice title={phrase('The copy was not made')} error={keep.error} />}
    </div>
  )
}

const DoneNotice = ({ file, done: { copy, keptAs, missingAttachments } }: { file: string; done: Done }) => (
  <Notice
    kind="done"
    title={phrase('Restored')}
    arrives
    ways={
      <Button variant="filled" component="a" href={hrefOf('roster')}>
        {phrase('Open the Roster')}
      </Button>
    }
  >
    <p>
      {phrase('The copy {copy} is now the fleet file.', { copy })}
      {keptAs !== null && (
        <>
          {' '}
          <Phrase
            text="What was there before is kept as <span>{keptAs}</span>."
            with={{ span: (words) => <span className="copies-folder">{words}</span>, keptAs: fileName(keptAs) }}
          />
        </>
      )}
    </p>
    {missingAttachments > 0 && (
      <p>
        {phrase(
          '{missingAttachments, plural, one {# attachment} other {# attachments}} that it names {missingAttachments, plural, one {is} other {are}} nowhere to be found: put the folder “{file} files” back if you have it elsewhere.',
          { missingAttachments, file: fileName(file) },
        )}
      </p>
    )}
  </Notice>
)

function Copies({ list }: { list: CopiesList }) {
  const [asked, setAsked] = useState<CopyRow | null>(null)
  const [done, setDone] = useState<Done | null>(null)
  const { check, ask: askCheck } = useCopyChecks(list.copies.map(({ name }) => name))
  const asker = useRef<HTMLElement>(null)
  const ask = (copy: CopyRow) => {
    asker.current = document.activeElement as HTMLElement | null
    setAsked(copy)
  }
  const cancel = () => {
    setAsked(null)
    asker.current?.focus({ preventScroll: true })
  }
  const finish = (how: Done) => {
    setAsked(null)
    setDone(how)
  }
  const canRestore = !list.lookOnly && !(list.trouble && isToLook(list.trouble))
  return (
    <>
      {list.trouble && <TroubleNotice trouble={list.trouble} list={list} checkOf={check} onRestore={ask} />}
      {done && !list.trouble && <DoneNotice file={list.file} done={done} />}
      {!list.trouble && <MendedNotice />}
      {!list.trouble && !list.lookOnly && <Keeping folder={list.folder} failure={list.failure} />}
      {list.copies.length > 0 && (
        <CopyTable list={list} checkOf={check} onCheck={askCheck} onRestore={canRestore ? ask : undefined} />
      )}
      {list.copies.length === 0 && !list.trouble && !list.lookOnly && (
        <p>{phrase('No copy yet: the first is made a few seconds after a fleet with something in it is opened.')}</p>
      )}
      {canRestore && <RestoreFromFile secondFolder={list.secondFolder} onDone={finish} />}
      {list.trouble && <OtherWays file={list.file} trouble={list.trouble} />}
      <RestoreDialog list={list} copy={asked} onDone={finish} onClose={cancel} />
    </>
  )
}

/** The copies of the fleet file: what is in each, whether it is whole, and how one takes the file's place. */
export function CopiesScreen() {
  const copies = useQuery(api.copies.list.queryOptions({ refetchOnMount: 'always' }))
  return (
    <div className="page stack copies">
      <ScreenTitle tab={phrase('Copies')}>
        {copies.data
          ? phrase('Copies of {demo}', {
              demo: copies.data.demo ? phrase('the demo fleet') : fileName(copies.data.file),
            })
          : phrase('Copies')}
      </ScreenTitle>
      <RightsNote about={phrase('Copies are put back elsewhere')} to="copies.restore" />
      <Answer to={copies} waiting={phrase('Reading the copies…')} failed={phrase('The copies could not be listed')}>
        {(list) => <Copies list={list} />}
      </Answer>
    </div>
  )
}
