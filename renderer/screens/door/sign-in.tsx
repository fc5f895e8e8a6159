import { Button, TextInput } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useEffect, useState, useSyncExternalStore } from 'react'
import { client } from '#renderer/client/api.ts'
import { lookAtOutbox, outbox } from '#renderer/client/outbox.ts'
import { knowsPasskeys, signInByPasskey } from '#renderer/client/passkeys.ts'
import { standAs } from '#renderer/client/standing.ts'
import { Phrase } from '#renderer/parts/phrase.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { phrase } from '#core/words/phrase.ts'
import { DoorCard, PasswordField } from './door-card.tsx'

/** What was saved on this device and waits for the person who typed it. */
function Waiting() {
  const waiting = useSyncExternalStore(outbox.subscribe, outbox.now)
  useEffect(() => void lookAtOutbox(), [])
  const people = [...Map.groupBy(waiting, ({ person }) => person)]
  return people.map(([person, own]) => (
    <p key={person}>
      <Phrase
        text="<strong>{number, plural, one {# weighing} other {# weighings}} not yet sent.</strong> {person} typed {number, plural, one {it on this device; it is} other {them on this device; they are}} sent once {person} has signed in."
        with={{ number: own.length, person, strong: (words) => <strong>{words}</strong> }}
      />
    </p>
  ))
}

/** Where somebody says who is at this desk. */
export function SignIn() {
  const [name, setName] = useState('')
  const [password, setPassword] = useState('')
  const enter = useMutation({
    mutationFn: () => client.people.signIn({ name, password }),
    onSuccess: standAs,
    onError: () => setPassword(''),
  })
  const byPasskey = useMutation({ mutationFn: signInByPasskey, onSuccess: standAs })
  return (
    <DoorCard title={phrase('Sign in')}>
      <form
        className="door-form"
        onSubmit={(event) => {
          event.preventDefault()
          if (!enter.isPending) enter.mutate()
        }}
      >
        <TextInput
          size="md"
          label={phrase('Your name')}
          value={name}
          required
          withAsterisk={false}
          autoFocus
          autoComplete="username"
          autoCapitalize="words"
          maxLength={80}
          onChange={(event) => setName(event.currentTarget.value)}
        />
        <PasswordField label={phrase('Password')} value={password} onType={setPassword} />
        {enter.error && <ProblemNotice title={phrase('You are not signed in')} error={enter.error} />}
        {byPasskey.error && <ProblemNotice title={phrase('You are not signed in')} error={byPasskey.error} />}
        <Button type="submit" size="md" variant="filled" loading={enter.isPending}>
          {phrase('Sign in')}
        </Button>
        {knowsPasskeys() && (
          <Button size="md" loading={byPasskey.isPending} onClick={() => byPasskey.mutate()}>
            {phrase('Sign in with a passkey')}
          </Button>
        )}
      </form>
      <Waiting />
      <p className="quiet">
        {phrase(
          'A manager of your fleet gives you a name and a one-time link to choose a password. A session ends after twelve hours.',
        )}
      </p>
    </DoorCard>
  )
}
