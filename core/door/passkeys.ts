import type {
  AuthenticationResponseJSON,
  AuthenticatorTransport,
  PublicKeyCredentialCreationOptionsJSON,
  PublicKeyCredentialRequestOptionsJSON,
  RegistrationResponseJSON,
} from '@simplewebauthn/server'
import type { Account } from '#core/store/people/accounts.ts'
import type { StoredPasskey } from '#core/store/people/passkeys.ts'
import { phrase } from '#core/words/phrase.ts'
import { TarelineError } from '#core/words/problem.ts'

/** How long a person has for the finger, the face or the number, ms. */
const patienceMs = 5 * 60_000
/** Of more questions than that at once the oldest is given up. */
const mostChallenges = 1000
/** Of those, so many are of one address: whoever only asks takes no question from the others. */
const mostOfAddress = 50

/** Only where somebody has a passkey: a house that has none starts without it. */
const library = () => import('@simplewebauthn/server')

/** A passkey as it was just made. */
type NewPasskey = Pick<StoredPasskey, 'host' | 'credential' | 'publicKey' | 'counter' | 'transports'>

/** Which window a question is put to: under which address of the house it stands, and from which one it comes. */
interface Asker {
  readonly origin: string
  readonly address: string
}

/** Under which name of the house a window stands. Errors: TarelineError `no-name`, since a passkey needs one. */
function hostOf(origin: string): string {
  const { hostname = '' } = URL.parse(origin) ?? {}
  if (/^[a-z0-9.-]*[a-z][a-z0-9.-]*$/.test(hostname)) return hostname
  throw new TarelineError(
    'no-name',
    phrase(
      'A passkey goes by the name of the house, and this page was opened by a number. Open it by its name, as “Share this fleet” shows it.',
    ),
  )
}

const transportsOf = (passkey: Pick<StoredPasskey, 'transports'>) => [
  ...(passkey.transports as readonly AuthenticatorTransport[]),
]

const refused = () =>
  new TarelineError('passkey-refused', phrase('This passkey does not open this house. Sign in with your password.'))

/**
 * The questions that passkeys answer. Each is asked once, of one person or of whoever comes, and is known for minutes
 * in the memory of the program. clock: ms that only ever grow.
 */
export function makePasskeys(clock: () => number = () => performance.now()) {
  const asked = new Map<string, { readonly personId: number | null; readonly from: string; readonly until: number }>()
  const ask = (challenge: string, personId: number | null, from: string) => {
    asked.set(challenge, { personId, from, until: clock() + patienceMs })
    const own = [...asked].flatMap(([each, by]) => (by.from === from ? [each] : []))
    const [oldest] = own.length > mostOfAddress ? own : asked.keys()
    if ((own.length > mostOfAddress || asked.size > mostChallenges) && oldest !== undefined) asked.delete(oldest)
  }
  /** Whether a question was put, and to that person; it is answered once. */
  const take = (personId: number | null) => (challenge: string) => {
    const found = asked.get(challenge)
    asked.delete(challenge)
    return found !== undefined && found.personId === personId && found.until > clock()
  }
  return {
    /** Errors: TarelineError `no-name`. */
    toMake: async (
      { id, name }: Pick<Account, 'id' | 'name'>,
      known: readonly StoredPasskey[],
      { origin, address }: Asker,
    ): Promise<PublicKeyCredentialCreationOptionsJSON> => {
      const rpID = hostOf(origin)
      const options = await (await library()).generateRegistrationOptions({
        rpName: 'Tareline',
        rpID,
        userName: name,
        userID: new TextEncoder().encode(`person ${id}`),
        attestationType: 'none',
        timeout: patienceMs,
        excludeCredentials: known
          .filter(({ host }) => host === rpID)
          .map((passkey) => ({ id: passkey.credential, transports: transportsOf(passkey) })),
        // It is found without a name, and opens to its person alone.
        authenticatorSelection: { residentKey: 'required', userVerification: 'required' },
      })
      ask(options.challenge, id, address)
      return options
    },
    /** Errors: TarelineError `no-name`, `passkey-refused`. */
    made: async (personId: number, response: RegistrationResponseJSON, origin: string): Promise<NewPasskey> => {
      const host = hostOf(origin)
      const { verified, registrationInfo } = await (await library())
        .verifyRegistrationResponse({
          response,
          expectedChallenge: take(personId),
          expectedOrigin: origin,
          expectedRPID: host,
        })
        .catch(() => ({ verified: false as const, registrationInfo: undefined }))
      if (!verified || !registrationInfo)
        throw new TarelineError(
          'passkey-refused',
          phrase('The passkey was not made as this house asked for it. Try again.'),
        )
      const { credential } = registrationInfo
      return {
        host,
        credential: credential.id,
        publicKey: Buffer.from(credential.publicKey).toString('base64url'),
        counter: credential.counter,
        transports: credential.transports ?? [],
      }
    },
    /** Errors: TarelineError `no-name`. */
    toSignIn: async ({ origin, address }: Asker): Promise<PublicKeyCredentialRequestOptionsJSON> => {
      const options = await (await library()).generateAuthenticationOptions({
        rpID: hostOf(origin),
        timeout: patienceMs,
        userVerification: 'required',
      })
      ask(options.challenge, null, address)
      return options
    },
    /** How often a passkey says that it was used by now. Errors: TarelineError `no-name`, `passkey-refused`. */
    used: async (passkey: StoredPasskey, response: AuthenticationResponseJSON, origin: string): Promise<number> => {
      const { verified, authenticationInfo } = await (await library())
        .verifyAuthenticationResponse({
          response,
          expectedChallenge: take(null),
          expectedOrigin: origin,
          expectedRPID: hostOf(origin),
          credential: {
            id: passkey.credential,
            publicKey: new Uint8Array(Buffer.from(passkey.publicKey, 'base64url')),
            counter: passkey.counter,
            transports: transportsOf(passkey),
          },
        })
        .catch(() => ({ verified: false as const, authenticationInfo: undefined }))
      if (!verified || !authenticationInfo) throw refused()
      return authenticationInfo.newCounter
    },
    refused,
  }
}
