import { Button } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { phrase } from '#core/words/phrase.ts'
import { api, client } from '#renderer/client/api.ts'
import { knowsPasskeys, makePasskey } from '#renderer/client/passkeys.ts'
import { useMeasures } from '#renderer/parts/format.ts'
import { LinkButton } from '#renderer/parts/links.tsx'
import { ProblemNotice } from '#renderer/parts/problem-notice.tsx'

/** The passkeys of whoever is signed in: by finger, face or the number of a device, in place of the password. */
export function OwnPasskeys() {
  const { times } = useMeasures()
  const list = useQuery(api.people.passkeys.queryOptions())
  const make = useMutation({ mutationFn: makePasskey })
  const remove = useMutation({ mutationFn: (id: number) => client.people.removePasskey({ id }) })
  const own = list.data ?? []
  if (!knowsPasskeys() && own.length === 0) return null
  return (
    <section className="stack" aria-label={phrase('Passkeys')}>
      {own.length > 0 && (
        <ul className="bare" aria-label={phrase('Your passkeys')}>
          {own.map(({ id, host, madeAt, usedAt }) => (
            <li key={id}>
              {usedAt === null
                ? phrase('Passkey for {host}, made {made}.', { host, made: times.moment(madeAt) })
                : phrase('Passkey for {host}, made {made}, used {used}.', {
                    host,
                    made: times.moment(madeAt),
                    used: times.moment(usedAt),
                  })}{' '}
              <LinkButton about={phrase('the passkey for {host}', { host })} onClick={() => remove.mutate(id)}>
                {phrase('Remove')}
              </LinkButton>
            </li>
          ))}
        </ul>
      )}
      {make.error && <ProblemNotice title={phrase('No passkey was made')} error={make.error} />}
      {remove.error && <ProblemNotice title={phrase('The passkey is still there')} error={remove.error} />}
      {knowsPasskeys() && (
        <div className="flow">
          <Button loading={make.isPending} onClick={() => make.mutate()}>
            {phrase('Make a passkey on this device…')}
          </Button>
        </div>
      )}
    </section>
  )
}
