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
import { RightsFields, typedRights, unitsIn } from './rights-fields.tsx'

const stateWords = { active: 'may sign in', invited: 'has a link', ended: 'may no longer sign in' } as const

const stateOf = ({ state, linkUntil }: ListedPerson): string =>
  state === 'invited' && linkUntil === null ? 'link ran out' : stateWords[state]

function Sessions({ person }: { person: ListedPerson }) {
  const { times } = useMeasures()
  const end = useMutation({ mutationFn: (session: number) => client.people.endSessions({ session }) })
  return (
    <>
      <h3>Sessions</h3>
      {end.error && <ProblemNotice title="The session goes on" error={end.error} />}
      {person.sessions.length === 0 ? (
        <p className="quiet">{person.name} is signed in nowhere.</p>
      ) : (
        <SheetTable
          frame=""
          caption={`Sessions of ${person.name}`}
          rows={person.sessions}
          keyOf={({ id }) => id}
          columns={[
            ['Since', ({ begunAt }) => times.moment(begunAt), 'nowrap'],
            ['Last seen', ({ seenAt }) => times.moment(seenAt), 'nowrap'],
            ['From', ({ address, browser }) => <span title={browser}>{address}</span>],
            [
              'Steps',
              ({ id, own }) =>
                own ? (
                  'this one'
                ) : (
                  <LinkButton about={`from ${person.name}`} disabled={end.isPending} onClick={() => end.mutate(id)}>
                    End
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
            Save
          </Button>
        </form>
      )}
      {change.isSuccess && <Notice kind="done" as="h3" title="Saved; other sessions of this person have ended." />}
      {error && <ProblemNotice title="Nothing was changed" error={error} />}
      {state !== 'ended' && <Sessions person={person} />}
      <div className="flow">
        <Button loading={newLink.isPending} onClick={() => newLink.mutate()}>
          {state === 'ended' ? 'Let in again by a link' : 'New link for the password'}
        </Button>
        {state !== 'ended' && (
          <Button loading={end.isPending} onClick={() => end.mutate()}>
            Let {name} in no longer
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
  if (people.length === 0) return <p>Nobody may sign in yet. Invite a manager first.</p>
  return (
    <>
      <SheetTable
        frame=""
        caption="People"
        rows={people}
        keyOf={({ id }) => id}
        columns={[
          [
            'Name',
            ({ id, name }) => (
              <LinkButton asks onClick={() => setOpenId(id)}>
                {name}
              </LinkButton>
            ),
          ],
          ['Role', ({ role }) => role],
          ['Units', ({ role, units }) => (role === 'driver' ? units.join(', ') : '')],
          ['State', stateOf],
          ['Signed in', ({ sessions }) => (sessions.length === 0 ? '' : count(sessions.length)), 'figure'],
          ['Last seen', ({ sessions: [last] }) => (last ? times.moment(last.seenAt) : ''), 'nowrap'],
          ['Added', ({ madeAt, madeBy }) => `${times.day(madeAt)}, ${madeBy}`, 'nowrap'],
        ]}
      />
      <Dialog opened={person !== undefined} onClose={() => setOpenId(null)} title={person?.name ?? ''} size="lg">
        {person && <PersonSheet key={person.id} person={person} onLink={onLink} onClose={() => setOpenId(null)} />}
      </Dialog>
    </>
  )
}
