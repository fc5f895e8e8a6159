import { Button, TextInput } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import type { InvitationLink } from '#core/contracts/people.ts'
import { client } from '#renderer/client/api.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { Section } from '#renderer/parts/section.tsx'
import { phrase } from '#core/words/phrase.ts'
import { RightsFields, type TypedRights, unitsIn } from './rights-fields.tsx'

const start: TypedRights = { role: 'counter', units: '' }

/** Adds a person, who chooses a password by the link that comes of it. */
export function Invite({ onLink }: { onLink: (link: InvitationLink) => void }) {
  const [name, setName] = useState('')
  const [rights, setRights] = useState(start)
  const invite = useMutation({
    mutationFn: () => client.people.invite({ name, role: rights.role, units: unitsIn(rights.units) }),
    onSuccess: (link) => {
      setName('')
      setRights(start)
      onLink(link)
    },
  })
  return (
    <Section className="section" title={phrase('Invite somebody')}>
      <form
        className="people-rights"
        onSubmit={(event) => {
          event.preventDefault()
          if (name.trim() !== '' && !invite.isPending) invite.mutate()
        }}
      >
        <TextInput
          label={phrase('Name')}
          value={name}
          required
          withAsterisk={false}
          maxLength={80}
          autoComplete="off"
          onChange={(event) => setName(event.currentTarget.value)}
        />
        <RightsFields value={rights} onType={setRights} />
        <Button type="submit" variant="filled" loading={invite.isPending}>
          {phrase('Make a link')}
        </Button>
      </form>
      {invite.error && <ProblemNotice title={phrase('Nobody was invited')} error={invite.error} />}
    </Section>
  )
}
