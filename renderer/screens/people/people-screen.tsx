import { useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { InvitationLink } from '#core/contracts/people.ts'
import { api } from '#renderer/client/api.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { Notice } from '#renderer/parts/problem-notice.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { DoorLog } from './door-log.tsx'
import { Invite } from './invite.tsx'
import { PeopleTable } from './people-table.tsx'
import './people-screen.css'

/** A one-time link, to be handed to whom it is for; it is shown this once. */
function LinkNotice({ link: { name, token, address, until } }: { link: InvitationLink }) {
  const { times } = useMeasures()
  const text = `${address ?? (location.protocol === 'https:' ? location.origin : 'https://ADDRESS:PORT')}/#/welcome/${token}`
  return (
    <Notice kind="done" title={phrase('A link for {name}', { name })} arrives>
      <p>
        {phrase(
          'Hand it to {name} and to nobody else: whoever opens it chooses the password. It is good once, until {until}, and is not shown again.',
          { name, until: times.moment(until) },
        )}
      </p>
      <p className="people-link">
        <code>{text}</code>
      </p>
    </Notice>
  )
}

/** People come and go without the record moving, so that the list is asked for again from time to time. */
const listMs = 5000

/** Who may come in from other desks, what each may do, and what has happened at the door. */
export function PeopleScreen() {
  const list = useQuery(api.people.list.queryOptions({ staleTime: 0, refetchInterval: listMs }))
  const [link, setLink] = useState<InvitationLink | null>(null)
  return (
    <div className="page people">
      <ScreenTitle>{phrase('People')}</ScreenTitle>
      <p>
        {phrase(
          'Who may sign in from another desk. A name is given once and for good, since the change log names people by it.',
        )}
      </p>
      {link && <LinkNotice key={link.token} link={link} />}
      <Answer to={list} waiting={phrase('Asking who may come in…')} failed={phrase('The people could not be listed')}>
        {({ people }) => (
          <>
            <PeopleTable people={people} onLink={setLink} />
            <Invite onLink={setLink} />
          </>
        )}
      </Answer>
      <Section className="section" title={phrase('At the door')}>
        <DoorLog />
      </Section>
    </div>
  )
}
