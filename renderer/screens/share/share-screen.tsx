import { Button, TextInput } from '@mantine/core'
import { useMutation, useQuery } from '@tanstack/react-query'
import { useState } from 'react'
import type { HouseFacts } from '#core/contracts/house.ts'
import { trustSteps } from '#core/words/trust-steps.ts'
import { api, client } from '#renderer/client/api.ts'
import { hrefOf } from '#renderer/parts/address.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { Section } from '#renderer/parts/section.tsx'
import { Notice, ProblemNotice } from '#renderer/parts/problem-notice.tsx'
import { ScreenTitle } from '#renderer/parts/screen-title.tsx'
import { phrase } from '#core/words/phrase.ts'
import { QrCode } from './qr-code.tsx'
import './share-screen.css'

/** The authority's file as a link that saves it. */
const authorityHref = (certificate: string) => `data:application/x-x509-ca-cert;base64,${btoa(certificate)}`

function Trust({ house }: { house: HouseFacts }) {
  const { authority } = house
  if (!authority) return null
  return (
    <Section className="section stack" title={phrase('So that a desk trusts it')}>
      <p>
        {phrase(
          'Each desk is given the file of the fleet’s authority once: by the page {addresses}trust, or on a stick. The figure of the authority that a desk shows must be the one above before it is trusted.',
          { addresses: house.addresses[0] },
        )}
      </p>
      <p>
        <a href={authorityHref(authority.certificate)} download="tareline-authority.crt">
          {phrase('Save the authority’s file')}
        </a>
      </p>
      {trustSteps().map(({ system, steps }) => (
        <details key={system} className="share-steps">
          <summary>{system}</summary>
          <ol>
            {steps.map((step) => (
              <li key={step}>{step}</li>
            ))}
          </ol>
        </details>
      ))}
    </Section>
  )
}

function Served({ house }: { house: HouseFacts }) {
  const { times } = useMeasures()
  const [first = '', ...others] = house.addresses
  return (
    <>
      {house.trouble !== null && (
        <Notice kind="problem" title={phrase('The certificate')}>
          <p>{house.trouble}</p>
        </Notice>
      )}
      <div className="flow share-way">
        <QrCode text={first} label={phrase('QR code of {first}', { first })} />
        <Facts
          as="lines"
          facts={[
            [phrase('Address'), <strong key="first">{first}</strong>],
            others.length > 0 && [phrase('Also'), others.join(' ')],
            house.authority && [phrase('SHA-256 of the authority'), house.authority.fingerprint],
            [phrase('SHA-256 of the certificate'), house.fingerprint],
            [
              phrase('The certificate ends'),
              `${times.day(house.endsAt)}; ${house.authority ? phrase('it is made again before') : phrase('put the next one into its folder before')}`,
            ],
          ]}
        />
      </div>
      <Trust house={house} />
    </>
  )
}

const quoted = (path: string) => (/^[\w./:\\-]+$/.test(path) ? path : `"${path}"`)

const usualPort = '8443'

/** Begins to serve the file from this very window. */
function Begin() {
  const [name, setName] = useState('')
  const [port, setPort] = useState(usualPort)
  const [problem, setProblem] = useState<string | null>(null)
  const share = useMutation({
    mutationFn: () => client.house.share({ name: name.trim() || null, port: Number(port) }),
  })
  return (
    <form
      className="stack"
      noValidate
      onSubmit={(event) => {
        event.preventDefault()
        const fits = /^[1-9]\d{0,4}$/.test(port.trim()) && Number(port) <= 65_535
        setProblem(fits ? null : phrase('The port is “{port}”; a whole number from 1 to 65535 is accepted.', { port }))
        if (fits && !share.isPending) share.mutate()
      }}
    >
      <div className="flow share-begin">
        <TextInput
          label={phrase('Name of this machine on the network')}
          placeholder={phrase('its own name')}
          autoComplete="off"
          maxLength={253}
          value={name}
          onChange={(event) => setName(event.currentTarget.value)}
        />
        <TextInput
          label={phrase('Port')}
          inputMode="numeric"
          autoComplete="off"
          value={port}
          error={problem}
          onChange={(event) => setPort(event.currentTarget.value)}
        />
        <Button variant="filled" type="submit" loading={share.isPending}>
          {phrase('Share this fleet from here')}
        </Button>
      </div>
      {share.error && <ProblemNotice title={phrase('The fleet is not shared')} error={share.error} />}
    </form>
  )
}

/** Ends what this window has begun. */
function Stop() {
  const stop = useMutation({ mutationFn: () => client.house.unshare() })
  return (
    <Section className="section stack" title={phrase('Shared by this window')}>
      <p>
        {phrase(
          'Desks reach the fleet for as long as this app runs. Let people in on the People page: nobody has a name and a password before.',
        )}{' '}
        <a href={hrefOf('people')}>{phrase('Invite the first person')}</a>
      </p>
      {stop.error && <ProblemNotice title={phrase('The fleet is still shared')} error={stop.error} />}
      <div className="flow">
        <Button loading={stop.isPending} onClick={() => stop.mutate()}>
          {phrase('Stop sharing')}
        </Button>
      </div>
    </Section>
  )
}

/** How one machine of the fleet is made the one that serves all desks. */
const Alone = ({ file, canShare }: { file: string; canShare: boolean }) => (
  <>
    <p>
      {phrase(
        'This machine works alone. One machine of the fleet can serve the fleet file to all desks: it stays on, runs Tareline without a window, and every desk opens it in a browser, over HTTPS on the fleet’s own network.',
      )}
    </p>
    <p>{phrase('On the machine that is to do that, end Tareline and run this where Tareline lies:')}</p>
    <pre className="share-command">npm run -s tareline -- house --db {quoted(file)} --port 8443</pre>
    <p>
      {phrase('It shows the address, its QR code and what desks need to trust it; this page shows the same there.')}
    </p>
    {canShare && (
      <>
        <p>{phrase('Or share it from this window, for as long as it is open:')}</p>
        <Begin />
      </>
    )}
  </>
)

/** How the desks of the fleet reach its file. */
export function ShareScreen() {
  const asked = useQuery(api.house.facts.queryOptions({ refetchOnMount: 'always' }))
  return (
    <div className="page stack share">
      <ScreenTitle>{phrase('Share this fleet')}</ScreenTitle>
      <Answer to={asked} waiting={phrase('Looking who serves this fleet…')} failed={phrase('This could not be told')}>
        {({ house, file, canShare }) =>
          house ? (
            <>
              {canShare && <Stop />}
              <Served house={house} />
            </>
          ) : (
            <Alone file={file} canShare={canShare} />
          )
        }
      </Answer>
    </div>
  )
}
