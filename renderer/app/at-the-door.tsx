import { Button } from '@mantine/core'
import { useQuery } from '@tanstack/react-query'
import { type ReactNode, Suspense, lazy, useLayoutEffect } from 'react'
import { api } from '#renderer/client/api.ts'
import { isAtHouse } from '#renderer/client/pass.ts'
import { useAddress } from '#renderer/parts/address.ts'
import { setSignedIn } from '#renderer/parts/person.ts'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { StandingContext } from '#renderer/parts/rights.ts'
import { phrase } from '#core/words/phrase.ts'

const SignIn = lazy(async () => ({ default: (await import('#renderer/screens/door/sign-in.tsx')).SignIn }))
const Welcome = lazy(async () => ({ default: (await import('#renderer/screens/door/welcome.tsx')).Welcome }))

const waiting = <output className="shell-wait">{phrase('Opening…')}</output>

/** At a desk of a house nothing is drawn, and nothing asked, before somebody has signed in. */
function Desk({ children }: { children: ReactNode }) {
  const { screen, subject } = useAddress()
  const standing = useQuery(api.people.standing.queryOptions())
  const { data } = standing
  const name = data?.at === 'desk' ? (data.person?.name ?? null) : null
  useLayoutEffect(() => setSignedIn(name), [name])
  if (!data)
    return standing.isError ? (
      <main className="shell-wait">
        <ProblemNotice title={phrase('The house does not answer')} error={standing.error}>
          <Button onClick={() => void standing.refetch()}>{phrase('Try again')}</Button>
        </ProblemNotice>
      </main>
    ) : (
      waiting
    )
  if (screen === 'welcome' && subject !== null)
    return (
      <Suspense fallback={waiting}>
        <Welcome token={subject} />
      </Suspense>
    )
  if (data.at === 'desk' && data.person === null)
    return (
      <Suspense fallback={waiting}>
        <SignIn />
      </Suspense>
    )
  return <StandingContext value={data}>{children}</StandingContext>
}

/** The machine's own window: it draws at once, and asks beside that whether it is the one that serves a house. */
function OwnWindow({ children }: { children: ReactNode }) {
  const { data = { at: 'alone' } } = useQuery(api.people.standing.queryOptions())
  return <StandingContext value={data}>{children}</StandingContext>
}

/** Says to the whole window where it stands. */
export const AtTheDoor = ({ children }: { children: ReactNode }) =>
  isAtHouse() ? <Desk>{children}</Desk> : <OwnWindow>{children}</OwnWindow>
