import { Button } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { useEffect, useRef, useState } from 'react'
import type { CopiesList, CopyFacts, CopyRow } from '#core/contracts/copies.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { count, useMeasures } from '#renderer/parts/format.ts'
import '#renderer/parts/notice.css'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import '#renderer/parts/sheet-table.css'
import { ScreenTitle } from '#renderer/parts/ticket-link.tsx'
import './copies-screen.css'
import { type CopyCheck, columnsFor, fileName, reasonWords, useCopyChecks } from './copy-checks.ts'
import { type Done, RestoreDialog, RestoreFromFile } from './restore.tsx'
import { OtherWays, TroubleNotice } from './trouble-notice.tsx'

/** Whether a copy is whole, as shape and word; asked for where nobody has looked yet. */
export function CheckMark({ check, onAsk, about }: { check: CopyCheck; onAsk: () => void; about: string }) {
  if (check === undefined)
    return (
      <button type="button" className="link" onClick={onAsk}>
        Check<span className="unheard"> {about}</span>
      </button>
    )
  if (check === 'checking') return <span className="quiet">checking…</span>
  return (
    <span className="check-mark" data-sound={check.sound}>
      <svg viewBox="0 0 16 16" width="13" height="13" aria-hidden="true">
        <path
          d={check.sound ? 'M2.5 8.5 6.5 12.5 13.5 3.5' : 'M3 3 13 13M13 3 3 13'}
          fill="none"
          stroke="currentColor"
          strokeWidth="2.2"
        />
      </svg>
      {check.sound ? 'whole' : 'damaged'}
    </span>
  )
}

function FactCells({ facts, columns }: { facts: CopyFacts; columns: ReturnType<typeof columnsFor> }) {
  const { times } = useMeasures()
  return columns.map(({ label, isFigure, text }) => (
    <td key={label} className={isFigure ? 'figure' : 'nowrap'}>
      {text(facts, times)}
    </td>
  ))
}

interface CopyTableProps {
  readonly list: CopiesList
  readonly checkOf: (name: string) => CopyCheck
  readonly onCheck: (name: string) => void
  readonly onRestore: (copy: CopyRow) => void
}

/** Every copy with what is in it, below the open file for comparison. */
export function CopyTable({ list: { copies, now }, checkOf, onCheck, onRestore }: CopyTableProps) {
  const { times } = useMeasures()
  const columns = columnsFor([...copies, ...(now ? [now] : [])])
  return (
    <div className="copies-frame">
      <table className="sheet-table copy-table">
        <caption className="unheard">Copies, newest first</caption>
        <thead>
          <tr>
            <th scope="col">Made</th>
            <th scope="col">Why</th>
            <th scope="col">State</th>
            {columns.map(({ label, isFigure }) => (
              <th key={label} scope="col" className={isFigure ? 'figure' : undefined}>
                {label}
              </th>
            ))}
            <td />
          </tr>
        </thead>
        <tbody>
          {now && (
            <tr className="copy-now">
              <th scope="row" className="nowrap">
                Now
              </th>
              <td className="nowrap">The open file</td>
              <td />
              <FactCells facts={now} columns={columns} />
              <td />
            </tr>
          )}
          {copies.map((copy) => {
            const made = times.moment(copy.madeAt)
            const check = checkOf(copy.name)
            const isDamaged = typeof check === 'object' && !check.sound
            return (
              <tr key={copy.name}>
                <th scope="row" className="nowrap">
                  {made}
                </th>
                <td className="nowrap" title={copy.name}>
                  {reasonWords[copy.reason]}
                </td>
                <td className="nowrap">
                  <CheckMark check={check} about={`the copy of ${made}`} onAsk={() => onCheck(copy.name)} />
                </td>
                <FactCells facts={copy} columns={columns} />
                <td className="nowrap">
                  {!isDamaged && (
                    <button type="button" className="link" aria-haspopup="dialog" onClick={() => onRestore(copy)}>
                      Restore…<span className="unheard"> the copy of {made}</span>
                    </button>
                  )}
                </td>
              </tr>
            )
          })}
        </tbody>
      </table>
    </div>
  )
}

/** What is kept and where, and one more copy now. */
function Keeping({ folder, failure }: { folder: string; failure: string | null }) {
  const client = useQueryClient()
  const keep = useMutation(
    api.copies.keep.mutationOptions({ onSuccess: () => client.invalidateQueries({ queryKey: api.copies.key() }) }),
  )
  return (
    <div className="copies-keeping">
      <p>
        A copy is kept every day on which Tareline runs, and before imports, updates and restores: the last 14 days, and
        the last ten of each other kind. Each was read through when it was made. They lie in{' '}
        <span className="copies-folder">{folder}</span>: for a disk that breaks, keep one elsewhere too.
      </p>
      <Button variant="default" loading={keep.isPending} onClick={() => keep.mutate(undefined)}>
        Copy now
      </Button>
      {failure !== null && (
        <div className="notice" data-kind="problem" role="alert">
          <h2 className="notice-title">Today’s copy could not be kept</h2>
          <p>{failure}</p>
        </div>
      )}
      {keep.isError && <ProblemNotice title="The copy was not made" error={keep.error} />}
    </div>
  )
}

function DoneNotice({ file, done: { copy, keptAs, missingAttachments } }: { file: string; done: Done }) {
  const title = useRef<HTMLHeadingElement>(null)
  useEffect(() => title.current?.focus(), [])
  return (
    <div className="notice" data-kind="done" role="status">
      <h2 className="notice-title" tabIndex={-1} ref={title}>
        Restored
      </h2>
      <p>
        The copy {copy} is now the fleet file.
        {keptAs !== null && (
          <>
            {' '}
            What was there before is kept as <span className="copies-folder">{fileName(keptAs)}</span>.
          </>
        )}
      </p>
      {missingAttachments > 0 && (
        <p>
          {count(missingAttachments)} {missingAttachments === 1 ? 'attachment' : 'attachments'} that it names{' '}
          {missingAttachments === 1 ? 'is' : 'are'} nowhere to be found: put the folder “{fileName(file)} files” back if
          you have it elsewhere.
        </p>
      )}
      <div className="notice-actions">
        <Button component="a" href={hrefOf('roster')}>
          Open the Roster
        </Button>
      </div>
    </div>
  )
}

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
  return (
    <>
      {list.trouble && <TroubleNotice trouble={list.trouble} list={list} checkOf={check} onRestore={ask} />}
      {done && !list.trouble && <DoneNotice file={list.file} done={done} />}
      {!list.trouble && <Keeping folder={list.folder} failure={list.failure} />}
      {list.copies.length > 0 && <CopyTable list={list} checkOf={check} onCheck={askCheck} onRestore={ask} />}
      {list.copies.length === 0 && !list.trouble && (
        <p>No copy yet: the first is made a few seconds after a fleet with something in it is opened.</p>
      )}
      <RestoreFromFile onDone={finish} />
      {list.trouble && <OtherWays file={list.file} />}
      <RestoreDialog list={list} copy={asked} onDone={finish} onClose={cancel} />
    </>
  )
}

/** The copies of the fleet file: what is in each, whether it is whole, and how one takes the file's place. */
export function CopiesScreen() {
  const copies = useQuery(api.copies.list.queryOptions({ refetchOnMount: 'always' }))
  return (
    <div className="copies">
      <title>Copies · Tareline</title>
      <ScreenTitle>
        {copies.data ? `Copies of ${copies.data.demo ? 'the demo fleet' : fileName(copies.data.file)}` : 'Copies'}
      </ScreenTitle>
      {copies.isPending && <output className="quiet">Looking into the copies…</output>}
      {copies.isError && <ProblemNotice title="The copies could not be listed" error={copies.error} />}
      {copies.data && <Copies list={copies.data} />}
    </div>
  )
}
