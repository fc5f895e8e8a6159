import { Button, PasswordInput } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import type { SignedIn } from '#core/contracts/people.ts'
import { passwordProblem } from '#core/people/password-rule.ts'
import { aRole, roleWords } from '#core/words/roles.ts'
import { client } from '#renderer/client/api.ts'
import { foundNobody } from '#renderer/client/house-away.ts'
import { leaveWithoutHouse } from '#renderer/client/kept-answers.ts'
import { standAs } from '#renderer/client/standing.ts'
import { OwnPasskeys } from '#renderer/app/own-passkeys.tsx'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { word } from '#core/words/listed-words.ts'
import { phrase } from '#core/words/phrase.ts'

function ChangePassword({ name }: { name: string }) {
  const [old, setOld] = useState('')
  const [chosen, setChosen] = useState('')
  const [problem, setProblem] = useState<string | null>(null)
  const change = useMutation({
    mutationFn: () => client.people.changePassword({ old, new: chosen }),
    onSuccess: () => {
      setOld('')
      setChosen('')
    },
  })
  return (
    <form
      className="stack signed-in-password"
      onSubmit={(event) => {
        event.preventDefault()
        const wrong = passwordProblem(chosen, name) ?? null
        setProblem(wrong)
        if (wrong === null && !change.isPending) change.mutate()
      }}
    >
      <PasswordInput
        size="xs"
        label={phrase('The password you have now')}
        value={old}
        autoComplete="current-password"
        maxLength={1000}
        onChange={(event) => setOld(event.currentTarget.value)}
      />
      <PasswordInput
        size="xs"
        label={phrase('The new one')}
        value={chosen}
        error={problem}
        autoComplete="new-password"
        maxLength={1000}
        onChange={(event) => setChosen(event.currentTarget.value)}
      />
      {change.error && <ProblemNotice title={phrase('The password is as it was')} error={change.error} />}
      {change.isSuccess && (
        <Notice kind="done" as="h3" title={phrase('Your password is changed; your other sessions have ended.')} />
      )}
      <div className="flow">
        <Button type="submit" loading={change.isPending}>
          {phrase('Change the password')}
        </Button>
      </div>
    </form>
  )
}

interface SignedInChipProps {
  readonly person: SignedIn
  readonly opened: boolean
  readonly onOpen: () => void
  readonly onClose: () => void
}

/** Who has signed in at this desk, as what, and the way out. */
export function SignedInChip({ person: { name, role, units }, opened, onOpen, onClose }: SignedInChipProps) {
  const [changing, setChanging] = useState(false)
  const out = useMutation({ mutationFn: () => client.people.signOut(), onSuccess: () => standAs(null) })
  const leave = async () => {
    await leaveWithoutHouse()
    standAs(null)
  }
  return (
    <>
      <button
        type="button"
        className="bar-tool bar-person"
        onClick={onOpen}
        aria-haspopup="dialog"
        title={phrase('{name} is signed in as {role}', { name, role: aRole(role) })}
      >
        <span className="unheard">{phrase('Signed in:')} </span>
        <span className="bar-person-name">
          {name} · {word(role)}
        </span>
      </button>
      <Dialog opened={opened} onClose={onClose} title={name} size="sm" yOffset="10vh">
        <p>
          {phrase('Signed in as {role}, who {roleWords}. The change log keeps this name with everything you save.', {
            role: aRole(role),
            roleWords: roleWords[role],
          })}
        </p>
        {role === 'driver' && (
          <p>
            {units.length === 0
              ? phrase('No unit is given to you yet.')
              : phrase('Your units: {units}.', { units: units.join(', ') })}
          </p>
        )}
        {out.error && !foundNobody(out.error) && (
          <ProblemNotice title={phrase('You are still signed in')} error={out.error} />
        )}
        {foundNobody(out.error) && (
          <Notice
            kind="problem"
            as="h3"
            title={phrase('The house does not answer')}
            ways={<Button onClick={() => void leave()}>{phrase('Leave this device')}</Button>}
          >
            <p>
              {phrase(
                'You are still signed in. You can leave this device all the same: what it knows of the fleet is gone at once, and your session ends when the house answers. Until then nobody can weigh on it.',
              )}
            </p>
          </Notice>
        )}
        {opened && <OwnPasskeys />}
        {changing && <ChangePassword name={name} />}
        <div className="flow">
          <Button variant="filled" data-autofocus loading={out.isPending} onClick={() => out.mutate()}>
            {phrase('Sign out')}
          </Button>
          {!changing && <Button onClick={() => setChanging(true)}>{phrase('Change the password…')}</Button>}
        </div>
      </Dialog>
    </>
  )
}
