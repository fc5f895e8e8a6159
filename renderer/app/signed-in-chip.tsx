import { Button, PasswordInput } from '@mantine/core'
import { useMutation } from '@tanstack/react-query'
import { useState } from 'react'
import type { SignedIn } from '#core/contracts/people.ts'
import { passwordProblem } from '#core/people/password-rule.ts'
import { aRole, roleWords } from '#core/words/roles.ts'
import { client } from '#renderer/client/api.ts'
import { standAs } from '#renderer/client/standing.ts'
import { Dialog } from '#renderer/parts/dialog.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'

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
        label="The password you have now"
        value={old}
        autoComplete="current-password"
        maxLength={1000}
        onChange={(event) => setOld(event.currentTarget.value)}
      />
      <PasswordInput
        size="xs"
        label="The new one"
        value={chosen}
        error={problem}
        autoComplete="new-password"
        maxLength={1000}
        onChange={(event) => setChosen(event.currentTarget.value)}
      />
      {change.error && <ProblemNotice title="The password is as it was" error={change.error} />}
      {change.isSuccess && (
        <Notice kind="done" as="h3" title="Your password is changed; your other sessions have ended." />
      )}
      <div className="flow">
        <Button type="submit" loading={change.isPending}>
          Change the password
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
  return (
    <>
      <button
        type="button"
        className="bar-tool bar-person"
        onClick={onOpen}
        aria-haspopup="dialog"
        title={`${name} is signed in as ${aRole(role)}`}
      >
        <span className="unheard">Signed in: </span>
        <span className="bar-person-name">
          {name} · {role}
        </span>
      </button>
      <Dialog opened={opened} onClose={onClose} title={name} size="sm" yOffset="10vh">
        <p>
          Signed in as {aRole(role)}, who {roleWords[role]}. The change log keeps this name with everything you save.
        </p>
        {role === 'driver' && (
          <p>{units.length === 0 ? 'No unit is given to you yet.' : `Your units: ${units.join(', ')}.`}</p>
        )}
        {out.error && <ProblemNotice title="You are still signed in" error={out.error} />}
        {changing && <ChangePassword name={name} />}
        <div className="flow">
          <Button variant="filled" data-autofocus loading={out.isPending} onClick={() => out.mutate()}>
            Sign out
          </Button>
          {!changing && <Button onClick={() => setChanging(true)}>Change the password…</Button>}
        </div>
      </Dialog>
    </>
  )
}
