import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import { passwordProblem } from '#core/people/password-rule.ts'
import { aRole, roleWords } from '#core/words/roles.ts'
import { api, client } from '#renderer/client/api.ts'
import { standAs } from '#renderer/client/standing.ts'
import { go, hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { DoorCard, PasswordField } from './door-card.tsx'

function ChoosePassword({ token, name }: { token: string; name: string }) {
  const [password, setPassword] = useState('')
  const [again, setAgain] = useState('')
  const [problem, setProblem] = useState<string | null>(null)
  const accept = useMutation({
    mutationFn: () => client.people.accept({ token, password }),
    onSuccess: (person) => {
      // The link is used up; it shall not stand in the address either.
      go(hrefOf(''), { replace: true })
      standAs(person)
    },
  })
  return (
    <form
      className="door-form"
      onSubmit={(event) => {
        event.preventDefault()
        const wrong =
          passwordProblem(password, name) ??
          (password === again ? undefined : phrase('The two passwords are not the same.'))
        setProblem(wrong ?? null)
        if (wrong === undefined && !accept.isPending) accept.mutate()
      }}
    >
      <input className="unheard" type="text" autoComplete="username" value={name} readOnly tabIndex={-1} aria-hidden />
      <PasswordField label={phrase('Password')} value={password} onType={setPassword} isNew problem={problem} />
      <PasswordField label={phrase('The same once more')} value={again} onType={setAgain} isNew />
      {accept.error && <ProblemNotice title={phrase('The password was not kept')} error={accept.error} />}
      <Button type="submit" size="md" variant="filled" loading={accept.isPending}>
        {phrase('Keep it and sign in')}
      </Button>
    </form>
  )
}

/** Where a one-time link leads: somebody who may come in chooses a password. */
export function Welcome({ token }: { token: string }) {
  const invitation = useQuery(api.people.invitation.queryOptions({ input: { token } }))
  return (
    <DoorCard title={phrase('Choose your password')}>
      <Answer
        to={invitation}
        waiting={phrase('Looking at the link…')}
        failed={phrase('This link lets nobody in')}
        way={<a href={hrefOf('')}>{phrase('To the sign-in page')}</a>}
      >
        {({ name, role }) => (
          <>
            <p>
              <Phrase
                text="You are <strong>{name}</strong>, and come in as {role}, who {roleWords}. At least ten letters; three or four words in a row will do."
                with={{
                  strong: (words) => <strong>{words}</strong>,
                  name,
                  role: aRole(role),
                  roleWords: roleWords[role],
                }}
              />
            </p>
            <ChoosePassword token={token} name={name} />
          </>
        )}
      </Answer>
    </DoorCard>
  )
}
