import { Button } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import type { InvitationLink, ListedPerson } from '#core/contracts/people.ts'
import { client } from '#renderer/client/api.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { count, useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { SheetTable } from '#renderer/parts/sheet-table.tsx'
import { phrase } from '#core/words/phrase.ts'
import { RightsFields, typedRights, unitsIn } from './rights-fields.tsx'

const stateWords = {
  active: phrase('may sign in'),
  invited: phrase('has a link'),
  ended: phrase('may no longer sign in'),
} as const

const stateOf = ({ state, linkUntil }: ListedPerson): string =>
  state === 'invited' && linkUntil === null ? phrase('link ran out') : stateWords[state]

function Sessions({ person }: { person: ListedPerson }) {
  const { times } = useMeasures()
  const end = useMutation({ mutationFn: (session: number) => client.people.endSessions({ session }) })
  return (
    <>
      <h3>{phrase('Sessions')}</h3>
      {end.error && <ProblemNotice title={phrase('The session goes on')} error={end.error} />}
      {person.sessions.length === 0 ? (
        <p className="quiet">{phrase('{name} is signed in nowhere.', { name: person.name })}</p>
      ) : (
        <SheetTable
          frame=""
          caption={phrase('Sessions of {name}', { name: person.name })}
          rows={person.sessions}
          keyOf={({ id }) => id}
          columns={[
            [phrase('Since'), ({ begunAt }) => times.moment(begunAt), 'nowrap'],
            [phrase('Last seen'), ({ seenAt }) => times.moment(seenAt), 'nowrap'],
            [phrase('From'), ({ address, browser }) => <span title={browser}>{address}</span>],
            [
              phrase('Steps'),
              ({ id, own }) =>
                own ? (
                  phrase('this one')
                ) : (
                  <LinkButton
                    about={phrase('from {name}', { name: person.name })}
                    disabled={end.isPending}
                    onClick={() => end.mutate(id)}
                  >
                    {phrase('End')}
                  </LinkButton>
                ),
              'steps',
            ],
          ]}
        />
      )}
    </>
  )
}

interface PersonSheetProps {
  readonly person: ListedPerson
  readonly onLink: (link: InvitationLink) => void
  readonly onClose: () => void
}

/** What may be changed about one person. */
function PersonSheet({ person, onLink, onClose }: PersonSheetProps) {
  const { id, name, state } = person
  const [rights, setRights] = useState(() => typedRights(person))
  const change = useMutation({
    mutationFn: () => client.people.change({ id, role: rights.role, units: unitsIn(rights.units) }),
  })
  const newLink = useMutation({
    mutationFn: () => client.people.newLink({ id }),
    onSuccess: (link) => {
      onLink(link)
      onClose()
    },
  })
  const end = useMutation({ mutationFn: () => client.people.end({ id }), onSuccess: onClose })
  const error = change.error ?? newLink.error ?? end.error
  return (
    <div className="stack">
      {state !== 'ended' && (
        <form
          className="people-rights"
          onSubmit={(event) => {
            event.preventDefault()
            if (!change.isPending) change.mutate()
          }}
        >
          <RightsFields value={rights} onType={setRights} />
          <Button type="submit" variant="filled" loading={change.isPending}>
            {phrase('Save')}
          </Button>
        </form>
      )}
      {change.isSuccess && (
        <Notice kind="done" as="h3" title={phrase('Saved; other sessions of this person have ended.')} />
      )}
      {error && <ProblemNotice title={phrase('Nothing was changed')} error={error} />}
      {state !== 'ended' && <Sessions person={person} />}
      <div className="flow">
        <Button loading={newLink.isPending} onClick={() => newLink.mutate()}>
          {state === 'ended' ? phrase('Let in again by a link') : phrase('New link for the password')}
        </Button>
        {state !== 'ended' && (
          <Button loading={end.isPending} onClick={() => end.mutate()}>
            {phrase('Let {name} in no longer', { name })}
          </Button>
        )}
      </div>
    </div>
  )
}

interface PeopleTableProps {
  readonly people: readonly ListedPerson[]
  readonly onLink: (link: InvitationLink) => void
}

/** Everybody who may, or once might, come in. */
export function PeopleTable({ people, onLink }: PeopleTableProps) {
  const { times } = useMeasures()
  const [openId, setOpenId] = useState<number | null>(null)
  const person = people.find(({ id }) => id === openId)
  if (people.length === 0) return <p>{phrase('Nobody may sign in yet. Invite a manager first.')}</p>
  return (
    <>
      <SheetTable
        frame=""
        caption={phrase('People')}
        rows={people}
        keyOf={({ id }) => id}
        columns={[
          [
            phrase('Name'),
            ({ id, name }) => (
              <LinkButton asks onClick={() => setOpenId(id)}>
                {name}
              </LinkButton>
            ),
          ],
          [phrase('Role'), ({ role }) => role],
          [phrase('Units'), ({ role, units }) => (role === 'driver' ? units.join(', ') : '')],
          [phrase('State'), stateOf],
          [phrase('Signed in'), ({ sessions }) => (sessions.length === 0 ? '' : count(sessions.length)), 'figure'],
          [phrase('Last seen'), ({ sessions: [last] }) => (last ? times.moment(last.seenAt) : ''), 'nowrap'],
          [phrase('Added'), ({ madeAt, madeBy }) => `${times.day(madeAt)}, ${madeBy}`, 'nowrap'],
        ]}
      />
      <Dialog opened={person !== undefined} onClose={() => setOpenId(null)} title={person?.name ?? ''} size="lg">
        {person && <PersonSheet key={person.id} person={person} onLink={onLink} onClose={() => setOpenId(null)} />}
      </Dialog>
    </>
  )
}
