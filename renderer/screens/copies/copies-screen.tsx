import { Button } from '@mantine/core'
import { useMutation, useQuery, useQueryClient } from '@tanstack/react-query'
import { useEffect, useRef, useState } from 'react'
import type { CopiesList, CopyRow } from '#core/api/copies-contract.ts'
import { api } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { ScreenTitle } from '#renderer/parts/arrival.tsx'
import { count } from '#renderer/parts/format.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { useCopyChecks } from './copy-checks.ts'
import { CopyTable } from './copy-table.tsx'
import { fileName } from './copy-words.ts'
import { type Done, RestoreDialog } from './restore-dialog.tsx'
import { RestoreFromFile } from './restore-from-file.tsx'
import { OtherWays, TroubleNotice } from './trouble-notice.tsx'
import '#renderer/parts/notice.css'
import '#renderer/parts/sheet-table.css'
import './copies-screen.css'

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
