import { useQuery } from '@tanstack/react-query'
import type { HouseFacts } from '#core/contracts/house.ts'
import { trustSteps } from '#core/words/trust-steps.ts'
import { api } from '#renderer/client/api.ts'
import { Answer } from '#renderer/parts/answer.tsx'
import { Facts } from '#renderer/parts/facts.tsx'
import { useMeasures } from '#renderer/parts/format.ts'
import { Section } from '#renderer/parts/section.tsx'
import { Notice } from '#renderer/parts/problem-notice.tsx'
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
      {trustSteps.map(({ system, steps }) => (
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
              `${times.day(house.endsAt)}; ${house.authority ? phrase('it is made anew before') : phrase('put the next one into its folder before')}`,
            ],
          ]}
        />
      </div>
      <Trust house={house} />
    </>
  )
}

const quoted = (path: string) => (/^[\w./:\\-]+$/.test(path) ? path : `"${path}"`)

/** How one machine of the fleet is made the one that serves all desks. */
const Alone = ({ file }: { file: string }) => (
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
  </>
)

/** How the desks of the fleet reach its file. */
export function ShareScreen() {
  const asked = useQuery(api.house.facts.queryOptions({ refetchOnMount: 'always' }))
  return (
    <div className="page stack share">
      <ScreenTitle>{phrase('Share this fleet')}</ScreenTitle>
      <Answer to={asked} waiting={phrase('Looking who serves this fleet…')} failed={phrase('This could not be told')}>
        {({ house, file }) => (house ? <Served house={house} /> : <Alone file={file} />)}
      </Answer>
    </div>
  )
}
