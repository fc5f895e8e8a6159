import type { HouseFacts } from '#core/contracts/house.ts'
import { compareFirst, trustSteps } from '#core/words/trust-steps.ts'
import { commonHeaders, newNonce, noContent } from '#electron/web/content-policy.ts'
import type { OpenPages } from '#electron/house/house-door.ts'

const trustPath = '/trust'
const authorityPath = '/trust/authority.crt'

const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;')

const style = `
  :root { color-scheme: light dark; font: 1rem/1.5 system-ui, sans-serif; }
  body { max-width: 44rem; margin: 2rem auto; padding: 0 1rem; }
  h1 { font-size: 1.5rem; } h2 { font-size: 1.1rem; margin: 1.5rem 0 0; }
  code { overflow-wrap: anywhere; font-size: 0.95rem; }
  ol { margin: 0.25rem 0; padding-left: 1.5rem; }
  .get { display: inline-block; padding: 0.6rem 1rem; border: 2px solid; border-radius: 0.4rem; font-weight: 600; }
`

/** The page for a desk that does not trust the house yet; it needs nothing of the app. */
function trustPage({ authority, fingerprint }: HouseFacts): Response {
  const nonce = newNonce()
  const body =
    authority === null
      ? `<p>This house shows a certificate that the fleet brought itself; desks need nothing more to trust it.</p>
         <p>SHA-256 of the certificate: <code>${escaped(fingerprint)}</code></p>`
      : `<p>This fleet is served from a machine of its own. So that this desk knows that machine, give it the file of
         the fleet’s authority once. It speaks for this house alone.</p>
         <p><a class="get" href="${authorityPath}" download="tareline-authority.crt">Download the authority’s file</a></p>
         <p>SHA-256 of the authority: <code>${escaped(authority.fingerprint)}</code></p>
         <p>SHA-256 of the certificate: <code>${escaped(fingerprint)}</code></p>
         <p>${escaped(compareFirst())}</p>
         ${trustSteps()
           .map(
             ({ system, steps }) =>
               `<h2>${escaped(system)}</h2><ol>${steps.map((step) => `<li>${escaped(step)}</li>`).join('')}</ol>`,
           )
           .join('')}`
  const page = `<!doctype html><html lang="en"><head><meta charset="utf-8">
    <meta name="viewport" content="width=device-width, initial-scale=1"><title>Trust this house - Tareline</title>
    <style nonce="${nonce}">${style}</style></head>
    <body><main><h1>Trust this house</h1>${body}<p><a href="/">Go on to Tareline</a></p></main></body></html>\n`
  const headers = {
    ...commonHeaders,
    'content-type': 'text/html; charset=utf-8',
    'cache-control': 'no-store',
    'content-security-policy': `default-src 'none'; style-src 'nonce-${nonce}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`,
  }
  return new Response(page, { headers })
}

function authorityFile({ authority }: HouseFacts): Response | undefined {
  if (authority === null) return undefined
  const headers = {
    ...commonHeaders,
    // The kind by which systems offer to install it.
    'content-type': 'application/x-x509-ca-cert',
    'content-disposition': 'attachment; filename="tareline-authority.crt"',
    'cache-control': 'no-store',
    'content-security-policy': noContent,
  }
  return new Response(authority.certificate, { headers })
}

/** What a desk may see before anybody signs in: how to trust the house, and the file for it. */
export const trustPages =
  (facts: () => HouseFacts): OpenPages =>
  (pathname) => {
    if (pathname === trustPath) return trustPage(facts())
    return pathname === authorityPath ? authorityFile(facts()) : undefined
  }
