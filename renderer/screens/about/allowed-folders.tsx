import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { AllowedFolder } from '#core/contracts/places.ts'
import { api } from '#renderer/client/api.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { PathForm } from '#renderer/parts/source-chooser.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'

const words: Record<AllowedFolder['why'], string> = {
  always: phrase('Always: Tareline’s own, or an open fleet file’s'),
  picked: phrase('Picked'),
  typed: phrase('Typed and confirmed'),
}

function Folders({ folders }: { folders: readonly AllowedFolder[] }) {
  const { times } = useMeasures()
  const takeBack = useMutation(api.places.takeBack.mutationOptions())
  return (
    <>
      <SheetTable
        frame="about-folders"
        label={phrase('Folders that windows may use')}
        rows={folders}
        keyOf={({ why, folder }) => `${why} ${folder}`}
        columns={[
          [phrase('Folder'), ({ folder }) => <span className="about-folder">{folder}</span>],
          [phrase('How'), ({ why }) => words[why], 'nowrap'],
          [phrase('Since'), ({ allowedAt }) => allowedAt !== null && times.moment(allowedAt), 'nowrap'],
          [
            null,
            ({ folder, why }) =>
              why !== 'always' && (
                <LinkButton about={folder} onClick={() => takeBack.mutate({ folder })}>
                  {phrase('Take back')}
                </LinkButton>
              ),
            'nowrap',
          ],
        ]}
      />
      {takeBack.isError && <ProblemNotice title={phrase('The folder is still allowed')} error={takeBack.error} />}
    </>
  )
}

/** Types a folder, and confirms it once more by its name. */
function TypeFolder() {
  const [typed, setTyped] = useState<string | null>(null)
  const [allowed, setAllowed] = useState(0)
  const allow = useMutation(
    api.places.allow.mutationOptions({
      onSuccess: () => {
        setTyped(null)
        setAllowed(allowed + 1)
      },
    }),
  )
  return (
    <>
      <PathForm
        key={allowed}
        label={phrase('Allow another folder')}
        placeholder={phrase('Full path of a folder on this computer')}
        action={phrase('Allow…')}
        onPath={(folder) => {
          allow.reset()
          setTyped(folder)
        }}
      />
      {typed !== null && (
        <form
          className="flow"
          aria-label={phrase('Confirm the folder')}
          onSubmit={(event) => {
            event.preventDefault()
            allow.mutate({ folder: typed })
          }}
        >
          <span>
            <Phrase
              text="Windows may then read what is in <strong>{typed}</strong> and write there."
              with={{ strong: (words) => <strong className="about-folder">{words}</strong>, typed }}
            />
          </span>
          <Button type="submit" variant="filled" autoFocus loading={allow.isPending}>
            {phrase('Allow this folder')}
          </Button>
          <Button onClick={() => setTyped(null)}>{phrase('Cancel')}</Button>
        </form>
      )}
      {allow.isError && <ProblemNotice title={phrase('The folder was not allowed')} error={allow.error} />}
    </>
  )
}

function PickFolder() {
  const pick = useMutation(api.places.pick.mutationOptions())
  return (
    <>
      <Button loading={pick.isPending} onClick={() => pick.mutate({ startAt: null })}>
        {phrase('Allow another folder…')}
      </Button>
      {pick.isError && <ProblemNotice title={phrase('The folder was not allowed')} error={pick.error} />}
    </>
  )
}

/** Which folders of this computer a window may name by a typed path; the others are taken back here. */
export function AllowedFolders() {
  const places = useQuery(api.places.list.queryOptions({ refetchOnMount: 'always' }))
  return (
    <Section className="section about-section" title={phrase('Folders')}>
      <p>
        {phrase(
          'A path that is typed in a window is read or written only within these folders. Files that you choose or drop, and what you save as a download, need none.',
        )}
      </p>
      <Answer
        to={places}
        waiting={phrase('Looking up the folders…')}
        failed={phrase('The folders could not be listed')}
      >
        {({ folders, byPicking }) => (
          <>
            <Folders folders={folders} />
            {byPicking ? <PickFolder /> : <TypeFolder />}
          </>
        )}
      </Answer>
    </Section>
  )
}
