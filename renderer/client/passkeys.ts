import {
  type PublicKeyCredentialCreationOptionsJSON,
  type PublicKeyCredentialRequestOptionsJSON,
  WebAuthnError,
  browserSupportsWebAuthn,
  startAuthentication,
  startRegistration,
} from '@simplewebauthn/browser'
import type { SignedIn } from '#core/contracts/people.ts'
import { phrase } from '#core/words/phrase.ts'
import { client } from '#renderer/client/api.ts'

/** Whether this window can use passkeys: they go by the name of the house, and not by a number. */
export const knowsPasskeys = (): boolean =>
  browserSupportsWebAuthn() && /[a-z]/i.test(location.hostname) && !location.hostname.includes(':')

/** What the browser says where nothing came of it, as a sentence. */
function inWords(error: unknown): unknown {
  const name = error instanceof Error ? error.name : ''
  if (name === 'InvalidStateError')
    return new Error(phrase('There is a passkey for this house on that device already.'))
  if (name === 'NotAllowedError' || name === 'AbortError')
    return new Error(phrase('No passkey was used: it was put off, or it took too long.'))
  if (name === 'SecurityError')
    return new Error(
      phrase('This browser uses no passkeys here. Have it trust the house first, and open it by its name.'),
    )
  return error instanceof WebAuthnError ? new Error(error.message) : error
}

/** Makes a passkey on this device for whoever is signed in. Errors: a sentence of what kept it from being made. */
export async function makePasskey(): Promise<void> {
  const options = await client.people.passkeyToMake()
  const made = await startRegistration({
    optionsJSON: options as unknown as PublicKeyCredentialCreationOptionsJSON,
  }).catch((error: unknown) => {
    throw inWords(error)
  })
  await client.people.keepPasskey({ passkey: made as Parameters<typeof client.people.keepPasskey>[0]['passkey'] })
}

/** Signs in with a passkey of this device. Errors: the same. */
export async function signInByPasskey(): Promise<SignedIn> {
  const options = await client.people.passkeyChallenge()
  const used = await startAuthentication({
    optionsJSON: options as unknown as PublicKeyCredentialRequestOptionsJSON,
  }).catch((error: unknown) => {
    throw inWords(error)
  })
  return await client.people.signInByPasskey({
    passkey: used as Parameters<typeof client.people.signInByPasskey>[0]['passkey'],
  })
}
