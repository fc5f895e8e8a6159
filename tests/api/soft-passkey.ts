import { createHash, generateKeyPairSync, randomBytes, sign } from 'node:crypto'

/** What a device says, and by what it may be made to lie. */
interface Said {
  readonly challenge: string
  readonly origin: string
  /** Of which name of a house it holds the passkey to be; the origin's own where it is not said. */
  readonly host?: string
  readonly counter?: number
  /** Whether the person gave a finger, a face or a number. */
  readonly verified?: boolean
}

const coded = (bytes: Uint8Array) => Buffer.from(bytes).toString('base64url')
const sha256 = (bytes: Uint8Array | string) => createHash('sha256').update(bytes).digest()

/**
 * Web Authentication 3, 6.1: authenticator data; bits 0, 2 and 6 of its flags: present, verified, with a credential.
 */
function authenticatorData({ origin, host, counter = 0, verified = true }: Said, credential?: Buffer): Buffer {
  const flags = 0x01 | (verified ? 0x04 : 0) | (credential ? 0x40 : 0)
  const count = Buffer.alloc(4)
  count.writeUInt32BE(counter)
  const rpId = sha256(host ?? new URL(origin).hostname)
  return Buffer.concat([rpId, Buffer.of(flags), count, credential ?? Buffer.alloc(0)])
}

const clientData = (type: string, { challenge, origin }: Said) =>
  Buffer.from(JSON.stringify({ type, challenge, origin, crossOrigin: false }))

/** A device that holds one passkey (ES256, no attestation) and says of it whatever a test has it say. */
export function softPasskey(id: Buffer = randomBytes(32)) {
  const { privateKey, publicKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' })
  const { x = '', y = '' } = publicKey.export({ format: 'jwk' })
  // CBOR of the COSE key {1: 2, 3: -7, -1: 1, -2: x, -3: y}.
  const key = Buffer.concat([
    Buffer.from('a5010203262001215820', 'hex'),
    Buffer.from(x, 'base64url'),
    Buffer.from('225820', 'hex'),
    Buffer.from(y, 'base64url'),
  ])
  const named = {
    id: coded(id),
    rawId: coded(id),
    type: 'public-key' as const,
    clientExtensionResults: {},
  }
  return {
    make: (said: Said) => {
      const length = Buffer.of(id.length >> 8, id.length & 0xff)
      const data = authenticatorData(said, Buffer.concat([Buffer.alloc(16), length, id, key]))
      // CBOR of {"fmt": "none", "attStmt": {}, "authData": data}.
      const attestation = Buffer.concat([
        Buffer.from('a363666d74646e6f6e656761747453746d74a068617574684461746159', 'hex'),
        Buffer.of(data.length >> 8, data.length & 0xff),
        data,
      ])
      const clientDataJSON = coded(clientData('webauthn.create', said))
      return { ...named, response: { clientDataJSON, attestationObject: coded(attestation) } }
    },
    use: (said: Said) => {
      const data = authenticatorData(said)
      const client = clientData('webauthn.get', said)
      const signature = sign('sha256', Buffer.concat([data, sha256(client)]), privateKey)
      return {
        ...named,
        response: {
          clientDataJSON: coded(client),
          authenticatorData: coded(data),
          signature: coded(signature),
        },
      }
    },
  }
}
